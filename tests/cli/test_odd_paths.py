"""Paths that no system takes and words that are no text: told in a line by every command, whatever takes them."""

import shutil
from pathlib import Path

import pytest

from listkit.cli import main
from tests.shops import clean_shop

LONG = {"name": "x" * 300, "letters": "é" * 200, "path": "a/" * 2500 + "b"}
"""More than a name or a path may have: NAME_MAX and PATH_MAX of Linux (limits.h)."""
COMMANDS = {
    "check": ["check"], "build": ["build"], "changes": ["changes"], "record": ["record", "stall"],
    "show": ["show", "--all"], "history": ["history", "RRS-1"], "compare": ["compare", "stall", "FILE"],
    "order": ["order", "FILE"], "orders": ["orders"], "stock": ["stock", "show"], "plan": ["plan"],
    "season": ["season", "spring"], "allot": ["allot"], "print": ["print", "labels"],
    "pack": ["pack", "stall", "FILE.zip"],
    "add": ["add", "Moon"], "rename": ["rename", "RR-B1", "RR-B9"], "learn": ["learn", "FILE", "--name", "Fair"],
    "place": ["place", "Fair", "--kind", "stall"],
}  # fmt: skip
WITH_OUT = ("build", "changes", "record", "compare", "order", "print", "pack")


@pytest.fixture(scope="module")
def given(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("given") / "given.csv"
    file.write_text("SKU,Title,Price,Quantity\nRRS-1-J1,A set,7.50,3\n", encoding="utf-8")
    return file


def told(words: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    """Return what a command says that could not do it."""
    capsys.readouterr()
    try:
        status = main(words)
    except SystemExit as ended:
        status = int(ended.code or 0)
    assert status in (1, 2)
    said = capsys.readouterr()
    return said.out + said.err


@pytest.mark.parametrize("long", LONG.values(), ids=LONG)
@pytest.mark.parametrize("command", COMMANDS)
def test_a_shop_folder_whose_name_no_system_takes_is_told(
    given: Path, command: str, long: str, capsys: pytest.CaptureFixture[str]
) -> None:
    words = [word.replace("FILE", str(given)) for word in COMMANDS[command]]
    assert "--shop" in told([*words, "--shop", long], capsys)


@pytest.mark.parametrize("long", LONG.values(), ids=LONG)
@pytest.mark.parametrize("command", WITH_OUT)
def test_an_output_folder_whose_name_no_system_takes_is_told(
    given: Path, tmp_path: Path, command: str, long: str, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = clean_shop(tmp_path / "shop")
    words = [word.replace("FILE", str(given)) for word in COMMANDS[command]]
    assert told([*words, "--shop", str(shop), "--out", long], capsys).strip()
    assert not (shop / "ledger.sqlite3").exists()
    shutil.rmtree(shop)


@pytest.mark.parametrize("words", [["history", "\udcff"], ["rename", "RR-B1", "RR\udce9"], ["add", "Caf\udce9"]])
def test_a_word_that_is_no_utf_8_is_told(tmp_path: Path, words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """As from a terminal in Latin-1: Python keeps such bytes as lone surrogates (PEP 383)."""
    shop = clean_shop(tmp_path / "shop")
    assert "no letters of UTF-8" in told([*words, "--shop", str(shop)], capsys)


@pytest.mark.parametrize("joined", [False, True])
def test_a_folder_whose_name_is_no_utf_8_is_opened(tmp_path: Path, *, joined: bool) -> None:
    """As Linux allows it: a name is any bytes but "/" and NUL (path_resolution(7))."""
    shop = clean_shop(tmp_path / "Caf\udce9")
    assert main(["check", f"--shop={shop}"] if joined else ["check", "--shop", str(shop)]) in (0, 1)
