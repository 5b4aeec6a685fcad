"""`import listkit`: its recipe runs as it is written, and says of a shop what the command line says."""

import datetime
import json
import re
import textwrap
from pathlib import Path
from typing import Any

import pytest

import listkit
from listkit.cli import main
from listkit.problem import must_fix
from tests.shops import clean_shop, small_demo

TODAY = datetime.date(2026, 11, 25)
STORY = "A bar in paper.\n\n{{ set.nme }} is its name.\n"


def recipe() -> str:
    """Return the lines of the package's docstring that are code."""
    [code] = re.findall(r"^(?: {4}.*\n)+", listkit.__doc__ or "", re.MULTILINE)
    return textwrap.dedent(code)


def run_recipe(folder: Path, today: datetime.date = TODAY) -> tuple[Any, ...]:
    """Return the problems that the recipe finds, after it built what it builds."""
    names: dict[str, Any] = {"listkit": listkit, "folder": folder, "today": today}
    exec(recipe(), names)
    return tuple(names["checked"].problems)


def told_by_check(folder: Path, capsys: pytest.CaptureFixture[str]) -> list[tuple[str, int | None, str]]:
    capsys.readouterr()
    main(["check", "--shop", str(folder), "--today", str(TODAY), "--json"])
    problems = json.loads(capsys.readouterr().out)["problems"]
    return [(problem["code"], problem["line"], problem["message"]) for problem in problems]


def as_told(problems: tuple[Any, ...]) -> list[tuple[str, int | None, str]]:
    return [(problem.code, problem.place.line or None, problem.message) for problem in problems]


def files_below(out: Path) -> dict[str, bytes]:
    """Return what lies in an output folder by path, apart from the build's own memory."""
    paths = (path for path in out.rglob("*") if path.is_file() and not path.name.startswith("."))
    return {str(path.relative_to(out)): path.read_bytes() for path in paths}


def test_there_are_at_most_twelve_names_and_each_can_be_loaded() -> None:
    assert len(listkit.__all__) <= 12
    assert all(getattr(listkit, name) is not None for name in listkit.__all__)


def test_the_recipe_builds_a_copy_of_the_demo_as_the_command_does(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    copy = small_demo(tmp_path / "copy")
    problems = run_recipe(copy)
    assert as_told(problems) == told_by_check(copy, capsys)
    assert main(["build", "--shop", str(copy), "--today", str(TODAY), "--out", str(tmp_path / "by command")]) == 0
    built = files_below(copy / "out")
    assert len(built) > 100
    assert built == files_below(tmp_path / "by command")


def test_a_fault_in_a_story_stops_the_recipe_as_it_stops_the_command(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sound = clean_shop(tmp_path / "sound")
    story = next(path for path in sorted((sound / "sets").rglob("story.md")))
    folder = clean_shop(tmp_path / "shop", {str(story.relative_to(sound)): STORY})
    problems = run_recipe(folder)
    [fault] = [problem for problem in problems if must_fix([problem])]
    assert "nme" in fault.message
    assert (fault.place.file, fault.place.line) == (str(story.relative_to(sound)), 3)
    assert as_told(problems) == told_by_check(folder, capsys)
    assert not (folder / "out").exists()
