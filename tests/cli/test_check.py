"""`listkit check`: told to an owner, told to a script, and one code explained."""

import json
import re
import shutil
from pathlib import Path

import pytest

from listkit.check.rules import CODES
from listkit.cli import main

TODAY = ["--today", "2026-11-25"]
LISTED = {
    "First Nectar", "Potting Bench", "Long Evening", "Smoker & Veil", "Lamp-Lighting", "Pocket Hive", "The Sundial Bar",
    "Fête Day Pair",
}  # fmt: skip


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A new shop with three slips: a key, a price, and a caution the season gives."""
    folder = tmp_path / "shop"
    assert main(["new", str(folder)]) == 0
    for file, right, wrong in (
        ("sets/first-light/set.toml", "season =", "seasn ="),
        ("items.csv", "14.00,3.60,230", '"14,00",3.60,230'),
    ):
        path = folder / file
        path.write_text(path.read_text().replace(right, wrong, 1))
    return folder


def test_what_must_be_fixed_is_told_in_the_order_it_is_best_mended(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    assert main(["check", "--shop", str(shop), *TODAY]) == 1
    lines = [line for line in capsys.readouterr().out.splitlines() if line]
    assert lines[0].startswith('Must fix · items.csv, row J-1, column retail: "14,00" has a comma.')
    assert lines[1].startswith('Must fix · sets/first-light/set.toml, line 4: there is no key "seasn". Write "season".')
    assert lines[-1] == "2 to fix, 5 to look at. Begin with items.csv."


def test_a_script_gets_the_same_as_json(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert main(["check", "--shop", str(shop), "--json", *TODAY]) == 1
    told = json.loads(capsys.readouterr().out)["problems"]
    places = {(one["file"], one["line"], one["column"], one["level"], one["code"]) for one in told}
    assert {place for place in places if place[-1] != "starter-left"} == {
        ("items.csv", 4, "retail", "must fix", "bad-value"),
        ("sets/first-light/set.toml", 4, None, "must fix", "unknown-key"),
    }


def test_of_thousands_of_problems_some_are_shown_and_all_where_asked(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = shop / "items.csv"
    sheet.write_text(sheet.read_text() + "".join(f"Q{at},n\n" for at in range(1_000)))
    capsys.readouterr()
    told = []
    for more in ([], ["--all"]):
        assert main(["check", "--shop", str(shop), *more, *TODAY]) == 1
        told.append(capsys.readouterr().out)
    cut, whole = told
    assert len(cut.splitlines()) < 400
    assert len(whole.splitlines()) > 1_000
    assert "more like these: 3,800 missing-key;" in cut  # four empty cells in each of 1,000 rows, 200 of them shown
    assert "listkit check --all shows them." in cut
    assert cut.splitlines()[-1] == whole.splitlines()[-1]


def test_warnings_alone_are_no_failure(demo_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--shop", str(demo_folder), *TODAY]) == 0
    assert "0 to fix" in capsys.readouterr().out


def test_how_much_of_the_texts_is_small_print_is_said_where_nothing_must_be_fixed(
    shop: Path, demo_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", "--shop", str(shop), *TODAY]) == 1
    assert "Small print" not in capsys.readouterr().out
    assert main(["check", "--shop", str(demo_folder), *TODAY]) == 0
    closing = capsys.readouterr().out.splitlines()[-1]
    start = "Small print, as ingredients and cautions, of each set's text at most: "
    assert closing.startswith(start)
    shares = {name: int(share) for name, share in re.findall(r"([^,]+) (\d+) %[,.] ?", closing.removeprefix(start))}
    assert set(shares) == LISTED
    assert list(shares.values()) == sorted(shares.values(), reverse=True)
    assert max(shares.values()) <= 67  # above 67 % the rule small-print tells it


def test_small_print_of_many_sets_is_said_from_least_to_most_and_of_each_where_all_is_asked(
    demo_folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("listkit.cli.check._FEW", 2)
    assert main(["check", "--shop", str(demo_folder), *TODAY]) == 0
    closing = capsys.readouterr().out.splitlines()[-1]
    assert re.search(r"at most: \d+ to \d+ %, most in [^;]+ for [^;]+; --all shows each\.$", closing)
    assert main(["check", "--shop", str(demo_folder), "--all", *TODAY]) == 0
    closing = capsys.readouterr().out.splitlines()[-1]
    assert all(f"{name} " in closing for name in LISTED)


@pytest.mark.parametrize("code", CODES)
def test_every_code_is_explained(code: str, demo_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--shop", str(demo_folder), "--explain", code]) == 0
    told = capsys.readouterr().out
    assert told.startswith(f"{code} · ")
    assert "From: " in told


def test_a_code_that_is_none_is_told_with_the_near_one(demo_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--shop", str(demo_folder), "--explain", "band-mised"]) == 2
    assert 'Write "band-missed".' in capsys.readouterr().err


def test_colour_only_on_a_terminal_and_never_against_the_readers_will(
    shop: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    capsys.readouterr()
    main(["check", "--shop", str(shop), *TODAY])
    assert "\033[31mMust fix\033[0m" in capsys.readouterr().out
    monkeypatch.setenv("NO_COLOR", "1")
    main(["check", "--shop", str(shop), *TODAY])
    assert "\033" not in capsys.readouterr().out


@pytest.mark.parametrize(("slip", "first"), [
    (("shop.toml", 'name = "winter"', 'nmae = "winter"'), "shop.toml"),
    (("sets/first-nectar/set.toml", 'season = "spring"', 'season = "Sprung"'), "sets/first-nectar/set.toml"),
    (("sets/first-nectar/set.toml", 'box = "S"', 'box = "Z"'), "sets/first-nectar/set.toml"),
    (("sets/first-nectar/set.toml", 'name = "First Nectar"', 'name "First Nectar"'), "sets/first-nectar/set.toml"),
    (("items.csv", "OH-S03,", "OH-S033,"), "sets/"),
    (("items.csv", "retail", "retial"), "items.csv"),
])  # fmt: skip
def test_one_slip_is_told_where_it_stands_and_brings_no_orders_for_what_is_right(
    demo_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], slip: tuple[str, str, str], first: str
) -> None:
    path, old, new = slip
    folder = tmp_path / "shop"
    shutil.copytree(demo_folder, folder)
    text = (folder / path).read_text(encoding="utf-8")
    (folder / path).write_text(text.replace(old, new, 1), encoding="utf-8")
    capsys.readouterr()
    parsed = 'name "' not in new  # a set that is no TOML and was never recorded is a draft
    assert main(["check", "--shop", str(folder), "--json", *TODAY]) == int(parsed)
    problems = json.loads(capsys.readouterr().out)["problems"]
    demos_draft = "Frost on the Panes"
    told = [one for one in problems if one["level"] == "must fix" and demos_draft not in one["message"]]
    files = {one["file"] for one in told}
    assert any(file.startswith(first) for file in files)
    assert not {file for file in files if file.startswith("languages/") or file.endswith(".md")}, told
