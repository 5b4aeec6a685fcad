"""What is said on terminals of every age."""

import csv
import io
import json
import os
import shutil
import subprocess
import sys
import unicodedata
from pathlib import Path

import pytest

from listkit.cli import main
from listkit.cli.terminal import Screen
from tests.shops import clean_shop

PROBLEMS = Path(__file__).parents[1] / "problems"


def said(shop: Path, words: list[str], encoding: str) -> bytes:
    surroundings = {**os.environ, "PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"}
    command = [sys.executable, "-m", "listkit", *words, "--shop", str(shop)]
    told = subprocess.run(command, capture_output=True, env=surroundings, check=False)
    assert told.returncode == 0, told.stderr.decode(errors="replace")
    return told.stdout


@pytest.mark.parametrize(("encoding", "size"), [("cp437", "32 x 32 x 6 mm"), ("ascii", "32 x 32 x 6 mm"),
                                                ("cp1252", "32 × 32 × 6 mm")])  # fmt: skip
def test_a_terminal_without_a_sign_shows_a_plain_one(demo_folder: Path, encoding: str, size: str) -> None:
    told = said(demo_folder, ["show", "OHS-1"], encoding).decode(encoding)
    assert size in told
    assert "?" not in told.replace("Fête", "")


def test_json_is_utf_8_wherever_it_goes(demo_folder: Path) -> None:
    """RFC 8259, 8.1: JSON exchanged between systems is encoded in UTF-8."""
    assert (
        json.loads(said(demo_folder, ["show", "the-garden-bar", "--json"], "cp437").decode("utf-8"))["name"]
        == "The Sundial Bar"
    )
    assert "Fête Day Pair" in said(demo_folder, ["show", "fete-day-pair", "--json"], "ascii").decode("utf-8")


def test_a_terminal_is_coloured_but_never_steered_by_what_it_is_told() -> None:
    """ECMA-48: an escape may move the cursor, and on some terminals more; UAX 9: a bidi control turns words around."""
    shown = io.StringIO()
    screen = Screen(shown)
    screen.write("\x1b[31mMust fix\x1b[0m · \x1b]0;title\x07 \x1b[2J a\rb \x9b1A OH\u202eB01\n")
    assert shown.getvalue() == "\x1b[31mMust fix\x1b[0m · ␛]0;title␇ ␛[2J a␍b \ufffd1A OH\ufffdB01\n"
    assert not screen.isatty()


# Names in her files may hold signs that steer: these are shown to people, wherever they read, and exact for programs.

_TURNED = "Dawn \u202eon\u202c\u2028the\x85Weir\x9b2J"
_COMMANDS = [
    ["check"], ["check", "--all"], ["show", "--all"], ["show", "RRS-1"], ["stock"], ["plan"], ["changes"], ["orders"],
    ["season", "spring"], ["plan", "--propose", "50 %"], ["show", "--all", "--csv"], ["season", "spring", "--csv"],
]  # fmt: skip


@pytest.fixture(scope="module")
def turned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The clean shop, with signs in the names of its set, an item and the season."""
    folder = tmp_path_factory.mktemp("turned") / "shop"
    shutil.copytree(PROBLEMS / "clean", folder)
    for file, name in (("sets/dawn/set.toml", "Dawn on the Weir"), ("items.csv", "Willow Bark")):
        text = (folder / file).read_text(encoding="utf-8")
        assert name in text
        escapes = json.dumps(_TURNED).strip('"') if file.endswith("toml") else _TURNED.replace("\u2028", "")
        (folder / file).write_text(text.replace(name, escapes), encoding="utf-8", newline="")
    return folder


def _steers(text: str) -> set[str]:
    kinds = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
    plain = text.replace("\n", "")
    return {sign for sign in plain if unicodedata.bidirectional(sign) in kinds or unicodedata.category(sign) in _STEER}


_STEER = {"Cc", "Zl", "Zp"}


@pytest.mark.parametrize("words", [words for words in _COMMANDS if "--csv" not in words], ids=" ".join)
def test_no_command_sends_signs_that_steer_to_a_pipe(
    turned: Path, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    main([*words, "--shop", str(turned)])
    told = capsys.readouterr()
    assert _steers(told.out + told.err) == set()


def test_json_has_names_exactly_and_sends_no_sign(turned: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["show", "RRS-1", "--json", "--shop", str(turned)])
    sent = capsys.readouterr().out
    assert json.loads(sent)["name"] == _TURNED
    assert _steers(sent) == set()


def test_a_table_for_programs_has_names_exactly_in_a_pipe(turned: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """CSV (RFC 4180) has no escapes: a cell is exact or it is another."""
    main(["show", "--all", "--csv", "--shop", str(turned)])
    rows = list(csv.reader(io.StringIO(capsys.readouterr().out, newline="")))
    assert _TURNED in rows[1]


@pytest.mark.parametrize("zone", ["{shop}/shop.toml", ":{shop}/shop.toml", "{shop}"])
def test_a_time_zone_that_is_another_file_is_told_and_left_out(zone: str, tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop", {})
    surroundings = {**os.environ, "TZ": zone.format(shop=shop)}
    command = [sys.executable, "-m", "listkit", "check", "--shop", str(shop)]
    told = subprocess.run(command, capture_output=True, env=surroundings, check=False, text=True)
    assert (told.returncode, told.stderr) == (0, "TZ names no time zone; that of this machine is taken.\n")
