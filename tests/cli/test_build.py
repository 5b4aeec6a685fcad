"""`listkit build`, as an owner runs it: on the starter shop, which is small."""

import errno
import hashlib
import json
import os
from pathlib import Path
from typing import Any

import pytest

from listkit.cli import main

TODAY = ["--today", "2026-11-25"]


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A new shop, as `listkit new` makes it."""
    folder = tmp_path / "shop"
    assert main(["new", str(folder)]) == 0
    return folder


def build(shop: Path, capsys: pytest.CaptureFixture[str], *more: str) -> dict[str, Any]:
    """What the build tells a script."""
    capsys.readouterr()
    assert main(["build", "--shop", str(shop), "--json", *TODAY, *more]) == 0
    told: dict[str, Any] = json.loads(capsys.readouterr().out)
    return told


def outputs(shop: Path) -> dict[str, bytes]:
    """Every file that was made, without the memory of the build."""
    made = (path for path in (shop / "out").rglob("*") if path.is_file() and not path.name.startswith("."))
    return {path.relative_to(shop / "out").as_posix(): path.read_bytes() for path in made}


def test_a_new_shop_builds_at_once_and_a_second_build_makes_nothing(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first = build(shop, capsys)
    [channel] = first["channels"]
    assert (channel["key"], channel["rows"], channel["lowest_price"]) == ("web_shop", 2, "25.00")
    assert {"web_shop/feed.csv", "web_shop/listings/first-light.html", "manifest.json"} <= outputs(shop).keys()
    second = build(shop, capsys)
    assert (second["made"], second["removed"], second["unchanged"]) == ([], [], len(first["made"]))


def test_touching_one_focus_box_makes_exactly_that_photos_files(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    build(shop, capsys)
    before = outputs(shop)
    file = shop / "sets/first-light/set.toml"
    file.write_text(file.read_text().replace("[0.13, 0.12, 0.87, 0.90]", "[0.20, 0.30, 0.70, 0.80]"))
    made = build(shop, capsys)["made"]
    told = {"manifest.json", "web_shop/photos/contact-sheet.html"}  # they tell of that photo among others
    changed = {path for path, content in outputs(shop).items() if before[path] != content} - told
    its_own = {f"web_shop/photos/first-light-open-box-{crop}.jpg" for crop in ("square", "wide")}
    assert set(made) - told == changed == its_own


def test_deleting_one_output_brings_back_only_it(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    build(shop, capsys)
    before = outputs(shop)
    lost = "web_shop/photos/first-light-styled-wide.jpg"
    (shop / "out" / lost).unlink()
    assert build(shop, capsys)["made"] == [lost]
    assert outputs(shop) == before


def test_nothing_is_written_while_something_must_be_fixed(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    build(shop, capsys)
    before = outputs(shop)
    items = shop / "items.csv"
    items.write_text(items.read_text().replace("6.00,1.60", '"6,00",1.60'))
    assert main(["build", "--shop", str(shop), *TODAY]) == 1
    told = capsys.readouterr().err
    assert 'Must fix · items.csv, row B-1, column retail: "6,00" has a comma.' in told
    assert outputs(shop) == before


def test_a_price_that_moves_moves_the_feed_and_the_text_and_no_picture(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    build(shop, capsys)
    items = shop / "items.csv"
    items.write_text(items.read_text().replace("6.00,1.60", "6.50,1.60"))
    assert set(build(shop, capsys)["made"]) == {
        "proof.html",
        "web_shop/feed.csv",
        "web_shop/listings/first-light.html",
        "web_shop/record.jsonl",
    }


def test_the_bytes_are_the_same_in_another_folder_zone_and_language(
    shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    build(shop, capsys, "--jobs", "1")
    monkeypatch.setitem(os.environ, "TZ", "Pacific/Kiritimati")
    monkeypatch.setitem(os.environ, "LC_ALL", "de_DE.UTF-8")
    other = tmp_path / "elsewhere"
    build(shop, capsys, "--out", str(other), "--jobs", "2")
    assert (other / "manifest.json").read_bytes() == (shop / "out/manifest.json").read_bytes()


def test_a_channel_that_is_none_is_a_usage_mistake(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["build", "--shop", str(shop), "--channel", "stall", *TODAY]) == 2
    assert 'There is no channel "stall". There are: web_shop.' in capsys.readouterr().err
    assert main(["build", "--shop", str(shop), "--channel", "Own web shop", *TODAY]) == 0


def test_a_shop_that_is_not_there_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["build", "--shop", str(tmp_path / "nowhere"), *TODAY]) == 1
    assert "is not there. Name it with --shop DIR." in capsys.readouterr().err
    assert not (tmp_path / "nowhere").exists()


@pytest.mark.parametrize("memory", [".places.json", ".built.json", ".shop.json"])
def test_a_disk_that_is_full_when_a_build_is_remembered_is_told(
    shop: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, memory: str
) -> None:
    def full(part: Path, content: bytes, *_: object) -> int:
        if part.name.startswith(".part-" + hashlib.sha256(memory.encode()).hexdigest()[:16]):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return write(part, content)

    write = Path.write_bytes
    with monkeypatch.context() as disk:
        disk.setattr(Path, "write_bytes", full)
        capsys.readouterr()
        assert main(["build", "--shop", str(shop), *TODAY]) == 1
    told = capsys.readouterr().err
    assert "out cannot be written to: No space left on device. Make room on the disk, or allow writing there." in told
    assert not list((shop / "out").rglob(".part-*"))
    assert build(shop, capsys)["failed"] == []
