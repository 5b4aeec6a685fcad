"""How a sheet of what moved is understood: by our own headings, as its place's [sales] say, as learnt, or as chosen.

What was chosen or learnt of a place's export is kept in the place's file, so that it is asked for once.
"""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final, get_args

from pydantic import ValidationError

from listkit.compute.movements import Goods
from listkit.edit.past import opened
from listkit.edit.past_lines import FileChange, digest_of
from listkit.edit.toml import with_value
from listkit.learn.sales import SalesDraft, learn_sales
from listkit.listing.day_words import day_words, market_headings
from listkit.model.channel import Channel, DayForm, Sales, SalesField
from listkit.model.shop import Shop
from listkit.problem import FieldError, Place, Problem, must_fix, quoted
from listkit.read.source import Given, read_named
from listkit.read.tally import ALONG, HEADINGS, TALLY, Headings, Tally, TallyRow, read_tally
from listkit.read.wording import listed

_KEPT: Final = frozenset(get_args(SalesField))
"""What [sales] can say of a column."""


@dataclass(frozen=True, slots=True)
class Choices:
    """What the owner decided of a sheet herself: its columns by their headings, how it writes days, codes.

    `codes` are those of the sheet with ours, `not_ours` those whose rows are left out. Where the sheet is a place's,
    all of it is kept in the file of the place as [sales], as far as that can say it.
    """

    columns: Mapping[str, str] = field(default_factory=dict)
    date: DayForm | None = None
    codes: Mapping[str, str] = field(default_factory=dict)
    not_ours: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class AddRequest:
    """A file to add, and what holds for rows that do not say it: the day and the place.

    `again` takes a file that was added before; with `look` nothing is written. `now` is when a file changes.
    """

    file: Given
    now: datetime.datetime
    today: datetime.date
    day: datetime.date | None = None
    place: str = ""
    again: bool = False
    look: bool = False
    choices: Choices = field(default_factory=Choices)


@dataclass(frozen=True, slots=True)
class Understood:
    """How a sheet was understood: its rows, `meanings` of its columns by their places, and what is not sure.

    `rows` are all that it says, `cells` all there is, the headings in row `header`. `sales` is what is to be kept of it
    in the file of its place, None for a sheet that is no place's own.
    """

    rows: tuple[TallyRow, ...] = ()
    cells: tuple[tuple[str, ...], ...] = ()
    header: int = 0
    meanings: Mapping[int, str] = field(default_factory=dict)
    draft: SalesDraft | None = None
    sales: Sales | None = None


def understood(
    shop: Shop, goods: Goods, request: AddRequest, channel: Channel | None
) -> tuple[Understood, list[Problem]]:
    """Return the sheet as the owner says, else as its place's [sales] say, else by our own headings, else as learnt."""
    file, content, choices = request.file.name, request.file.content, request.choices
    sales = channel.sales if channel is not None and channel.sales is not None else Sales()
    kept = _with_choices(sales, choices) if channel is not None else None
    if choices.columns:
        chosen, problems = read_tally(file, content, _headings(choices.columns), choices.date)
        return _sheet(chosen, kept), problems if chosen.known else [*problems, _not_understood(file, chosen)]
    plain, problems = read_tally(file, content, _own_headings(shop))
    if ALONG in plain.columns:
        return _sheet(plain, kept), problems
    if sales.columns:
        theirs, faults = read_tally(file, content, _headings(sales.columns), sales.date)
        if theirs.known:
            return _sheet(theirs, kept), faults
    asks_day = plain.known and bool(plain.days) and request.day is None
    if (plain.known and not asks_day) or (must_fix(problems) and not plain.cells):
        return _sheet(plain, kept), problems
    codes = frozenset((*sales.codes, *sales.not_ours, *choices.codes, *choices.not_ours))
    draft = learn_sales(plain.cells, lambda cell: cell in codes or goods.find(cell) is not None)
    headings = plain.cells[draft.header] if plain.cells else ()
    meanings = {headings.index(heading): what for heading, what in draft.columns}
    if channel is not None and draft.sure:
        columns = dict(draft.columns)
        tally, problems = read_tally(file, content, _headings(columns), draft.date)
        return _sheet(tally, _with_choices(sales, replace(choices, columns=columns, date=draft.date))), problems
    unread = Understood((), plain.cells, draft.header, meanings, draft)
    return unread, [_doubtful(file, channel, draft) if channel is not None else _not_understood(file, plain)]


def _sheet(tally: Tally, sales: Sales | None = None) -> Understood:
    meanings = {at: what for what, at in tally.columns.items()}
    return Understood(tally.rows, tally.cells, tally.header, meanings, sales=sales)


def _with_choices(sales: Sales, choices: Choices) -> Sales | None:
    """Return what a place's file is to say of its sales with what was chosen, None where that changes nothing.

    Raises:
        FieldError: a code was chosen that no file can hold.
    """
    columns = choices.columns if set(choices.columns.values()) <= _KEPT else {}
    changed = {
        "columns": columns and dict(columns),
        "date": columns and choices.date,
        "codes": choices.codes and {**sales.codes, **choices.codes},
        "not_ours": choices.not_ours and tuple(dict.fromkeys((*sales.not_ours, *choices.not_ours))),
    }
    stated = {name: value for name, value in changed.items() if value}
    try:
        after = Sales.model_validate({**sales.model_dump(exclude_unset=True), **stated})
    except ValidationError as faults:
        raise FieldError(f"this cannot be kept for the place: {faults.errors()[0]['msg']}.") from None
    return after if after != sales else None


def _not_understood(file: str, tally: Tally) -> Problem:
    if tally.known:
        message = f"the column {quoted(tally.days)} has days, and is not called so."
        return Problem(Place(file), TALLY, message, "Call it day; or name the day of all rows with --day.")
    message = "no row of it names a code and how many."
    hint = "Write a first row with code and quantity; or name the place whose sales it has with --place."
    return Problem(Place(file), TALLY, message, hint)


def _own_headings(shop: Shop) -> Headings:
    """Return what columns are called in sheets of ours: also in the words of the shop's language."""
    words = day_words(shop.templates, shop.settings.language)[0]
    printed = {ours: heading for heading, ours in market_headings(words.market) if ours} if words else {}
    return {ours: (*said, *((printed[ours],) if ours in printed else ())) for ours, said in HEADINGS.items()}


def _headings(columns: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
    return {ours: tuple(theirs for theirs, each in columns.items() if each == ours) for ours in columns.values()}


def _doubtful(file: str, channel: Channel, draft: SalesDraft) -> Problem:
    """Return the question that a draft leaves, with the lines to write."""
    asked = []
    for what, headings in draft.doubts:
        if not headings:
            asked.append(f"no column is surely the {what}")
        elif len(headings) == 1:
            asked.append(f"{quoted(headings[0])} may have the day first or the month")
        elif len(set(headings)) == 1:
            asked.append(f"{len(headings)} columns are called {quoted(headings[0])}, and one of them is the {what}")
        else:
            asked.append(f"the {what} may be {listed(map(quoted, headings))}")
    sure = [f"{quoted(heading)} = {quoted(what)}" for heading, what in draft.columns]
    sure += [f'"?" = {quoted(what)}' for what, headings in draft.doubts if len(headings) != 1]
    hint = f"Write it under [sales] in channels/{channel.key}.toml: columns = {{ {', '.join(sure)} }}"
    hint += f', and date = "{draft.date}" as it is.' if any(len(each[1]) == 1 for each in draft.doubts) else "."
    return Problem(Place(file), TALLY, f"{'; '.join(asked)}.", hint)


def keep_sales(root: Path, channel: Channel, sales: Sales, now: datetime.datetime) -> None:
    """Write how the place's sales are read into its file: what of it is new."""
    path = f"channels/{channel.key}.toml"
    content = read_named(root / path).content
    before, after = (each.model_dump(mode="json") for each in (channel.sales or Sales(), sales))
    new = content
    for name, value in after.items():
        if value != before[name] or (name == "date" and after["columns"] != before["columns"]):
            new = with_value(new, ("sales", name), value)
    with opened(root) as past:
        past.write(
            [FileChange(path, digest_of(content), new)],
            what=f"how the sales of {channel.name} are read",
            when=now,
        )
