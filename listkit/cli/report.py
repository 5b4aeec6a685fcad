"""Tells problems to the owner: what must be fixed first, one line each, a count and the next step at the end."""

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any, TextIO

from listkit.cli.terminal import BOLD, DIM, GREEN, RED, YELLOW, painted
from listkit.problem import Level, Problem
from listkit.read.folder import PACKAGING, SETS, SHOP, STOCKISTS, TABLES
from listkit.read.shop import missing_folder

PAINT = {Level.MUST_FIX: RED, Level.LOOK_AT: YELLOW}


def report(problems: Sequence[Problem], stream: TextIO) -> None:
    """Print every problem to `stream`: what stops the build first, a group a set or file, as they are best mended."""
    ordered = sorted(problems, key=lambda problem: (problem.level is not Level.MUST_FIX, _turn(problem)))
    before = None
    for problem in ordered:
        group = (problem.level, _group(problem))
        if before not in (None, group):
            print(file=stream)
        before = group
        print(_line(problem, stream), file=stream)
    if problems:
        print(file=stream)
    print(painted(_closing(ordered), BOLD, stream), file=stream)


def _group(problem: Problem) -> str:
    """Return the set's folder, or the file: what is mended in one go."""
    parts = problem.place.file.split("/")
    return "/".join(parts[:2]) if parts[0] == SETS else problem.place.file


def _turn(problem: Problem) -> int:
    """Return when a file is best mended: what others follow from comes first."""
    file = problem.place.file
    turns = (file == SHOP, file != STOCKISTS and "/" not in file and file.endswith(TABLES), file == PACKAGING)
    return turns.index(True) if any(turns) else len(turns)


def told_missing(folder: Path) -> bool:
    """Tell that a shop folder is none, if it is none."""
    missing = missing_folder(folder)
    if missing is not None:
        report((missing,), sys.stderr)
    return missing is not None


def problems_json(problems: Sequence[Problem]) -> str:
    """Return all problems as one JSON object, for scripts."""
    return json.dumps({"problems": [_json(problem) for problem in problems]}, indent=2, ensure_ascii=False)


def _line(problem: Problem, stream: TextIO) -> str:
    level = painted(problem.level, PAINT[problem.level], stream)
    words = f"{problem.place}: {problem.message} {problem.hint}".rstrip()
    return f"{level} · {words}  {painted(problem.code, DIM, stream)}"


def _closing(problems: Sequence[Problem]) -> str:
    first = next((problem for problem in problems if problem.level is Level.MUST_FIX), None)
    fix = sum(problem.level is Level.MUST_FIX for problem in problems)
    look = len(problems) - fix
    counts = f"{fix} to fix, {look} to look at." if problems else "Nothing to fix, nothing to look at."
    if first is None:
        return counts
    return f"{counts} Begin with {first.place.file}."


def _json(problem: Problem) -> dict[str, Any]:
    return {
        "file": problem.place.file,
        "line": problem.place.line or None,
        "column": problem.place.column or None,
        "level": problem.level.lower(),
        "code": problem.code,
        "message": problem.message,
        "hint": problem.hint,
    }


def tell(words: str) -> None:
    """Print talk, which goes to stderr so that results alone stand on stdout."""
    print(words, file=sys.stderr)


def done(words: str) -> None:
    """Print good news."""
    print(painted(words, GREEN, sys.stderr), file=sys.stderr)
