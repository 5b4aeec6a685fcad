"""Problems as lines for the owner: what must be fixed first, a count and the next step at the end; and as JSON.

Of thousands that are alike a bounded number is shown and the rest counted, on a screen as on the desk; JSON has all.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from textwrap import wrap
from typing import Any, Final, TypeVar

from listkit import bounds
from listkit.problem import Level, Problem
from listkit.read.folder import PACKAGING, SETS, SHOP, STOCKISTS, TABLES

STILL_TO_DO: Final = "Still to do"
"""What stands before the problems of drafts instead of their level."""


T = TypeVar("T")
Paint = Callable[[str, str], str]
"""Colours a text; its second argument is the level's name, "code" or "closing"."""


_ALWAYS: Final = "not-looked-for"
"""The code of remarks that say what is not in the list, which therefore are always in it."""


ALL_BY: Final = "listkit check --all"
"""The command that leaves out no problem of a shop's files."""


def within_bounds(ordered: Sequence[T], problem_of: Callable[[T], Problem]) -> tuple[list[T], list[T]]:
    """Return the first of each kind of problem, as many as are shown at once, and those that are only counted."""
    shown, rest, of_kind = list[T](), list[T](), Counter[tuple[str, Level, bool]]()
    for each in ordered:
        problem = problem_of(each)
        kind = (problem.code, problem.level, problem.draft)
        fits = problem.code == _ALWAYS or (len(shown) < bounds.SHOWN and of_kind[kind] < bounds.SHOWN_OF_KIND)
        (shown if fits else rest).append(each)
        of_kind[kind] += fits
    return shown, rest


def problem_lines(
    problems: Sequence[Problem],
    paint: Paint,
    *,
    brief: bool = False,
    width: int = 0,
    whole: bool = False,
    all_by: str = ALL_BY,
) -> Iterator[str]:
    """Yield problems: what must be fixed first, a group a set or file, as they are best mended; drafts last.

    With `brief` only what must be fixed is listed, and what was not looked for; the rest is counted, with the command
    that lists it. With a `width` files are headings, and each problem is wrapped below its own; otherwise each is one
    line that names its file. Beyond a bounded number they are counted, unless `whole`; `all_by` is the command that
    shows them, "" for none.
    """
    ordered = sorted(problems, key=lambda each: (each.draft, each.level is not Level.MUST_FIX, _turn(each)))
    grave = (each.code == _ALWAYS or (each.level is Level.MUST_FIX and not each.draft) for each in ordered)
    listed = [each for each, is_grave in zip(ordered, grave, strict=True) if is_grave or not brief]
    shown, rest = (listed, []) if whole else within_bounds(listed, lambda problem: problem)
    yield from _listed(shown, paint, width)
    if rest:
        yield ""
        yield from (paint(line, "closing") for line in _folded(_more(rest, all_by), width))
    if listed:
        yield ""
    more = f"; {all_by if rest and all_by else 'listkit check'} shows all" if len(listed) < len(ordered) else ""
    yield from (paint(line, "closing") for line in _folded(_closing(ordered, more), width))


def _folded(text: str, width: int) -> list[str]:
    return wrap(text, width) if width else [text]


def _more(rest: Sequence[Problem], all_by: str) -> str:
    """Return "4,700 more like these: 4,600 bad-value, 100 missing-key; listkit check --all shows them."."""
    kinds = ", ".join(f"{count:,} {code}" for code, count in Counter(each.code for each in rest).most_common())
    then = f"; {all_by} shows them." if all_by else ". Mend these first."
    return f"{len(rest):,} more like these: {kinds}{then}"


def _listed(problems: Sequence[Problem], paint: Paint, width: int) -> Iterator[str]:
    """Yield problems with an empty line between what is mended in different places."""
    before = None
    for problem in problems:
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
