"""The draft of a channel file from the matches of a sample's columns: its columns, what a row is, the kind of text.

Sure matches are filled in, doubtful ones become a remark with the second choice, unknown columns an empty constant.
Numbered columns that follow each other become one entry.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from listkit.fields import FIELDS, Kind
from listkit.learn.cell_shapes import has_markup, kind_of, sign_of, stock_words
from listkit.learn.folding import unit_of, words_of
from listkit.learn.matching import Match
from listkit.learn.values import Cells, columns_of, most
from listkit.units.money import MINOR_DIGITS
from listkit.units.table import UnitKind, channel_places

_WIDEST: Final = 6  # columns that take turns
_UNITS: Final = {Kind.WEIGHT: channel_places(UnitKind.MASS), Kind.LENGTH: channel_places(UnitKind.LENGTH)}
_GROUP: Final = "inProductGroupWithID"
_LONGEST_EXAMPLE: Final = 60
_TWICE: Final = "? a column above is headed the same, and a feed has each heading once: take one out, or name it anew"
_OURS: Final = frozenset({"InStock", "LimitedAvailability", "OutOfStock"})


@dataclass(frozen=True, slots=True)
class DraftColumn:
    """One [[column]] of the draft; `remarks` stand above it, each a line."""

    heading: str
    value: str = ""
    unit: str = ""
    once: bool = False
    required: bool = False
    longest: int | None = None
    repeat: int | None = None
    begin: int = 1
    beside: bool = False
    mapped: tuple[tuple[str, str], ...] = ()
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Draft:
    """The channel as far as a sample tells: what a row is, the kind of text ("" unknown), the columns."""

    rows: str
    text: str
    pictures: bool
    columns: tuple[DraftColumn, ...]


def draft(matches: Sequence[Match], samples: Sequence[Sequence[str]]) -> Draft:
    """Return the draft of a channel; `samples` are rows below the header, short ones as if filled up with nothing."""
    columns = columns_of(samples, len(matches))
    once = _once(matches, columns)
    both = enumerate(zip(matches, columns, strict=True))
    entries = [_entry(match, cells, once=at in once) for at, (match, cells) in both]
    return Draft(
        _row_kind(matches, columns),
        _text_kind(matches, columns),
        any(match.sure and _base(match) == "image" for match in matches),
        tuple(_told_twice(_merged(matches, entries))),
    )


def headings_twice(columns: Iterable[DraftColumn]) -> tuple[str, ...]:
    """Return the headings that several entries have, which no feed may have; a family is one entry."""
    counted = Counter(column.heading.strip() for column in columns)
    return tuple(heading for heading, count in counted.items() if count > 1)


def _told_twice(columns: list[DraftColumn]) -> list[DraftColumn]:
    """Return the entries with a word of doubt above those whose heading an earlier one has."""
    twice, seen = headings_twice(columns), set[str]()
    found = []
    for column in columns:
        heading = column.heading.strip()
        doubt = (_TWICE,) if heading in twice and heading in seen else ()
        found.append(replace(column, remarks=(*doubt, *column.remarks)))
        seen.add(heading)
    return found


def _entry(match: Match, cells: Cells, *, once: bool) -> DraftColumn:
    heading = match.heading
    made = DraftColumn(heading.text, required=heading.required, longest=heading.longest, once=once)
    filled = tuple(cell for cell in cells if cell)
    if not match.sure:
        return replace(made, remarks=_doubts(match, filled))
    value, unit = _value(match, filled)
    return replace(made, value=value, unit=unit, mapped=_mapped(match, filled), remarks=_advice(match, filled))


def _doubts(match: Match, filled: Cells) -> tuple[str, ...]:
    """Return what to say above a column that is not filled in: two choices, and why neither is sure."""
    second = f'"{match.second}"' if match.second else '"" to leave it empty'
    if match.field:
        told = f'? value = "{match.field}", or {second}: {match.reason or "it is not sure"}'
    else:
        first = f'it may be "{match.second}", or' if match.second else "write what stands in every row, or"
        told = f'? not known: {match.reason}; {first} "" to leave it empty'
    return (told, *_example(filled))


def _example(filled: Cells) -> tuple[str, ...]:
    if not filled:
        return ()
    shown = filled[0] if len(filled[0]) <= _LONGEST_EXAMPLE else filled[0][: _LONGEST_EXAMPLE - 1] + "…"
    everywhere = " in every row" if len(filled) > 1 and len(set(filled)) == 1 else ""
    return (f'in the sample: "{shown}"{everywhere}',)


def _advice(match: Match, filled: Cells) -> tuple[str, ...]:
    """Return what is worth knowing of a column that is filled in."""
    if match.field == "availability" and not _mapped(match, filled) and not _OURS.issuperset(filled):
        words = " and ".join(f'"{word}"' for word in dict.fromkeys(filled))
        ours = 'ours are InStock, LimitedAvailability, OutOfStock: write map = { InStock = "..." }'
        return (f"? the sample says {words[:100]}; {ours}",)
    if _is_money(match) and match.unit in MINOR_DIGITS:
        return (f"the sample's prices are in {match.unit}",)
    return ()


def _mapped(match: Match, filled: Cells) -> tuple[tuple[str, str], ...]:
    """Return our words for being in stock with theirs, where the sample says both of theirs and they are not ours."""
    there, gone = stock_words(filled) if match.field == "availability" else ("", "")
    if not there or not gone or (there, gone) == ("InStock", "OutOfStock"):
        return ()
    return ("InStock", there), ("LimitedAvailability", there), ("OutOfStock", gone)


def _value(match: Match, filled: Cells) -> tuple[str, str]:
    """Return the value to write, and the unit where the heading states one; a template where cells hold it."""
    field = FIELDS[_base(match)]
    units = _UNITS.get(field.kind, {})
    if match.unit in units:
        return match.field or "", match.unit
    if units and most(filled, lambda cell: bool(kind_of(cell))):
        unit = Counter(unit_of(cell.strip(" 0123456789.,"))[1] for cell in filled).most_common(1)[0][0]
        if unit in units:
            return f'{{{{ {match.field} | to("{unit}") | places({_places(filled)}) }}}} {unit}', ""
    if field.kind is Kind.MONEY and most(filled, lambda cell: bool(sign_of(cell))):
        behind = most(filled, lambda cell: sign_of(cell).upper() in MINOR_DIGITS and cell[:1].isdigit())
        coded = f"{{{{ {match.field} | places(2) }}}} {{{{ priceCurrency }}}}"
        return (coded if behind else f"{{{{ {match.field} | in_currency }}}}"), ""
    return match.field or "", ""


def _places(filled: Cells) -> int:
    numbers = [cell.strip(" abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ") for cell in filled]
    return min(3, max(len(number.replace(",", ".").partition(".")[2]) for number in numbers))


def _is_money(match: Match) -> bool:
    return match.field is not None and FIELDS[_base(match)].kind is Kind.MONEY


def _base(match: Match) -> str:
    """Return the field without its number."""
    name = match.field or ""
    head, _, tail = name.rpartition("_")
    return head if tail.isdigit() else name


def _merged(matches: Sequence[Match], entries: list[DraftColumn]) -> list[DraftColumn]:
    """Return the entries with numbered ones that follow each other, alone or taking turns, made one each."""
    found: list[DraftColumn] = []
    at = 0
    while at < len(entries):
        period, count = _block(matches, at)
        found += [
            _family(entries[at + turn], matches[at + turn], count, beside=turn > 0) if count > 1 else entries[at]
            for turn in range(period)
        ]
        at += period * count
    return found


def _block(matches: Sequence[Match], start: int) -> tuple[int, int]:
    """Return how many columns take turns from `start` on, and how often; (1, 1) for a column by itself."""
    best = (1, 1)
    for period in range(1, _WIDEST + 1):
        count = 1
        while all(_follows(matches, start + turn, period, count) for turn in range(period)):
            count += 1
        if count > 1 and period * count > best[0] * best[1]:
            best = (period, count)
    return best


def _follows(matches: Sequence[Match], at: int, period: int, count: int) -> bool:
    """Whether the column `count` turns behind the one at `at` is the next member of its family."""
    there = at + period * count
    if there >= len(matches):
        return False
    one, other = matches[at], matches[there]
    if one.heading.family != other.heading.family or _base(one) != _base(other) or one.sure != other.sure:
        return False
    numbers = one.heading.numbered.number, other.heading.numbered.number
    in_turn = numbers[0] is None or numbers[1] == numbers[0] + count
    members = one.field is None or (one.field == f"{_base(one)}_1" and other.field == f"{_base(one)}_{count + 1}")
    return in_turn and members


def _family(entry: DraftColumn, match: Match, count: int, *, beside: bool) -> DraftColumn:
    number = match.heading.numbered.number
    value = _base(match) if match.field and entry.value == match.field else entry.value
    begin = 1 if number is None else number
    return replace(entry, heading=match.heading.numbered.pattern, value=value, repeat=count, begin=begin, beside=beside)


def _once(matches: Sequence[Match], columns: Sequence[Cells]) -> set[int]:
    """Return the columns whose cells stand only in the first row of each set, where a column names the set."""
    group = next((at for at, match in enumerate(matches) if match.sure and match.field == _GROUP), None)
    if group is None:
        return set()
    codes = columns[group]
    later = [at for at, code in enumerate(codes) if code and at and codes[at - 1] == code]
    first = [at for at, code in enumerate(codes) if code and (not at or codes[at - 1] != code)]
    if not later:
        return set()
    return {
        place
        for place, cells in enumerate(columns)
        if place != group and not any(cells[at] for at in later) and all(cells[at] for at in first)
    }


def _row_kind(matches: Sequence[Match], columns: Sequence[Cells]) -> str:
    """Return "listing, then variants" where a row has the set's own code and nothing chosen, else "variant"."""
    places = {match.field: at for at, match in enumerate(matches) if match.sure}
    chosen = [at for at, match in enumerate(matches) if _base(match) == "choice"]
    if _GROUP not in places or "sku" not in places or not chosen:
        return "variant"
    codes = zip(columns[places[_GROUP]], columns[places["sku"]], strict=True)
    own = [at for at, (group, sku) in enumerate(codes) if sku and group in {sku, ""}]
    whole = [at for at in own if not any(columns[place][at] for place in chosen)]
    return "listing, then variants" if whole and len(whole) < len(columns[0]) else "variant"


def _text_kind(matches: Sequence[Match], columns: Sequence[Cells]) -> str:
    """Return "html" or "plain" where the sample tells, else ""."""
    for match, cells in zip(matches, columns, strict=True):
        if match.field == "description":
            filled = [cell for cell in cells if cell]
            if "html" in words_of(match.heading.text) or any(map(has_markup, filled)):
                return "html"
            if filled:
                return "plain"
    return ""
