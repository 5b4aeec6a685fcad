"""Reads what `listkit stock add` takes: a stall's tally, a count, what was made, or a place's export of its sales.

CSV, XLSX and ODS. A row names a code and how many: in a column for each kind of movement, or in one for all of them.
What stands beside (buyers' names, addresses, prices) is not looked at, and no message repeats it.
"""

import dataclasses
import datetime
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final

from listkit.model.channel import DayForm
from listkit.model.movements import MOVE_KINDS, MoveKind
from listkit.problem import FieldError, Place, Problem, in_our_time, quoted
from listkit.read.movements import parse_day
from listkit.read.odd_rows import error_words
from listkit.read.sheet import Row, Sheet, read_sheet
from listkit.read.wording import COUNTED_DIGITS, listed, write_instead
from listkit.read.workbook_parts import FAILED

TALLY: Final = "stock-added"
"""The code of what is wrong with such a file."""
ALONG: Final = "taken along"
Headings = Mapping[str, tuple[str, ...]]
"""What a column is called, by what it is: "code", "quantity", "day", "kind", "place", "note", or a kind of movement."""
HEADINGS: Final[Headings] = {
    "code": ("code", "sku", "variant", "set", "item", "item number", "référence"),
    "quantity": ("quantity", "qty", "how many", "pieces", "number", "count", "units", "quantité", "nombre"),
    "kind": ("kind", "what", "movement", "type"),
    "day": ("day", "date", "jour"),
    "place": ("place", "where", "channel"),
    "note": ("note", "notes", "remark", "remarks"),
    ALONG: (ALONG, "took along", "brought along"),
    **{kind: (kind,) for kind in MOVE_KINDS},
    "taken": ("taken", "tester", "testers"),
}
_NEEDED: Final = frozenset({"quantity", "kind", ALONG, *MOVE_KINDS})
_SIGNS: Final = re.compile(r"[\W_]+")
_WHOLE: Final = re.compile(rf"[-−+]?\d{{1,{COUNTED_DIGITS}}}(?:[.,]0+)?", re.ASCII)
_MOST: Final = 1_000_000
_BACK: Final[dict[str, MoveKind]] = {"sold": "came back"}
_LEAVES: Final[tuple[MoveKind, ...]] = ("sold", "came back", "broken", "given", "taken")
_DAY_FORMS: Final[dict[DayForm, str]] = {
    "2027-02-28": "%Y-%m-%d", "28.02.2027": "%d.%m.%Y", "28/02/2027": "%d/%m/%Y", "28-02-2027": "%d-%m-%Y",
    "02/28/2027": "%m/%d/%Y", "20270228": "%Y%m%d",
}  # fmt: skip
_DOTTED: Final[tuple[DayForm, ...]] = ("28.02.2027",)
_EITHER: Final[tuple[DayForm, ...]] = ("28/02/2027", "02/28/2027")
_LIKE_A_DAY: Final = re.compile(r"(\d{4}-\d{1,2}-\d{1,2}|\d{1,2}[./-]\d{1,2}[./-]\d{4})(?!\d)", re.ASCII)
_ONE_OR_OTHER: Final = re.compile(r"\d{1,2}[/-]\d{1,2}[/-]\d{4}", re.ASCII)


@dataclass(frozen=True, slots=True)
class TallyRow:
    """What a row says moved of a code; `day` and `place` where it says them."""

    at: Place
    code: str
    moved: tuple[tuple[MoveKind, int], ...]
    day: datetime.date | None = None
    place: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Tally:
    """A sheet as it was understood: its rows; `known` is False where nobody knows its headings.

    `cells` are all of it, `header` is the row of headings among them, `columns` has which column is what; `days` is
    the heading of days that are not called so.
    """

    rows: tuple[TallyRow, ...] = ()
    known: bool = True
    cells: tuple[tuple[str, ...], ...] = ()
    header: int = 0
    columns: Mapping[str, int] = dataclasses.field(default_factory=dict)
    days: str = ""


def read_tally(
    file: str, content: bytes, headings: Headings = HEADINGS, date: DayForm | None = None
) -> tuple[Tally, list[Problem]]:
    """Return what a sheet says and what is wrong with it; `date` is how it writes days, where that is known."""

    def understood(rows: Iterable[Row]) -> tuple[int, ...]:
        return (max((len(columns_of(row, headings)) for row in rows), default=0), max_cells(rows))

    def max_cells(rows: Iterable[Row]) -> int:
        return max((len(row.cells) for row in rows), default=0)

    sheet, problems = read_sheet(file, content, lambda rows: understood(tuple(rows)))
    problems = [Problem(each.place, TALLY, each.message, each.hint) for each in problems]
    if sheet is None:
        return Tally(), problems
    header = next((row for row in sheet.rows if _names_enough(columns_of(row, headings))), None)
    cells = tuple(tuple(cell.text for cell in row.cells) for row in sheet.rows)
    if header is None:
        return Tally(known=False, cells=cells), problems
    columns = columns_of(header, headings)
    days = [row.text(columns["day"]) for row in sheet.rows if row.line > header.line] if "day" in columns else []
    twice = _counted_twice(header, headings, columns)
    reading = _Reading(sheet, header, columns, date or _day_form(days), twice)
    rows = tuple(filter(None, (reading.row(row, problems) for row in sheet.rows if row.line > header.line)))
    if not rows and not problems:
        problems.append(Problem(Place(file), TALLY, "no row says how many of anything.", "Write a number in a row."))
    at = sheet.rows.index(header)
    return Tally(rows, cells=cells, header=at, columns=columns, days=reading.other_days()), problems


def _day_form(cells: Iterable[str]) -> DayForm | None:
    """Return the one form in which all days are that may have the day first or the month; None where either fits."""
    doubtful = [plain for cell in cells if _ONE_OR_OTHER.fullmatch(plain := _plain_day(cell))]
    fitting = [form for form in _EITHER if all(_parsed(cell.replace("-", "/"), form) for cell in doubtful)]
    if not doubtful or len(fitting) != 1:
        return None
    return "28-02-2027" if "-" in doubtful[0] and fitting == ["28/02/2027"] else fitting[0]


def _plain_day(cell: str) -> str:
    return re.split(r"[T ]", cell.strip(), maxsplit=1)[0]


def _parsed(text: str, form: DayForm) -> datetime.date | None:
    try:
        return datetime.datetime.strptime(text, _DAY_FORMS[form]).date()  # noqa: DTZ007 - a day has no zone
    except ValueError:
        return None


def columns_of(row: Row, headings: Headings) -> dict[str, int]:
    """Return which column of a row of headings is what: the one called by its first name, else the first of any."""
    names = [_folded(cell.text) for cell in row.cells]
    places: dict[str, int] = {}
    for field, known in headings.items():
        called = [_folded(name) for name in known]
        likely = [at for at, name in enumerate(names) if name in called and at not in places.values()]
        if likely:
            places[field] = next((at for at in likely if names[at] == called[0]), likely[0])
    return places


def _counted_twice(row: Row, headings: Headings, columns: Mapping[str, int]) -> dict[str, tuple[int, ...]]:
    """Return which more columns of a row of headings are called as one of numbers is.

    A quantity that is called so is one; beside it, a "number" may be of anything.
    """
    names, twice = [_folded(cell.text) for cell in row.cells], dict[str, tuple[int, ...]]()
    for field in (*MOVE_KINDS, ALONG, "quantity"):
        called = {_folded(name) for name in headings.get(field, ())}
        if field in columns and field == "quantity" == names[columns[field]]:
            called = {field}
        more = tuple(at for at, name in enumerate(names) if name in called and at not in columns.values())
        twice |= {field: more} if field in columns and more else {}
    return twice


def _folded(heading: str) -> str:
    return _SIGNS.sub(" ", heading.casefold()).strip()


def _names_enough(columns: Mapping[str, int]) -> bool:
    return "code" in columns and not _NEEDED.isdisjoint(columns)


@dataclass(frozen=True, slots=True)
class _Reading:
    """One sheet while its rows are read."""

    sheet: Sheet
    header: Row
    columns: Mapping[str, int]
    date: DayForm | None
    twice: Mapping[str, tuple[int, ...]]

    def row(self, row: Row, problems: list[Problem]) -> TallyRow | None:
        """Return what a row says; None for one without numbers, or with a problem that is added."""
        texts = {field: row.text(at) for field, at in self.columns.items()}
        code = texts["code"]
        numbers = [field for field in (*MOVE_KINDS, ALONG, "quantity") if texts.get(field, "")]
        numbers += [field for field, more in self.twice.items() if field not in numbers and any(map(row.text, more))]
        if not numbers:
            return None
        heading = self.header.text(self.columns[numbers[0]])
        place = Place(self.sheet.file, row.line, code[:60] or f"{row.line}", heading)
        try:
            failed = [at for at in self.columns.values() if at < len(row.cells) and row.cells[at].turned == FAILED]
            if failed:
                place = replace(place, column=self.header.text(failed[0]))
                raise FieldError(*error_words(row.text(failed[0])))
            self._refuse_two(row)
            if not code:
                raise FieldError("the row names no code.", "Write it, or take the number out.")
            moved = tuple((kind, number) for kind, number in self._moved(texts) if number or kind == "counted")
            day = day_in(texts.get("day", ""), self.date)
        except FieldError as fault:
            problems.append(Problem(place, TALLY, fault.message, fault.hint))
            return None
        named = texts.get("place", ""), texts.get("note", "")
        return TallyRow(place, code, moved, day, *named)

    def _refuse_two(self, row: Row) -> None:
        """Refuse a row that says two numbers of one thing: the second would be lost."""
        for field, more in self.twice.items():
            first = self.columns[field]
            for at in more:
                if row.text(at) not in ("", row.text(first)):
                    both = f"{quoted(self.header.text(first))} and {quoted(self.header.text(at))}"
                    says = f"{quoted(row.text(first))} and {quoted(row.text(at))}"
                    hint = "Add the two up in one column, or call the other something else."
                    raise FieldError(f"{both} are two columns of the same, and say {says}.", hint)

    def other_days(self) -> str:
        """Return the heading of a column that holds days and is not called so, "" where the day is named or none is."""
        below = [row for row in self.sheet.rows if row.line > self.header.line]
        for at, heading in enumerate(self.header.cells if "day" not in self.columns else ()):
            cells = [text for row in below if (text := row.text(at))]
            if cells and at not in self.columns.values() and all(map(_LIKE_A_DAY.match, cells)):
                return heading.text
        return ""

    def _moved(self, texts: Mapping[str, str]) -> Iterable[tuple[MoveKind, int]]:
        """Return what moved, from whatever columns there are; what came back and is a sale's minus is plus."""
        stated = {kind: whole_number(texts[kind]) for kind in MOVE_KINDS if texts.get(kind)}
        if texts.get(ALONG):
            return _at_the_stall(whole_number(texts[ALONG]), stated).items()
        if texts.get("quantity"):
            kind = self._kind(texts.get("kind", ""))
            stated[kind] = stated.get(kind, 0) + whole_number(texts["quantity"])
        return tuple(_signed(kind, number) for kind, number in stated.items())

    def _kind(self, text: str) -> MoveKind:
        """Return the kind that a cell names; a sale where nothing does."""
        plain = _folded(text)
        kind = next((kind for kind in MOVE_KINDS if kind == plain), None)
        if kind is None and plain:
            raise FieldError(
                f"there is no kind {quoted(text)}.", write_instead(plain, MOVE_KINDS) or f"Write {listed(MOVE_KINDS)}."
            )
        return kind or "sold"


def _signed(kind: MoveKind, number: int) -> tuple[MoveKind, int]:
    if number >= 0:
        return kind, number
    if kind not in _BACK:
        raise FieldError(f"{number} {kind} is less than nothing.", "Only what is sold may be: it came back.")
    return _BACK[kind], -number


def _at_the_stall(along: int, stated: Mapping[MoveKind, int]) -> dict[MoveKind, int]:
    """Return what was sold, broken, given and taken of what was taken along; the rest came home and never moved.

    Raises:
        FieldError: what left the stall is not what was brought to it.
    """
    stated = dict(stated)
    if "sold" not in stated and "came back" in stated:
        stated["sold"] = along - sum(number for kind, number in stated.items() if kind in _LEAVES)
    left = {kind: stated.get(kind, 0) for kind in _LEAVES}
    if "came back" not in stated:
        left["came back"] = along - sum(left.values())
    if sum(left.values()) != along or min(left.values()) < 0 or along < 0:
        sums = [number for number in left.values() if number > 0]
        parts = listed([f"{number} {kind}" for kind, number in left.items() if number > 0], "and")
        message = f"{along} were taken along, and {parts} make {sum(sums)}." if len(sums) > 1 else (
            f"{along} were taken along, and {parts or 'nothing came back'}."
        )  # fmt: skip
        raise FieldError(message, "Count again; what is missing is broken, given or a tester.")
    return {kind: number for kind, number in left.items() if kind != "came back"}


def whole_number(text: str) -> int:
    """Return the number that a cell says.

    Raises:
        FieldError: it says none, or part of a piece.
    """
    plain = text.replace(" ", "").lstrip("'")
    if not _WHOLE.fullmatch(plain):
        raise FieldError(f"{quoted(text)} is no number of pieces.", "Write a whole number, as in 3.")
    number = int(re.split("[.,]", plain.replace("−", "-"))[0])
    if abs(number) > _MOST:
        raise FieldError(f"{quoted(text)} is more than anybody has.", "Is it the right column?")
    return number


def day_in(text: str, form: DayForm | None) -> datetime.date | None:
    """Return the day in a cell, None for an empty one; a time of day behind it is passed over.

    Raises:
        FieldError: it is no day, or its day and month could change places.

    >>> day_in("05/12/2026 14:30", "28/02/2027")
    datetime.date(2026, 12, 5)
    """
    if not text:
        return None
    plain = _plain_day(text)
    if form is None and _ONE_OR_OTHER.fullmatch(plain):
        hint = "Take the column out and name the day with --day, or write it as 2026-12-05."
        raise FieldError(f"{quoted(text)} may have the day first or the month.", hint)
    for pattern in (form or "2027-02-28", *(() if form else _DOTTED)):
        if day := _parsed(plain, pattern):
            return in_our_time(day)
    return parse_day(text)
