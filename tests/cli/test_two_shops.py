"""Two shops and one output folder: the second neither removes nor replaces what the first one made."""

import json
import shutil
from pathlib import Path

import pytest

from listkit.save.out_folder import put_signed
from listkit.save.owner import Owner, read_owner
from tests.cli.published import DAY, Told, small_shop

OWNER = ".shop.json"


@pytest.fixture
def first(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """A shop that is built into a folder beside it."""
    told = Told(small_shop(tmp_path / "first"), capsys)
    assert told.build("--out", str(tmp_path / "site")) == 0, told.err
    return told


@pytest.fixture
def second(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """Another shop, with another name and other codes."""
    told = Told(small_shop(tmp_path / "second"), capsys)
    for file in (path for path in told.shop.rglob("*") if path.suffix in (".toml", ".csv")):
        text = file.read_text(encoding="utf-8").replace("Reed & Rushlight", "Otter & Osier")
        file.write_text(text.replace("RR-", "OO-").replace("RRS-", "OOS-"), encoding="utf-8")
    assert told.run("check", "--today", DAY) == 0, told.out
    return told


def files(out: Path) -> dict[str, bytes]:
    return {path.relative_to(out).as_posix(): path.read_bytes() for path in sorted(out.rglob("*")) if path.is_file()}


def test_the_second_shop_is_refused_with_the_remedy_and_nothing_is_touched(first: Told, second: Told) -> None:
    site = first.shop.parent / "site"
    before = files(site)
    for words in (("--out", str(site)), ("--out", str(site), "--channel", "web")):
        assert second.build(*words) == 1
        assert second.err == (
            f'{site} holds what was built from another shop, "Reed & Rushlight" (../first from there). '
            "Name a folder of this shop's own with --out. "
            "If it is that shop, take .shop.json out of there, then build.\n"
        )
    assert files(site) == before
    assert first.build("--out", str(site)) == 0
    assert second.build("--out", str(site.with_name("site2"))) == 0


def test_so_is_a_copy_of_the_first_beside_it(first: Told, capsys: pytest.CaptureFixture[str]) -> None:
    copy = Told(first.shop.with_name("copy"), capsys)
    shutil.copytree(first.shop, copy.shop)
    copy.edit("items.csv", "100 g,6.50", "100 g,7.00")
    site = first.shop.parent / "site"
    before = files(site)
    assert copy.build("--out", str(site), "--accept-large-changes") == 1
    assert copy.run("changes", "web", "--out", str(site)) == 1
    assert files(site) == before
    (site / OWNER).unlink()  # the remedy
    assert copy.build("--out", str(site), "--accept-large-changes") == 0
    assert first.build("--out", str(site)) == 1


def test_what_the_first_built_is_not_recorded_by_the_second(first: Told, second: Told) -> None:
    assert second.run("record", "web", "--out", str(first.shop.parent / "site")) == 1
    assert "another shop" in second.err
    assert not (second.shop / "ledger.sqlite3").exists()


@pytest.mark.parametrize("where", ["site", "first/out", "first/made/here", "deep/er/site"])
def test_shop_and_outputs_can_be_moved_together(tmp_path: Path, capsys: pytest.CaptureFixture[str], where: str) -> None:
    (tmp_path / "a/first").mkdir(parents=True)
    told = Told(small_shop(tmp_path / "a/first"), capsys)
    assert told.build("--out", str(tmp_path / "a" / where)) == 0
    (tmp_path / "a").rename(tmp_path / "b")
    told.shop = tmp_path / "b/first"
    told.edit("items.csv", "100 g,6.50", "100 g,7.00")
    told.edit("shop.toml", 'name = "Reed & Rushlight"', 'name = "Reed"')
    assert told.build("--out", str(tmp_path / "b" / where)) == 0, told.err
    shutil.copytree(tmp_path / "b", tmp_path / "c")
    told.shop = tmp_path / "c/first"
    assert told.build("--out", str(tmp_path / "c" / where)) == 0, told.err


@pytest.mark.parametrize("renamed", [False, True])
def test_a_shop_that_was_moved_alone_is_known_by_its_name_or_codes(first: Told, *, renamed: bool) -> None:
    site = first.shop.parent / "site"
    first.shop = first.shop.rename(first.shop.with_name("moved"))
    first.edit("items.csv", "100 g,6.50", "100 g,6.60")
    if renamed:
        first.edit("shop.toml", 'name = "Reed & Rushlight"', 'name = "Reed"')
    assert first.build("--out", str(site)) == 0, first.err
    assert read_owner(site) == Owner("../moved", "Reed" if renamed else "Reed & Rushlight")


def test_another_shop_is_refused_after_the_first_is_gone_too(first: Told, second: Told) -> None:
    site = first.shop.parent / "site"
    first.shop.rename(first.shop.with_name("moved"))
    before = files(site)
    assert second.build("--out", str(site)) == 1
    assert 'another shop, "Reed & Rushlight"' in second.err
    assert files(site) == before


@pytest.mark.parametrize("memory", [None, "", "{}", '{"form":1}', '{"form":1,"way":7,"name":[]}', '{"form":9}'])
def test_a_folder_that_names_no_shop_is_taken_over_as_before(first: Told, memory: str | None) -> None:
    site = first.shop.parent / "site"
    (site / OWNER).unlink()
    if memory:
        put_signed(site / OWNER, json.loads(memory))
    elif memory is not None:
        (site / OWNER).write_text("no memory")
    first.edit("items.csv", "100 g,6.50", "100 g,7.00")
    assert first.build("--out", str(site), "--accept-large-changes") == 0, first.err
    assert read_owner(site) == Owner("../first", "Reed & Rushlight")


def test_what_is_remembered_of_the_other_shop_is_shown_in_one_line(first: Told, second: Told, tmp_path: Path) -> None:
    name = "\x1b[31m\n" + "z" * 5_000
    put_signed(tmp_path / "site/.shop.json", {"form": 1, "way": "../first", "name": name})
    assert second.build("--out", str(tmp_path / "site")) != 0
    assert "\x1b" not in second.err
    assert max(map(len, second.err.splitlines())) < 1_000
