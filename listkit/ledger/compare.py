"""What a channel shows now, compared with our own rows: cell by cell, matched by code, rows in any order.

Pure. Nothing is passed over: a column, row or cell that cannot be compared is reported as such.
"""

import datetime
import html
import re
import unicodedata
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from functools import lru_cache
from typing import Final

from listkit import bounds
from listkit.fields import FIELDS, Kind
from listkit.units.table import UnitKind, sizes_by_word

# Whether two cells mean the same, though one went through another program: a channel may round a weight, add a
# currency sign, wrap a text anew or keep a picture elsewhere. A price is exact.

_NUMBER: Final = re.compile(r"[+-]?(?:\d|[.,]\d)[\d.,'\s]*", re.ASCII)
_UNIT_GRAMS: Final = {"": None, **sizes_by_word(UnitKind.MASS)}
_INLINE: Final = re.compile(r"</?(?:a|b|em|i|small|span|strong|sub|sup|u)(?:\s[^<>]*)?>", re.IGNORECASE)
_TAG: Final = re.compile(r"</?[a-z][^<>]*>", re.IGNORECASE)
_SPACE: Final = re.compile(r"\s+")
_GUARD: Final = re.compile(r"'(?=[=+\-@\t\r\n\0＝＋－＠])")
_DAY: Final = re.compile(r"(\d{4}-\d{2}-\d{2})(?:[T ][\d:.]+(?:Z|[+-][\d:]+)?)?")
_TYPOGRAPHY: Final = str.maketrans("‘’‚′“”„″‐‑–—−", "''''\"\"\"\"-----")
_LEAST_DIGITS: Final = 2  # significant ones; a number rounded to fewer matches too much
Alike = Callable[[str, str], bool]
"""Returns whether our cell and theirs mean the same."""
WordsOf = Callable[[str], str]
"""Returns a channel's words as we send them."""
DayText = Callable[[datetime.date], str]
"""Returns a day as a channel writes it."""


def alike(
    kind: Kind, name: str, *, unit: str = "g", day: DayText = datetime.date.isoformat, sent: WordsOf = str
) -> Alike:
    """Return the comparison for cells of a column: `name` is its field, `unit` the unit of our weights.

    `day` writes our days; theirs may also be in the form of ISO 8601, as a workbook's are. `sent` gives their words as
    we send them: a sign that is replaced for the channel is the same either way, but never in codes and addresses.
    """
    if name == "image":  # the same file names in the same order: a channel keeps copies at its own address
        return lambda ours, theirs: _file_names(ours) == _file_names(theirs)
    by_kind: dict[Kind, Alike] = {
        Kind.MONEY: _same_amount,
        Kind.NUMBER: _same_amount,
        Kind.WEIGHT: lambda ours, theirs: _same_weight(ours, theirs, unit),
        Kind.LENGTH: _same_measure,
        Kind.SHARE: _same_measure,
        Kind.DATE: lambda ours, theirs: _same_day(ours, theirs, day),
    }
    if _KIND_OF.get(name) == "code" or name == "url":
        sent = str

    def same_text(ours: str, theirs: str) -> bool:
        return ours == theirs or folded(ours) in (folded(theirs), folded(sent(folded(theirs))))

    return by_kind.get(kind, same_text)


def readings(text: str) -> tuple[Decimal, ...]:
    """Return the numbers that a cell may mean; () when it is none. Signs and letters around it (£, pcs) are ignored.

    >>> readings("1,234")
    (Decimal('1234'), Decimal('1.234'))
    >>> readings("£ 1.234,50"), readings("2 x 3")
    ((Decimal('1234.50'),), ())
    """
    found: list[str] = _NUMBER.findall(unicodedata.normalize("NFKC", text).translate(_TYPOGRAPHY))
    if len(found) != 1:
        return ()
    digits = re.sub(r"[\s'’]", "", found[0]).rstrip(".,")
    points = [sign for sign in digits if sign in ".,"]
    if not points:
        return (Decimal(digits),)
    if len(set(points)) == 2:  # 1.234,50 and 1,234.50: the last one parts whole and part
        whole, _, part = digits.rpartition(points[-1])
        return (Decimal(f"{_bare(whole)}.{part}"),) if points.count(points[-1]) == 1 else ()
    grouped = re.fullmatch(r"[+-]?[1-9]\d{0,2}([.,]\d{3})+", digits) is not None
    apart = () if len(points) > 1 else (Decimal(digits.replace(",", ".")),)
    return (Decimal(_bare(digits)), *apart) if grouped else apart


def _bare(digits: str) -> str:
    return digits.replace(",", "").replace(".", "")


def _number_of(text: str) -> tuple[Decimal, ...]:
    """Return the number of one of our own cells, which never has groups; () for an empty one, or no number alone."""
    try:
        return (Decimal(_GUARD.sub("", text, count=1).replace(",", ".")),)
    except InvalidOperation:
        return ()


@lru_cache(maxsize=4096)
def _same_amount(ours: str, theirs: str) -> bool:
    """Whether both are exactly the same number, however many zeros follow."""
    if not ours.strip() or not theirs.strip():
        return ours.strip() == theirs.strip()
    return bool(set(_number_of(ours)) & set(readings(theirs)))


@lru_cache(maxsize=4096)
def _same_measure(ours: str, theirs: str) -> bool:
    """Whether both are the same number, theirs perhaps rounded to no fewer than two significant digits."""
    if _same_amount(ours, theirs):
        return True
    return any(_rounds_to(exact, rounded) for exact in _number_of(ours) for rounded in readings(theirs))


def _rounds_to(exact: Decimal, rounded: Decimal) -> bool:
    _, digits, exponent = rounded.as_tuple()
    if not isinstance(exponent, int) or len("".join(map(str, digits)).lstrip("0")) < _LEAST_DIGITS:
        return False
    try:
        return exact.quantize(Decimal((0, (1,), exponent)), ROUND_HALF_UP) == rounded
    except InvalidOperation:  # more digits than any weight has
        return False


@lru_cache(maxsize=4096)
def _same_weight(ours: str, theirs: str, unit: str) -> bool:
    """Whether both are the same weight, theirs perhaps rounded, or in another unit that it names."""
    letters = re.sub(r"[\W\d_]", "", theirs).casefold()
    factor = _UNIT_GRAMS.get(letters)
    if factor is None or factor == _UNIT_GRAMS[unit]:
        return letters in _UNIT_GRAMS and _same_measure(ours, theirs)
    exact = [number * (_UNIT_GRAMS[unit] or 1) / factor for number in _number_of(ours)]
    return any(_rounds_to(left, right) or left == right for left in exact for right in readings(theirs))


@lru_cache(maxsize=1024)
def _same_day(ours: str, theirs: str, day: DayText) -> bool:
    """Whether both are the same day of the calendar; a time behind theirs does not count."""
    match = _DAY.fullmatch(theirs.strip())
    try:
        return ours.strip() == (day(datetime.date.fromisoformat(match[1])) if match else theirs.strip())
    except ValueError:  # 2027-02-30
        return False


def _file_names(addresses: str) -> list[str]:
    """Return the names of one picture, or of several between semicolons."""
    bare = [address.strip().partition("?")[0].partition("#")[0] for address in addresses.split(";")]
    return [unicodedata.normalize("NFC", address.rstrip("/").rpartition("/")[2]).casefold() for address in bare]


@lru_cache(maxsize=4096)
def folded(text: str) -> str:
    """Return a text without what programs change: Unicode forms, white space, HTML marks, typographic quotes.

    >>> folded("<p>Soap &amp; “balm”</p>")
    'Soap & "balm"'
    """
    plain = _GUARD.sub("", text, count=1) if text[:1] == "'" else text
    if "<" in plain or "&" in plain:
        plain = html.unescape(_TAG.sub(" ", _INLINE.sub("", plain)))
    plain = unicodedata.normalize("NFKC", plain).translate(_TYPOGRAPHY)
    plain = plain.replace("\u00ad", "").replace("\u200b", "").replace("\ufeff", "")
    return _SPACE.sub(" ", plain).strip()


# The comparison of two tables.

KINDS: Final = {
    "price": "price lowestPrice highestPrice wholesalePrice suggestedRetail priceCurrency",
    "stock": "inventoryLevel availability canMake",
    "title": "name title setName",
    "option": "slot choice",
    "weight": "weight parcelWeight volumetricWeight chargeableWeight",
    "size": "width height depth",
    "photo": "image alt",
    "date": "priceValidUntil availabilityStarts availabilityEnds",
    "code": "sku gtin inProductGroupWithID itemCodes",
}
_KIND_OF: Final = {name: kind for kind, names in KINDS.items() for name in names.split()}
MOST_LINES: Final = 20
"""At most so many lines of an export are named in one remark."""
_LONGER, _AT_LEAST = 10, 100  # letters; a cell so many times longer than ours is not looked at, marks and all


@dataclass(frozen=True, slots=True)
class ShownColumn:
    """One column that both sides may have: its heading, the field behind it ("" for words or a template).

    `number` is 1 for the first of a family, 0 for all of it; `unit` is the unit of weights, `day` writes days; with
    `once` only a listing's first row need have it.
    """

    heading: str
    field: str = ""
    number: int = 0
    unit: str = "g"
    once: bool = False
    day: DayText = datetime.date.isoformat
    sent: WordsOf = str

    @property
    def told(self) -> str:
        """Its name for people and scripts."""
        return f"{self.field}_{self.number}" if self.number > (self.field == "image") else self.field or self.heading

    @property
    def kind(self) -> str:
        """The kind of a difference in it."""
        return _KIND_OF.get(self.field, "text")

    def alike(self) -> Alike:
        """Return the comparison for its cells."""
        kind = FIELDS[self.field].kind if self.field in FIELDS else Kind.TEXT
        return alike(kind, self.field, unit=self.unit, day=self.day, sent=self.sent)


@dataclass(frozen=True, slots=True)
class ShownRow:
    """One row: its code, its line, a cell for each column; None where the row or the table has no such cell.

    `later` is True for a row of ours that is not its listing's first.
    """

    code: str
    line: int
    cells: tuple[str | None, ...]
    later: bool = False


@dataclass(frozen=True, slots=True)
class Differing:
    """One cell that differs; `field` is our name for it, or the heading."""

    code: str
    field: str
    ours: str
    theirs: str
    kind: str


@dataclass(frozen=True, slots=True)
class Twins:
    """A code that several of their rows have."""

    code: str
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Uncompared:
    """Something that could not be compared, and why."""

    what: str
    why: str


@dataclass(frozen=True, slots=True)
class Compared:
    """The result; `matched` counts the rows that both have, `compared` the cells of those.

    `old_codes` are those by which rows still go there, each with today's; what goes by an old code differs in nothing
    by that alone.
    """

    differences: tuple[Differing, ...] = ()
    missing_there: tuple[str, ...] = ()
    unknown_there: tuple[str, ...] = ()
    twins: tuple[Twins, ...] = ()
    not_compared: tuple[Uncompared, ...] = ()
    matched: int = 0
    compared: int = 0
    old_codes: tuple[tuple[str, str], ...] = ()

    def __bool__(self) -> bool:
        """Whether anything differs; what could not be compared is no difference by itself."""
        return bool(self.differences or self.missing_there or self.unknown_there or self.twins)

    @property
    def codes(self) -> tuple[str, ...]:
        """Our codes that are to be sent again, each once."""
        return tuple(dict.fromkeys((*(differing.code for differing in self.differences), *self.missing_there)))


def compare(
    ours: Iterable[ShownRow], theirs: Iterable[ShownRow], columns: Sequence[ShownColumn], *, absent: Sequence[int] = ()
) -> Compared:
    """Return what differs, in the order of `theirs` and then of `ours`.

    Args:
        ours: our rows, each code once.
        theirs: their rows.
        columns: the columns of both, in the order of the cells.
        absent: indices of columns that their table lacks; each is reported once.
    """
    run = _Run(columns, frozenset(absent))
    by_code = {row.code: row for row in ours}
    by_folded = {_folded(code): code for code in by_code}
    lines: dict[str, list[int]] = {}
    for row in theirs:
        code = row.code if row.code in by_code else by_folded.get(_folded(row.code), row.code.strip())
        if not code:
            run.nameless.append(row.line)
            continue
        lines.setdefault(code, []).append(row.line)
        if code in by_code:
            run.row(by_code[code], row)
    return Compared(
        differences=tuple(run.differences),
        missing_there=tuple(code for code in by_code if code not in lines),
        unknown_there=tuple(code for code in lines if code not in by_code),
        twins=tuple(Twins(code, tuple(at)) for code, at in lines.items() if len(at) > 1),
        not_compared=tuple(run.remarks()),
        matched=sum(code in by_code for code in lines),
        compared=run.compared,
    )


def _folded(code: str) -> str:
    return unicodedata.normalize("NFKC", code).strip().casefold()


@dataclass(slots=True)
class _Run:
    """One comparison at work."""

    columns: Sequence[ShownColumn]
    absent: frozenset[int]
    differences: list[Differing] = field(default_factory=list)
    nameless: list[int] = field(default_factory=list)
    short: list[int] = field(default_factory=list)
    beyond: list[int] = field(default_factory=list)
    compared: int = 0
    held: list[tuple[int, ShownColumn, Alike]] = field(init=False)

    def __post_init__(self) -> None:
        self.held = [(at, column, column.alike()) for at, column in enumerate(self.columns) if at not in self.absent]

    def row(self, ours: ShownRow, theirs: ShownRow) -> None:
        """Compare one of their rows with ours."""
        if len(self.differences) > bounds.EXPORT_DIFFERENCES:
            self.beyond.append(theirs.line)
            return
        self.compared += len(self.held)
        if ours.cells == theirs.cells:
            return
        for at, column, same in self.held:
            our_cell, their_cell = ours.cells[at], theirs.cells[at]
            if our_cell == their_cell:
                continue
            if their_cell is None or our_cell is None:
                self.compared -= 1
                if not self.short or self.short[-1] != theirs.line:
                    self.short.append(theirs.line)
            elif column.once and ours.later and not their_cell.strip():
                continue
            elif len(their_cell) > _LONGER * (len(our_cell) + _AT_LEAST) or not same(our_cell, their_cell):
                self.differences.append(Differing(ours.code, column.told, our_cell, their_cell, column.kind))

    def remarks(self) -> Iterable[Uncompared]:
        """Yield what could not be compared."""
        for at in sorted(self.absent):
            yield Uncompared(f'column "{self.columns[at].heading}"', "the export has no such column")
        if self.nameless:
            yield Uncompared(told_lines(self.nameless), "no code stands there")
        if self.short:
            yield Uncompared(told_lines(self.short), "cells are missing there")
        if self.beyond:
            yield Uncompared(told_lines(self.beyond), f"above them {bounds.EXPORT_DIFFERENCES:,} cells differ")


def told_lines(lines: Sequence[int]) -> str:
    """Return "lines 3, 5 and 9", not all of very many."""
    shown = [str(line) for line in lines[:MOST_LINES]]
    more = len(lines) - len(shown)
    if more:
        return f"lines {', '.join(shown)} and {more} more"
    return f"line {shown[0]}" if len(shown) == 1 else f"lines {', '.join(shown[:-1])} and {shown[-1]}"


def always_differs(compared: Compared, *, least: int = 5) -> tuple[str, ...]:
    """Return the fields that differ in every row: the column is probably another one, or in another unit."""
    codes: dict[str, set[str]] = {}
    for differing in compared.differences:
        codes.setdefault(differing.field, set()).add(differing.code)
    return tuple(name for name, differ in codes.items() if len(differ) >= least and len(differ) == compared.matched)
