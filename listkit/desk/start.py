"""The start page, while there is no shop: a small one to try, or one around the owner's own sheet."""

import hashlib
import threading
from collections.abc import Callable, Mapping, Sequence
from functools import wraps
from pathlib import Path
from typing import Final

from slugify import slugify
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from listkit.actions.learn import ColumnChoice
from listkit.actions.own_sheet import (
    Decided,
    SheetRead,
    column_choices,
    column_meanings,
    decide_columns,
    make_shop_around,
    understand_sheet,
    units_to_choose,
)
from listkit.desk.column_words import add_words, asked, sheet_help, sheet_word
from listkit.desk.countries import countries_like, country_code
from listkit.desk.page import Desk, any_of, in_full, page, say, text_of, went_well
from listkit.desk.sent import sent_file
from listkit.desk.shelf import is_read_only
from listkit.edit.starter import copy_starter
from listkit.paths import is_device
from listkit.problem import FieldError
from listkit.shipped import shipped_templates
from listkit.units.money import MINOR_DIGITS

LEFT_ALONE: Final = "-"
"""What a form sends for a column that is to be left alone; "" is one that is not decided."""
_STARTER_DIGITS: Final = 2  # the small shop's prices are in hundredths
_MAKING: Final = threading.Lock()  # two pages may each make one, in their own way
Change = Callable[[Desk, Request, FormData], Response]
_COMMON: Final = ("GBP", "EUR", "USD", "CAD", "AUD", "NZD", "CHF", "SEK", "NOK", "DKK", "PLN", "CZK")


def show(desk: Desk, request: Request, *, fault: str = "", stated: Mapping[str, str] | None = None) -> Response:
    """Return the page on which a shop begins, with what was typed before."""
    return page(
        desk,
        request,
        "start",
        fault=fault,
        stated={"name": "", "currency": "", "country": "", **(stated or {})},
        currencies=[*_COMMON, *sorted(set(MINOR_DIGITS) - set(_COMMON))],
        where=desk.folder,
        status=422 if fault else 200,
    )


def _one_at_a_time(make: Change) -> Change:
    """Return a form that makes a shop such that one is made at a time, and none once one is open."""

    @wraps(make)
    def made(desk: Desk, request: Request, form: FormData) -> Response:
        with _MAKING:
            return _there_already(desk) if desk.state is not None else make(desk, request, form)

    return made


@_one_at_a_time
def make_small(desk: Desk, request: Request, form: FormData) -> Response:
    """Make the small shop with the owner's name, currency and country, and open it."""
    stated = _stated(form)
    try:
        _refuse(stated)
        if MINOR_DIGITS[stated["currency"]] != _STARTER_DIGITS:
            raise FieldError(say("start.other_digits", currency=stated["currency"]))
        folder = _folder(desk, stated["name"])
        copy_starter(shipped_templates() / "new_shop", folder, stated)
    except FieldError as fault:
        return show(desk, request, fault=in_full(fault), stated=stated)
    desk.open_shop(folder)
    return went_well(desk, "/today", say("start.made", folder=folder))


def take_sheet(desk: Desk, request: Request, form: FormData) -> Response:
    """Read the sheet that was dropped on the page, and show its columns."""
    stated = _stated(form)
    try:
        sheet = sent_file(form, "sheet")
        if sheet is None:
            return show(desk, request, fault=say("start.no_sheet"), stated=stated)
        read = desk.sheet = understand_sheet(sheet.name, sheet.content)
    except FieldError as fault:
        return show(desk, request, fault=in_full(fault), stated=stated)
    return _columns(desk, request, read, stated=stated)


def show_columns(desk: Desk, request: Request) -> Response:
    """Return the sheet's columns again; without a sheet the start."""
    read = desk.sheet  # another page may drop another, or open a shop
    return _columns(desk, request, read, stated={}) if read else RedirectResponse("/start", 303)


def _columns(
    desk: Desk,
    request: Request,
    read: SheetRead,
    *,
    stated: Mapping[str, str],
    chosen: Mapping[int, str] | None = None,
    fault: str = "",
) -> Response:
    choices = column_choices(read)
    guessed = read.currency.code
    return page(
        desk,
        request,
        "start",
        template="columns",
        fault=fault,
        read=read,
        file=read.file,
        rows=len(read.samples),
        columns=[asked(choice, sheet_word) for choice in choices],
        mark=columns_mark(read.file, choices, read.content),
        chosen=chosen or {},
        every=[says for says, _ in column_meanings()],
        called=sheet_word,
        means=sheet_help,
        missing=[
            say("columns.codes_made")
            if each.field == "code" and not is_read_only(read.file)
            else add_words(each, read.file)
            for each in decide_columns(read).lacking
        ],
        left_alone=LEFT_ALONE,
        stated={"name": "", "country": "", **stated, "currency": stated.get("currency") or guessed},
        currencies=[*_COMMON, *sorted(set(MINOR_DIGITS) - set(_COMMON))],
        status=422 if fault else 200,
    )


@_one_at_a_time
def make_own(desk: Desk, request: Request, form: FormData) -> Response:
    """Make the shop around the sheet with what was chosen for its columns, and open it."""
    read, stated = desk.sheet, _stated(form)
    if read is None:
        return RedirectResponse("/start", 303)
    choices = column_choices(read)
    if is_of_another(form, columns_mark(read.file, choices, read.content)):
        return _columns(desk, request, read, stated=stated, fault=say("columns.moved"))
    chosen = {at: says for at, says in chosen_in(form, len(choices)).items() if choices[at].heading}
    decided = {choices[at].heading: "" if says == LEFT_ALONE else says for at, says in chosen.items()}
    try:
        _refuse(stated)
        _refuse_columns(read, decided)
        folder = _folder(desk, stated["name"])
        make_shop_around(read, folder, Decided(**stated, columns=decided))
    except FieldError as fault:
        told = in_full(fault)
        return _columns(desk, request, read, stated=stated, chosen=chosen, fault=told)
    desk.open_shop(folder)
    return went_well(desk, "/today", say("start.made", folder=folder))


def _there_already(desk: Desk) -> Response:
    """Return the way to the shop that is open: from a page that is left from before it none is made within it."""
    return went_well(desk, "/today", say("start.there"))


def columns_mark(file: str, choices: Sequence[ColumnChoice], content: bytes = b"") -> str:
    """Return a digest of a table and of its columns as a page shows them: what is chosen there is of this one."""
    shown = (file, [(choice.heading, choice.cells) for choice in choices], hashlib.sha256(content).hexdigest())
    return hashlib.sha256(repr(shown).encode("utf-8", "backslashreplace")).hexdigest()


def is_of_another(form: FormData, mark: str) -> bool:
    """Whether a form was filled in beside another table, which another page has dropped since."""
    return text_of(form, "table") != mark


def _refuse_columns(read: SheetRead, decided: Mapping[str, str]) -> None:
    """Refuse two columns that are to be the same, and numbers whose unit nobody knows, in the page's own words."""
    taken: dict[str, str] = {}
    for heading, says in decided.items():
        name = says.partition(" (")[0]
        if name and name in taken:
            raise FieldError(say("columns.both", one=taken[name], other=heading, what=sheet_word(name)))
        taken[name] = heading
        if ways := units_to_choose(read, heading, says):
            listed = any_of([f"“{sheet_word(way)}”" for way in ways])
            raise FieldError(say("columns.no_unit", heading=heading, ways=listed))


def chosen_in(form: FormData, count: int) -> dict[int, str]:
    """Return what was chosen for columns, by their places among all; those that are not decided are left out."""
    sent = ((at, text_of(form, f"column-{at}")) for at in range(count))
    return {at: says for at, says in sent if says}


def _stated(form: FormData) -> dict[str, str]:
    name, currency, country = (text_of(form, key) for key in ("name", "currency", "country"))
    return {"name": name, "currency": currency.upper(), "country": country_code(country) or country}


def _refuse(stated: Mapping[str, str]) -> None:
    """Refuse what shop.toml could not hold, in the page's own words."""
    if not stated["name"]:
        raise FieldError(say("start.name_missing"))
    if stated["currency"] not in MINOR_DIGITS:
        raise FieldError(say("start.currency_missing"))
    country = stated["country"]
    if not country:
        raise FieldError(say("start.country_missing"))
    if country_code(country) != country:
        near = countries_like(country)
        hint = say("start.country_like", names=any_of(near)) if near else say("start.country_missing")
        raise FieldError(say("start.country_unknown", country=country), hint)


def _folder(desk: Desk, name: str) -> Path:
    """Return where a new shop goes: the folder that was named, or one below it where something else is in that."""
    folder = desk.folder
    try:
        if not folder.is_dir() or not any(folder.iterdir()):
            return folder
    except OSError as fault:
        raise FieldError(say("start.folder_unread", folder=folder, why=fault.strerror)) from None
    below = slugify(name, max_length=60, word_boundary=True)
    if not below:
        raise FieldError(say("start.no_letters"))
    return folder / (f"{below}-shop" if is_device(below) else below)
