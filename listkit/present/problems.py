"""Problems as lines for the owner: what must be fixed first, a count and the next step at the end; and as JSON."""

from collections.abc import Callable, Iterator, Sequence
from textwrap import wrap
from typing import Any, Final

from listkit.problem import Level, Problem
from listkit.read.folder import PACKAGING, SETS, SHOP, STOCKISTS, TABLES

STILL_TO_DO: Final = "Still to do"
"""What stands before the problems of drafts instead of their level."""


Paint = Callable[[str, str], str]
"""Colours a text; its second argument is the level's name, "code" or "closing"."""


def problem_lines(problems: Sequence[Problem], paint: Paint, *, brief: bool = False, width: int = 0) -> Iterator[str]:
    """Yield every problem: what must be fixed first, a group a set or file, as they are best mended; drafts last.

    With `brief` only what must be fixed is listed; the rest is counted, with the command that lists it. With a `width`
    files are headings, and each problem is wrapped below its own; otherwise each is one line that names its file.
    """
    ordered = sorted(problems, key=lambda each: (each.draft, each.level is not Level.MUST_FIX, _turn(each)))
    listed = [each for each in ordered if not brief or (each.level is Level.MUST_FIX and not each.draft)]
    before = None
    for problem in listed:
        level = STILL_TO_DO if problem.draft else problem.level
        group = (level, problem.place.file if width else _group(problem))
        if before not in (None, group):
            yield ""
        if width and before != group:
            yield paint(problem.place.file, "closing")
        before = group
        if width:
            yield from _wrapped(problem, level, paint, width)
        else:
            message = f"{problem.place}: {problem.message} {problem.hint}".rstrip()
            yield f"{paint(level, problem.level.name)} · {message}  {paint(problem.code, 'code')}"
    if listed:
        yield ""
    more = "; listkit check shows all" if len(listed) < len(ordered) else ""
    closing = _closing(ordered, more)
    yield from (paint(line, "closing") for line in (wrap(closing, width) if width else [closing]))


def _wrapped(problem: Problem, level: str, paint: Paint, width: int) -> Iterator[str]:
    """Yield a problem below its file's heading: the first line at two signs, the others at four."""
    where = str(problem.place).removeprefix(problem.place.file).removeprefix(", ")
    message = " ".join(f"{f'{where}: ' if where else ''}{problem.message} {problem.hint}".split())
    lines = wrap(
        f"{level} · {message}",
        width,
        initial_indent="  ",
        subsequent_indent="    ",
        break_long_words=False,
        break_on_hyphens=False,
    )
    code = paint(problem.code, "code")
    fits = len(lines[-1]) + 2 + len(problem.code) <= width
    lines[0] = lines[0].replace(level, paint(level, problem.level.name), 1)
    if fits:
        lines[-1] += f"  {code}"
    else:
        lines.append(f"    {code}")
    yield from lines


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
