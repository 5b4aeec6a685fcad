"""What moved, added on the desk: a sheet that was dropped, a count, what was made or broken; looked at, then written.

Whatever comes is a sheet for `listkit stock add`, also what is typed into a form. It stays in memory, the last few of
them, and is read anew whenever its page is looked at: what its columns are, before and after, what nobody knows. What
is written is what the page showed, all of it or nothing.
"""

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice
from typing import Final, get_args
from urllib.parse import urlencode

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from listkit.actions.stock import Added, MovedOnError, TwiceError, UnknownCode, add_file, stopping
from listkit.actions.stock_sheets import AddRequest, Choices, Understood
from listkit.desk import stock as room
from listkit.desk.page import Desk, in_full, page, say, sentence, text_of, went_well
from listkit.desk.sent import sent_file
from listkit.desk.shops import Dropped
from listkit.model.channel import DayForm
from listkit.problem import FieldError, Place, Problem, must_fix
from listkit.read.source import Given
from listkit.read.tally import HEADINGS, whole_number

_DROPPED: Final = Dropped()
_TYPED: Final = Dropped()
"""Sheets that come of a form: their columns are no question."""
_LONGEST_NAME: Final = 120
_SAMPLES: Final = 3
_MOST_OFFERED: Final = 400  # codes in a list to choose from; of more, one is written
_NOT_OURS: Final = "-"
_CODE, _COUNT, _COLUMN, _GUESSED = "code/", "count/", "column/", "guessed/"
_YES: Final = "yes"
_DATES: Final[tuple[DayForm, ...]] = get_args(DayForm)


@dataclass(frozen=True, slots=True)
class Asked:
    """A sheet with what was chosen for it: `columns` by their headings, None while they are as they were guessed.

    `codes` are those that nobody knows with ours, _NOT_OURS for one that is left out.
    """

    key: str
    given: Given
    place: str = ""
    day: str = ""
    date: str = ""
    columns: Mapping[str, str] | None = None
    codes: Mapping[str, str] = field(default_factory=dict)
    again: bool = False

    @property
    def address(self) -> str:
        """Where its page is."""
        return f"{room.ADDRESS}/add/{self.key}"

    def request(self, desk: Desk, *, look: bool) -> AddRequest:
        """Return what is asked of `add_file`."""
        chosen = {heading: meaning for heading, meaning in (self.columns or {}).items() if meaning}
        codes = {theirs: ours for theirs, ours in self.codes.items() if ours != _NOT_OURS}
        not_ours = tuple(theirs for theirs in self.codes if theirs not in codes)
        date = next((form for form in _DATES if form == self.date), None)
        return AddRequest(
            self.given,
            desk.now(),
            desk.today(),
            day=room.day_named(self.day),
            place=self.place,
            again=self.again,
            look=look,
            choices=Choices(chosen, date, codes, not_ours),
        )


@dataclass(frozen=True, slots=True)
class ColumnRow:
    """A column of the sheet: its heading, what it is taken for, "" where it is not looked at, and some of its cells."""

    heading: str
    meaning: str
    cells: tuple[str, ...]


# What comes


def take(desk: Desk, request: Request, form: FormData) -> Response:
    """Take a sheet that was dropped, and show what is in it."""
    sent = sent_file(form, "sheet")
    if sent is None:
        return room.show(desk, request, fault=say("stock.no_file"))
    return _looked_at(desk, _DROPPED.keep(sent), place=text_of(form, "place"))


def _looked_at(desk: Desk, key: str, *, place: str = "") -> Response:
    query = f"?{urlencode({'place': place[:_LONGEST_NAME]})}" if place else ""
    return went_well(desk, f"{room.ADDRESS}/add/{key}{query}")


def _kept(key: str) -> Given | None:
    return _DROPPED.get(key) or _TYPED.get(key)


def count(desk: Desk, request: Request, form: FormData) -> Response:
    """Take the counts that were typed, those that are left empty aside."""
    counts = {name.removeprefix(_COUNT): text_of(form, name) for name in form if name.startswith(_COUNT)}
    counts = {code: text for code, text in counts.items() if text}
    typed = {**{f"{_COUNT}{code}": text for code, text in counts.items()}, "day": text_of(form, "day")}
    try:
        if not counts:
            raise FieldError(say("stock.none_counted"))
        rows = [(code, _number(text, code, least=0)) for code, text in counts.items()]
    except FieldError as fault:
        return _form_again(desk, request, form, typed=typed, fault=fault)
    return _looked_at(desk, _TYPED.keep(_sheet_of(desk, form, "counted", rows)))


def by_hand(desk: Desk, request: Request, form: FormData) -> Response:
    """Take what was made, broken, given ... of one code."""
    typed = {name: text_of(form, name) for name in ("code", "kind", "quantity", "day", "place", "note")}
    kind = typed["kind"] if typed["kind"] in room.BY_HAND else room.BY_HAND[0]
    try:
        if not typed["code"]:
            raise FieldError(say("stock.no_code"))
        rows = [(typed["code"], _number(typed["quantity"], typed["code"], least=1))]
    except FieldError as fault:
        return _form_again(desk, request, form, typed=typed, fault=fault)
    return _looked_at(desk, _TYPED.keep(_sheet_of(desk, form, kind, rows)), place=typed["place"])


def _form_again(
    desk: Desk, request: Request, form: FormData, *, typed: Mapping[str, str], fault: FieldError
) -> Response:
    says = in_full(fault)
    if text_of(form, "of"):
        return room.show_code(desk, request, code=text_of(form, "of"), typed=typed, fault=says)
    return room.show(desk, request, typed=typed, fault=says)


def _number(text: str, code: str, *, least: int) -> int:
    number = whole_number(text) if text else -1
    if number < least:
        raise FieldError(say("stock.too_few", code=code, least=least))
    return number


def _sheet_of(desk: Desk, form: FormData, kind: str, rows: Sequence[tuple[str, int]]) -> Given:
    """Return what a form says as a sheet; the time in it makes it another one than the same typed later."""
    written = io.StringIO(newline="")
    sheet = csv.writer(written)
    sheet.writerow(("code", kind, "day", "note", "typed"))
    when, day, note = desk.now().isoformat(), text_of(form, "day"), text_of(form, "note")[:_LONGEST_NAME]
    sheet.writerows((code, number, day, note, when) for code, number in rows)
    name = say("stock.your_count") if kind == "counted" else say("stock.your_note")
    return Given(f"{name}.csv", written.getvalue().encode())


# What would be written


def show(desk: Desk, request: Request) -> Response:
    """Return how a sheet was understood, and what it would change."""
    key = request.path_params["key"]
    given = _kept(key)
    if given is None:
        return page(desk, request, "shelf", template="nothing", status=404)
    return _page(desk, request, Asked(key, given, place=request.query_params.get("place", "")[:_LONGEST_NAME]))


def decide(desk: Desk, request: Request, form: FormData) -> Response:
    """Look at a sheet again with what was chosen, or write it as its page showed it."""
    key = request.path_params["key"]
    given = _kept(key)
    if given is None:
        return page(desk, request, "shelf", template="nothing", status=404)
    asked, seen = _asked(key, given, form), desk.shop_state.look()
    if text_of(form, "do") != "write" or stopping(seen.opened):
        return _page(desk, request, asked)
    stock = room.stock_of_desk(seen, guarded=True)
    try:
        added = add_file(stock, asked.request(desk, look=True))
        if added.stopped or room.digest_of_added(added, stock) != text_of(form, "shown"):
            return _page(desk, request, asked, moved=not added.stopped)
        done = add_file(stock, asked.request(desk, look=False))
    except MovedOnError:
        return _page(desk, request, asked, moved=True)
    except TwiceError:
        return _page(desk, request, asked)
    return went_well(desk, room.batch_address(done.batch), say("stock.added", count=len(done.moves)))


def _asked(key: str, given: Given, form: FormData) -> Asked:
    """Return what a form chose for a sheet; columns only where they are not as its page had guessed them."""

    def sent(prefix: str) -> dict[str, str]:
        return {name.removeprefix(prefix): text_of(form, name) for name in form if name.startswith(prefix)}

    columns, place, date = sent(_COLUMN), text_of(form, "place")[:_LONGEST_NAME], text_of(form, "date")
    asks = text_of(form, "asks") == _YES and place == text_of(form, "guessed_place")
    chosen = asks or text_of(form, "chosen") == _YES or columns != sent(_GUESSED) or bool(date)
    return Asked(
        key,
        given,
        place=place,
        day=text_of(form, "day"),
        date=date,
        columns=columns if chosen else None,
        codes={theirs: ours for theirs, ours in sent(_CODE).items() if ours},
        again=text_of(form, "again") == _YES,
    )


def _page(desk: Desk, request: Request, asked: Asked, *, moved: bool = False) -> Response:
    seen = desk.shop_state.look()
    stock, stops = room.stock_of_desk(seen), stopping(seen.opened)
    added, twice, fault = None, "", ""
    try:
        added = add_file(stock, asked.request(desk, look=True))
    except TwiceError as again:
        twice = again.batch
        added = add_file(stock, replace(asked, again=True).request(desk, look=True))
    except FieldError as refused:
        fault = in_full(refused)
    sheet = added.sheet if added is not None else Understood()
    asks = tuple(_doubts(sheet)) if added is not None and not added.moves else ()
    problems = tuple(_to_settle(added, asked.given.name, asks)) if added is not None else ()
    is_typed = _TYPED.get(asked.key) is not None
    writes = added is not None and bool(added.moves) and not stops and not twice
    return page(
        desk,
        request,
        "shelf",
        template="stock_add",
        asked=asked,
        fault=fault,
        moved=moved,
        twice=room.batch_address(twice) if twice else "",
        asks=asks,
        title=sentence(asked.given.name.removesuffix(".csv")) if is_typed else asked.given.name,
        is_typed=is_typed,
        columns=() if is_typed else tuple(_columns(sheet)),
        rows=len(sheet.rows),
        unknown=tuple(_unknown(added, asked)) if added is not None else (),
        must=(*stops, *(each for each in problems if must_fix((each,)))),
        look=tuple(each for each in problems if not must_fix((each,))),
        changes=tuple(room.changes_of(added, stock)) if added is not None else (),
        counts=room.counts_of(added.variances, stock) if added is not None and added.variances else None,
        writes=writes,
        shown=room.digest_of_added(added, stock) if added is not None and writes else "",
        not_ours=_NOT_OURS,
        meanings=(*HEADINGS,),
        dates=_DATES,
        most=_MOST_OFFERED,
        status=422 if fault else 409 if moved else 200,
        **room.choices_of(stock),
    )


def _columns(sheet: Understood) -> Iterator[ColumnRow]:
    """Yield the columns with headings; cells only of those that are looked at, or may be."""
    headings = sheet.cells[sheet.header] if sheet.cells else ()
    doubtful = {heading for _, each in (sheet.draft.doubts if sheet.draft else ()) for heading in each}
    for at, heading in enumerate(headings):
        if not heading:
            continue
        meaning = sheet.meanings.get(at, "")
        looked_at = bool(meaning) or heading in doubtful
        cells = (row[at] for row in sheet.cells[sheet.header + 1 :] if at < len(row) and row[at])
        yield ColumnRow(heading, meaning, tuple(islice(cells, _SAMPLES)) if looked_at else ())


def _doubts(sheet: Understood) -> Iterator[str]:
    """Yield what must be chosen of a sheet before any row of it can be read."""
    if sheet.rows or not sheet.cells:
        return
    for what, headings in sheet.draft.doubts if sheet.draft else ():
        field_name = say(f"stock.column.{what}")
        if not headings:
            yield say("stock.doubt_none", what=field_name)
        elif len(headings) == 1:
            yield say("stock.doubt_days", heading=headings[0])
        else:
            yield say("stock.doubt", what=field_name, headings=", ".join(headings))
    if sheet.draft is None or sheet.draft.sure:
        yield say("stock.doubt_columns")


def _to_settle(added: Added, file: str, asks: Sequence[str]) -> Iterator[Problem]:
    """Yield what is told of a sheet, less what the page asks about by choosing."""
    asked_of = {place for unknown in added.unknown for place in unknown.rows}
    for each in added.problems:
        if each.place not in asked_of and not (asks and each.place == Place(file)):
            yield each


def _unknown(added: Added, asked: Asked) -> Iterator[tuple[UnknownCode, str]]:
    """Yield the codes that nobody knows and those that were chosen, with what was chosen or has that name."""
    unknown = {each.code: each for each in added.unknown}
    for code in dict.fromkeys((*asked.codes, *unknown)):
        each = unknown.get(code, UnknownCode(code, (), ()))
        yield each, asked.codes.get(code) or (each.near[0] if each.named and len(each.near) == 1 else "")
