"""What is said on terminals of every age."""

import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from listkit.cli.terminal import Screen
from tests.shops import clean_shop


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


@pytest.mark.parametrize("zone", ["{shop}/shop.toml", ":{shop}/shop.toml", "{shop}"])
def test_a_time_zone_that_is_another_file_is_told_and_left_out(zone: str, tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop", {})
    surroundings = {**os.environ, "TZ": zone.format(shop=shop)}
    command = [sys.executable, "-m", "listkit", "check", "--shop", str(shop)]
    told = subprocess.run(command, capture_output=True, env=surroundings, check=False, text=True)
    assert (told.returncode, told.stderr) == (0, "TZ names no time zone; that of this machine is taken.\n")
