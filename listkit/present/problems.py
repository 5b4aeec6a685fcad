"""Problems as lines for the owner: what must be fixed first, a count and the next step at the end; and as JSON."""

from collections.abc import Callable, Iterator, Sequence
from typing import Any, Final

from listkit.problem import Level, Problem
from listkit.read.folder import PACKAGING, SETS, SHOP, STOCKISTS, TABLES

STILL_TO_DO: Final = "Still to do"
"""What stands before the problems of drafts instead of their level."""


def problem_lines(
    problems: Sequence[Problem], paint: Callable[[str, str], str], *, brief: bool = False
) -> Iterator[str]:
    """Yield every problem: what must be fixed first, a group a set or file, as they are best mended; drafts last.

    `paint` colours a text; its second argument is the level's name, "code" or "closing". With `brief` only what must be
    fixed is listed; the rest is counted, with the command that lists it.
    """
    ordered = sorted(problems, key=lambda each: (each.draft, each.level is not Level.MUST_FIX, _turn(each)))
    listed = [each for each in ordered if not brief or (each.level is Level.MUST_FIX and not each.draft)]
    before = None
    for problem in listed:
        group = (STILL_TO_DO if problem.draft else problem.level, _group(problem))
        if before not in (None, group):
            yield ""
        before = group
        message = f"{problem.place}: {problem.message} {problem.hint}".rstrip()
        yield f"{paint(group[0], problem.level.name)} · {message}  {paint(problem.code, 'code')}"
    if listed:
        yield ""
    more = "; listkit check shows all" if len(listed) < len(ordered) else ""
    yield paint(_closing(ordered, more), "closing")


def _group(problem: Problem) -> str:
    """Return the set's folder, or the file: what is mended in one go."""
    parts = problem.place.file.split("/")
    return "/".join(parts[:2]) if parts[0] == SETS else problem.place.file


def _turn(problem: Problem) -> int:
    """Return when a file is best mended: what others follow from comes first."""
    file = problem.place.file
    turns = (file == SHOP, file != STOCKISTS and "/" not in file and file.endswith(TABLES), file == PACKAGING)
    return turns.index(True) if any(turns) else len(turns)


def _closing(problems: Sequence[Problem], more: str) -> str:
    first = next((problem for problem in problems if not problem.draft and problem.level is Level.MUST_FIX), None)
    return f"{counted(problems)}{f'. Begin with {first.place.file}' if first else ''}{more}."


def counted(problems: Sequence[Problem]) -> str:
    """Return "2 to fix, 5 to look at, 1 still to do in drafts"; drafts where there are any."""
    sound = [problem for problem in problems if not problem.draft]
    fix = sum(problem.level is Level.MUST_FIX for problem in sound)
    look, drafts = len(sound) - fix, len(problems) - len(sound)
    counts = f"{fix} to fix, {look} to look at" if sound else "Nothing to fix, nothing to look at"
    return f"{counts}, {drafts} still to do in drafts" if drafts else counts


def problems_json(problems: Sequence[Problem]) -> dict[str, Any]:
    """Return all problems as one object."""
    return {
        "problems": [
            {
                "file": problem.place.file,
                "line": problem.place.line or None,
                "column": problem.place.column or None,
                "level": problem.level.lower(),
                "code": problem.code,
                "message": problem.message,
                "hint": problem.hint,
                **({"draft": True} if problem.draft else {}),
            }
            for problem in problems
        ]
    }
