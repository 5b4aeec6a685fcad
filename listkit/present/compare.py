"""A comparison of an export with our rows as lines, the gravest first and last a count, and as JSON.

And where two cells differ, word by word, for pages that mark it.
"""

import re
from collections.abc import Iterator, Sequence
from difflib import SequenceMatcher
from typing import Any, Final

from listkit.ledger.compare import Compared, always_differs, told_lines
from listkit.present.table import table
from listkit.problem import times

_MOST_ROWS: Final = 40
_LONGEST: Final = 30  # characters of a cell on screen


def comparison_lines(compared: Compared, channel: str) -> Iterator[str]:
    """Yield what differs on the channel of this name, what is missing or twice, what was not compared, and a count."""
    if compared.differences:
        shown = compared.differences[:_MOST_ROWS]
        rows = [("code", "field", "ours", f"on {channel}", "kind")]
        rows += [(each.code, each.field, _short(each.ours), _short(each.theirs), each.kind) for each in shown]
        yield table(rows, left=5)
        if len(compared.differences) > len(shown):
            yield f"and {len(compared.differences) - len(shown)} more; --json has all"
    for label, codes in (("missing there", compared.missing_there), ("unknown here", compared.unknown_there)):
        if codes:
            more = f" and {len(codes) - _MOST_ROWS} more" if len(codes) > _MOST_ROWS else ""
            yield f"{label}: {', '.join(codes[:_MOST_ROWS])}{more}"
    if compared.old_codes:
        shown_codes = [f"{old} ({new} now)" for old, new in compared.old_codes[:_MOST_ROWS]]
        over = len(compared.old_codes) - len(shown_codes)
        yield f"old codes there: {', '.join(shown_codes)}{f' and {over} more' if over else ''}"
    for twin in compared.twins[:_MOST_ROWS]:
        yield f"twice there: {twin.code}, {told_lines(twin.lines)}"
    if len(compared.twins) > _MOST_ROWS:
        yield f"and {len(compared.twins) - _MOST_ROWS} more twins"
    for name in always_differs(compared):
        yield f"{name} differs in every row: is it another column, or unit?"
    for remark in compared.not_compared:
        yield f"not compared: {remark.what}, {remark.why}"
    missing, unknown, twins = (len(codes) for codes in (compared.missing_there, compared.unknown_there, compared.twins))
    differences = times(len(compared.differences), "difference")
    yield f"{differences}, {missing} missing there, {unknown} unknown here, {twins} twice there."


def _short(cell: str) -> str:
    line = " ".join(cell.split())
    return line if len(line) <= _LONGEST else line[: _LONGEST - 1] + "…"


def comparison_json(compared: Compared) -> dict[str, Any]:
    """Return every difference, and what was not compared."""
    return {
        "differences": [
            {"code": each.code, "field": each.field, "ours": each.ours, "theirs": each.theirs, "kind": each.kind}
            for each in compared.differences
        ],
        "missing_there": list(compared.missing_there),
        "unknown_there": list(compared.unknown_there),
        "old_codes": dict(compared.old_codes),
        "twins": [{"code": twin.code, "lines": list(twin.lines)} for twin in compared.twins],
        "not_compared": [{"what": remark.what, "why": remark.why} for remark in compared.not_compared],
    }


# Where two cells differ

Marked = tuple[tuple[str, bool], ...]
"""A text in its parts, each with whether the other text has it otherwise."""
_WORDS: Final = re.compile(r"\s+|\w+|[^\w\s]")
_BESIDE: Final = 80  # letters of what is alike that are shown beside what is not
_CLOSELY: Final = 20_000  # words of ours times words of theirs that are held against each other one by one


def differing_words(ours: str, theirs: str) -> tuple[Marked, Marked]:
    """Return both cells with the words marked that the other has not.

    Of very long ones all between what begins and what ends alike.

    >>> differing_words("oat soap, 110 g", "oat soap, 108 g")
    ((('oat soap, ', False), ('110', True), (' g', False)), (('oat soap, ', False), ('108', True), (' g', False)))
    """
    left, right = _WORDS.findall(ours), _WORDS.findall(theirs)
    least = min(len(left), len(right))
    begin = next((at for at in range(least) if left[at] != right[at]), least)
    end = next((at for at in range(least - begin) if left[-1 - at] != right[-1 - at]), least - begin)
    inner = left[begin : len(left) - end], right[begin : len(right) - end]
    alike = [(0, 0, 0)]
    if len(inner[0]) * len(inner[1]) <= _CLOSELY:
        alike = list(SequenceMatcher(None, *inner, autojunk=False).get_matching_blocks())
    same = ({*range(begin), *range(len(left) - end, len(left))}, {*range(begin), *range(len(right) - end, len(right))})
    for at_left, at_right, size in alike:
        same[0].update(range(begin + at_left, begin + at_left + size))
        same[1].update(range(begin + at_right, begin + at_right + size))
    return _marked(left, same[0]), _marked(right, same[1])


def around_marks(marked: Marked) -> Marked:
    """Return a text without most of what is long and alike: of that a little beside each mark stays.

    >>> around_marks((("x" * 200 + " it is ", False), ("oat", True)))[0][0][-12:]
    'xxxxx it is '
    """
    last = len(marked) - 1
    return tuple(
        (text if differs else _short_run(text, before=at > 0, after=at < last), differs)
        for at, (text, differs) in enumerate(marked)
    )


def _short_run(text: str, *, before: bool, after: bool) -> str:
    """Return a text that is alike, of a long one what is beside a mark `before` it and `after` it."""
    if len(text) <= 2 * _BESIDE + 20:
        return text
    return f"{text[:_BESIDE] if before else ''}…{text[-_BESIDE:] if after else ''}"


def _marked(pieces: Sequence[str], same: set[int]) -> Marked:
    """Return words put together where they are alike, or not, one after the other."""
    parts: list[tuple[str, bool]] = []
    for at, word in enumerate(pieces):
        differs = at not in same
        if parts and parts[-1][1] == differs:
            parts[-1] = parts[-1][0] + word, differs
        else:
            parts.append((word, differs))
    return tuple(parts)
