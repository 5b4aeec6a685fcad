"""Old codes in what was recorded: its lines in today's codes, so that a thing with another code is still the same.

Lines stay as they were recorded; they are only read so. What is left of an old code is the `sku` of a row and the
`code` of an item or set, which say that it is another now.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any, Final

from listkit.ledger.history import PricePoint
from listkit.ledger.store import Difference, Facts
from listkit.units.identifiers import code_words, with_other_codes

NowCodes = Mapping[str, str]
"""Today's code by each old one."""
_WHOLE: Final = frozenset({"inProductGroupWithID", "itemCodes", "larger"})
_WITHIN: Final = frozenset({"contents", "variants", "photos", "not_together", "lines", "sets", "leave_out"})
"""Facts of sets, sheets and channels in whose words codes stand."""


def in_todays_codes(differing: Difference, now: NowCodes) -> Difference:
    """Return a difference with the old lines in today's codes; what does not differ any more is left out."""
    if not now:
        return differing
    old, new = differing.old, differing.new
    sections = {
        name: (renamed_lines(getattr(old, name), now), getattr(new, name))
        for name in ("rows", "items", "sets", "rules")
    }
    alike = {
        name: {code for code, line in lines.items() if code in today and json.loads(line) == json.loads(today[code])}
        for name, (lines, today) in sections.items()
    }
    return replace(
        differing,
        old=Facts(files=old.files, **{name: _but(lines, alike[name]) for name, (lines, _) in sections.items()}),
        new=Facts(files=new.files, **{name: _but(today, alike[name]) for name, (_, today) in sections.items()}),
        alike=differing.alike + len(alike["rows"]),
    )


def _but(lines: Mapping[str, str], apart: Iterable[str]) -> dict[str, str]:
    return {code: line for code, line in lines.items() if code not in apart}


def renamed_lines(lines: Mapping[str, str], now: NowCodes) -> dict[str, str]:
    """Return lines by today's codes, which stand in them too; a code that is one today keeps its own line."""
    if not now:
        return dict(lines)
    found = {}
    for code, line in lines.items():
        today = with_other_codes(code, now)
        found[code if today in lines else today] = _line(line, now)
    return found


def _line(line: str, now: NowCodes) -> str:
    if now.keys().isdisjoint(code_words(line)):
        return line
    facts = {name: _fact(name, value, now) for name, value in json.loads(line).items()}
    return json.dumps(facts, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def _fact(name: str, value: Any, now: NowCodes) -> Any:  # noqa: ANN401 - any fact
    if isinstance(value, list):
        return [_fact(name, member, now) for member in value]
    if isinstance(value, str) and name in _WHOLE:
        return now.get(value, value)
    if not isinstance(value, str) or name not in _WITHIN:
        return value
    words, sign, codes = value.rpartition(" | ") if name == "photos" else ("", "", value)  # words for the picture
    code, quote, says = codes.partition(' "') if name == "contents" else (codes, "", "")  # words for the buyer
    return words + sign + with_other_codes(code, now) + quote + says


def joined_prices(prices: Mapping[str, tuple[PricePoint, ...]], now: NowCodes) -> dict[str, tuple[PricePoint, ...]]:
    """Return prices by today's codes; those of a code's old names come before its own, as they were in force.

    A row that went because its code became another was not taken down: no such end is among them.
    """
    joined: dict[str, tuple[PricePoint, ...]] = dict(prices)
    for old, new in now.items():
        points = joined.pop(old, ())
        if points:
            joined[new] = in_order(points, joined.get(new, ()))
    return joined


def in_order(before: Iterable[PricePoint], after: Iterable[PricePoint]) -> tuple[PricePoint, ...]:
    """Return the prices under an old code and under today's, oldest first, without the old one's end."""
    later = tuple(after)
    began = {(point.channel, point.day) for point in later if point.price is not None}
    kept = (point for point in before if point.price is not None or (point.channel, point.day) not in began)
    points: list[PricePoint] = []
    last: dict[str, PricePoint] = {}
    for point in sorted((*kept, *later), key=lambda point: (point.day, point.at)):
        before_it = last.get(point.channel)
        if before_it is None or (before_it.price, before_it.other) != (point.price, point.other):
            points.append(point)
        last[point.channel] = point
    return tuple(points)
