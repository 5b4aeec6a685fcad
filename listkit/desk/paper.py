"""Print: how many of each label and card, where the first goes on a part-used sheet, sizes measured in, the PDF.

What is printed is printed by the functions of the command, of the shop as it was last checked. Sizes and pitches are
measured by a page with a ruler: what she reads there is kept in shop.toml, after it was seen that labels so large, so
far apart, lie on their sheet.
"""

import csv
import io
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import Any, Final

from pydantic import ValidationError
from starlette.datastructures import FormData
from starlette.requests import Request as WebRequest
from starlette.responses import Response

from listkit.actions.prints import (
    FOLDER,
    KINDS,
    Printable,
    Printed,
    Request,
    ordered_counts,
    outline_page,
    print_asked,
    printable,
    stock_counts,
)
from listkit.check.text import STARTER_ADDRESS
from listkit.compute.labels import SheetPlan, misfits, sheet_plan
from listkit.desk import changes, saving
from listkit.desk.changes import Outcome
from listkit.desk.edits import Edit, Put, Role, Target
from listkit.desk.follows import in_plain, labels_after, tight_words
from listkit.desk.guard import FILE_POLICY, FileOnDisk
from listkit.desk.page import Desk, in_full, linked, page, say, text_of
from listkit.desk.sent import sent_file
from listkit.desk.state import Full
from listkit.desk.today import is_plain
from listkit.ledger.orders import OrderState, orders
from listkit.ledger.store import LEDGER
from listkit.listing.words import base_language
from listkit.model.labels import PAPERS, ROLL, Cards, Inserts, Labels, Laid, Messages
from listkit.pipeline import Checked
from listkit.problem import FieldError, Problem, must_fix
from listkit.read.folder import SHOP
from listkit.read.source import Given
from listkit.shipped import shipped_templates
from listkit.units.length import MM_PER_INCH
from listkit.write.print import Layout, facts_text, pdf_of

TARGET: Final = Target(Role.SHOP)
ADDRESS: Final = "/print"
TABLES: Final[Mapping[str, tuple[str, type[Laid]]]] = {
    "labels": ("labels", Labels), "price-cards": ("cards", Cards), "inserts": ("inserts", Inserts),
    "messages": ("messages", Messages),
}  # fmt: skip
"""The table of shop.toml in which a kind's sizes are, and its model."""
_KINDS_OF_FILES: Final = {".pdf": "application/pdf", ".csv": "text/csv"}
_PATIENCE: Final = 30.0  # seconds that the page waits until the shop is checked
_MOST_EACH: Final = 999
_LONGEST: Final = 30  # digits that are read; Python refuses thousands
_READINGS: Final = ("left", "right", "next_left", "top", "bottom", "next_top")
_NEEDED: Final = frozenset({"left", "right", "top", "bottom"})
_MOST_BESIDE: Final = 99
_LONG: Final = 100  # mm, the line to be measured
_ACROSS, _DOWN = 30, 20  # mm from the edges, where the rulers run
_NEAR: Final = Decimal("0.5")  # mm that the line may be off, as one reads it


@dataclass(frozen=True, slots=True)
class Row:
    """One thing to print: its code, what it is called, how many."""

    code: str
    name: str
    count: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet as it is drawn, in mm: its sides, and left and top of each place."""

    plan: SheetPlan
    size: str

    @property
    def places(self) -> tuple[tuple[float, float], ...]:
        """Left and top edge of each place."""
        return tuple((float(x), float(y)) for x, y in self.plan.places)


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked for: the kind, counts by code as they were typed, the first free place, where counts come from."""

    kind: str
    counts: Mapping[str, str] = field(default_factory=dict)
    start: str = "1"
    proposed: str = ""


def show(desk: Desk, request: WebRequest) -> Response:
    """Return the page of one kind."""
    kind, proposed = request.query_params.get("kind", ""), request.query_params.get("from", "")
    return _page(desk, request, Asked(kind if kind in KINDS else KINDS[0], proposed=proposed))


def _page(
    desk: Desk, request: WebRequest, asked: Asked, *, printed: Printed | None = None, fault: str = ""
) -> Response:
    full = checked_shop(desk)
    checked = full.checked if full else None
    there, missing = Printable(), ""
    if checked is None or checked.stopped:
        missing = say("print.stopped") if checked else say("print.looking")
    elif asked.kind in TABLES and getattr(checked.shop.settings, TABLES[asked.kind][0]) is None:
        missing = say("print.nothing_yet")
    else:
        try:
            there = printable(checked, asked.kind)
        except FieldError as unfit:
            missing = in_full(unfit)
    sheet, misfit = _sheet(there, checked)
    rows = tuple(_rows(checked, there, asked, desk)) if checked and not missing else ()
    return page(
        desk,
        request,
        "print",
        asked=asked,
        kinds=KINDS,
        rows=rows,
        missing=missing,
        sheet=sheet,
        misfit=misfit,
        faces=there.faces,
        first=int(asked.start) if asked.start.isdecimal() and len(asked.start) <= _LONGEST else 1,
        measured=asked.kind in TABLES,
        told=tuple(_told(full, asked.kind)),
        nobody=_nobody_named(checked) if asked.kind == "labels" else "",
        printed=printed,
        fault=fault,
        status=422 if fault or (printed is not None and must_fix(printed.problems)) else 200,
    )


def checked_shop(desk: Desk) -> Full | None:
    """Return the shop as it is now with all that is known of it; None where that takes longer than one waits."""
    seen = desk.shop_state.look()
    full = desk.shop_state.full(wait=_PATIENCE)
    return full if full is not None and full.number >= seen.number else None


def _sheet(there: Printable, checked: Checked | None) -> tuple[Sheet | None, str]:
    """Return the sheet of a kind, or why its labels do not lie on one."""
    if there.laid is None or checked is None:
        return None, ""
    measures = checked.shop.settings.measures
    for misfit in misfits(there.laid, "cards", measures):
        return None, in_full(misfit)
    size = measures.sides((there.laid.size.width, there.laid.size.height))
    return Sheet(sheet_plan(there.laid), size), ""


def _told(full: Full | None, kind: str) -> Iterator[Problem]:
    """Yield what the last check says of labels or cards of a kind, as that no text fits their size."""
    table = TABLES.get(kind, ("", Laid))[0]
    for each in full.problems if full else ():
        if each.place.file == SHOP and each.place.key[:1] == (table,):
            yield in_plain(each, full.checked.catalog) if full and full.checked else each


def _nobody_named(checked: Checked | None) -> str:
    """Return the sentence that labels would name nobody who answers for the goods, with the way there; "" if one is."""
    if checked is None:
        return ""
    address = checked.shop.settings.address
    if address and STARTER_ADDRESS not in address:
        return ""
    return linked("print.no_address", "/shop?at=address")


def _rows(checked: Checked, there: Printable, asked: Asked, desk: Desk) -> Iterator[Row]:
    names = {}
    for facts in checked.catalog.sets:
        names[facts.code] = facts.name
        for variant in facts.variants:
            choices = ", ".join(choice.says for choice in variant.choices)
            names[variant.code] = f"{facts.name}, {choices}" if choices else facts.name
    counts = dict(asked.counts)
    if asked.proposed == "ordered":
        kept = [each for each in orders(desk.shop_state.folder / LEDGER) if each.state is OrderState.CONFIRMED]
        counts = {code: str(count) for code, count in ordered_counts(checked, there.codes, kept).items() if count}
    elif asked.proposed == "stock":
        counts = {code: str(count) for code, count in stock_counts(checked, there.codes).items() if count}
    elif asked.proposed == "one":
        counts = dict.fromkeys(there.codes, "1")
    for code in there.codes:
        yield Row(code, names.get(code, code), counts.get(code, ""))


def make(desk: Desk, request: WebRequest, form: FormData) -> Response:
    """Print what is asked for, and show what came of it."""
    kind, start = text_of(form, "kind"), text_of(form, "start") or "1"
    counts = {name.removeprefix("count/"): text_of(form, name) for name in form if name.startswith("count/")}
    asked = Asked(kind if kind in KINDS else KINDS[0], counts, start)
    full = checked_shop(desk)
    if full is None or full.checked is None or full.checked.stopped:
        return _page(desk, request, asked)
    try:
        first = _first_place(full.checked, asked)
        printed = print_asked(
            full.checked, Request(asked.kind, start=first, **_tables(asked, form)), desk.shop_state.out
        )
    except FieldError as fault:
        return _page(desk, request, asked, fault=in_full(fault))
    return _page(desk, request, asked, printed=printed)


def _first_place(checked: Checked, asked: Asked) -> int:
    """Return the first free place, which the sheet has."""
    laid = printable(checked, asked.kind).laid
    places = len(sheet_plan(laid).places) if laid else 1
    first = whole_count(asked.start, say("print.start"))
    if not 1 <= first <= places:
        raise FieldError(say("print.no_place", count=places, number=first))
    return first


def _tables(asked: Asked, form: FormData) -> dict[str, Given]:
    """Return the table of orders that was dropped, or the counts that were typed as a table."""
    if asked.kind == "messages":
        sent = sent_file(form, "orders")
        if sent is None:
            raise FieldError(say("print.no_orders"))
        return {"orders": sent}
    wanted = {code: whole_count(text, code) for code, text in asked.counts.items() if text}
    if not any(wanted.values()):
        raise FieldError(say("print.none_asked"))
    written = io.StringIO(newline="")
    csv.writer(written).writerows([("code", "quantity"), *((code, n) for code, n in wanted.items() if n)])
    return {"counts": Given("counts.csv", written.getvalue().encode())}


def whole_count(text: str, what: str) -> int:
    """Return how many copies a field asks for; `what` is what they are of.

    Raises:
        FieldError: it says no whole number, or more than are printed at once.
    """
    if not text.isascii() or not text.isdecimal() or len(text) > _LONGEST or int(text) > _MOST_EACH:
        raise FieldError(say("print.no_number", text=text[:_LONGEST], what=what, most=_MOST_EACH))
    return int(text)


def show_file(desk: Desk, request: WebRequest) -> Response:
    """Return a file that was printed, by its name among those that are there."""
    out, wanted = desk.shop_state.out, request.path_params["name"]
    folder = out / FOLDER
    names = [path.name for path in folder.iterdir()] if folder.is_dir() else []
    kind = _KINDS_OF_FILES.get(wanted[-4:])
    if wanted not in names or kind is None or not is_plain(folder / wanted, out):
        return page(desk, request, "print", template="nothing", status=404)
    shown = "inline" if wanted.endswith(".pdf") else "attachment"
    return FileOnDisk(folder / wanted, media_type=kind, filename=wanted, content_disposition_type=shown)


def show_outlines(desk: Desk, request: WebRequest) -> Response:
    """Return the test page of a kind: every place outlined, and a ruler."""
    full, kind = checked_shop(desk), request.query_params.get("kind", "")
    if full is None or full.checked is None or kind not in TABLES:
        return page(desk, request, "print", template="nothing", status=404)
    return _pdf(outline_page(full.checked, kind), f"{kind}-test.pdf")


def _pdf(content: bytes, name: str) -> Response:
    headers = {"content-disposition": f'inline; filename="{name}"', "content-security-policy": FILE_POLICY}
    return Response(content, media_type="application/pdf", headers=headers)


# Measured in


def show_measuring(
    desk: Desk, request: WebRequest, *, typed: Mapping[str, str] | None = None, wrong: Mapping[str, str] | None = None
) -> Response:
    """Return the page that leads through measuring a sheet of labels; `wrong` says what cannot be, by field."""
    kind = (typed or {}).get("kind", request.query_params.get("kind", ""))
    kind = kind if kind in TABLES else next(iter(TABLES))
    state = desk.shop_state
    file = changes.see(state.folder, TARGET)  # before the look: what is shown is never older than the digest
    shop = state.look().opened.shop
    laid: Laid | None = getattr(shop.settings, TABLES[kind][0])
    sheet = laid.sheet.name if laid else ("letter" if shop.settings.measures.customary else "A4")
    papers = (*PAPERS, *(() if sheet in PAPERS or sheet == ROLL else (sheet,)))
    return page(
        desk,
        request,
        "print",
        template="measure",
        kind=kind,
        kinds=tuple(TABLES),
        papers=papers,
        sheet=(typed or {}).get("sheet", sheet),
        typed=typed if typed is not None else _readings_of(laid),
        wrong=wrong or {},
        file=file,
        target=TARGET,
        readings=_READINGS,
        long=_LONG,
        status=422 if wrong else 200,
    )


def _readings_of(laid: Laid | None) -> dict[str, str]:
    """Return what one would read off a sheet as it is stated; nothing where nothing is."""
    if laid is None or laid.sheet.face is None:
        return {}
    plan = sheet_plan(laid)
    read = {
        "left": plan.left,
        "right": plan.left + plan.label.width,
        "next_left": plan.left + plan.across if plan.columns > 1 else None,
        "top": plan.top,
        "bottom": plan.top + plan.label.height,
        "next_top": plan.top + plan.down if plan.rows > 1 else None,
    }
    shown = {name: f"{value.normalize():f}" for name, value in read.items() if value is not None}
    return {**shown, "columns": str(plan.columns), "rows": str(plan.rows)}


def show_ruler(desk: Desk, request: WebRequest) -> Response:
    """Return the page with the rulers, as large as a paper."""
    shop = desk.shop_state.look().opened.shop
    wide, high = PAPERS.get(request.query_params.get("sheet", ""), PAPERS["A4"])
    facts = {
        "title": say("measure.ruler"),
        "how": say("measure.ruler_how"),
        "long_says": say("measure.line", length=_LONG),
        "shop": shop.settings.name,
        "lang": base_language("en"),
        "width": float(wide),
        "height": float(high),
        "across": _ACROSS,
        "down": _DOWN,
        "long": _LONG,
    }
    text = (shipped_templates() / "desk" / "ruler.typ").read_text(encoding="utf-8")
    return _pdf(pdf_of(Layout((("desk/ruler.typ", text),), facts_text(facts))), "ruler.pdf")


def measure(desk: Desk, request: WebRequest, form: FormData) -> Response:
    """Keep what was read off a sheet in shop.toml, where labels so laid lie on their sheet."""
    typed = {name: text_of(form, name) for name in ("kind", "sheet", "line", "columns", "rows", *_READINGS)}
    kind = typed["kind"] if typed["kind"] in TABLES else next(iter(TABLES))
    values, wrong = stated(typed)
    if not wrong:
        wrong = dict(_unfit(desk, kind, values))
    if wrong:
        return show_measuring(desk, request, typed={**typed, "kind": kind}, wrong=wrong)
    table, _ = TABLES[kind]
    edits = [Edit(TARGET, Put((table, key), value)) for key, value in values.items()]

    def refused(outcome: Outcome) -> Response:
        faults = in_full(*outcome.wrong)
        return show_measuring(desk, request, typed={**typed, "kind": kind}, wrong={"": faults})

    tight = ""
    if kind == "labels":
        seen, content = desk.shop_state.look(), changes.see(desk.shop_state.folder, TARGET).content
        tight = tight_words(seen.catalog, labels_after(content, edits))
    note = " ".join(filter(None, (say("measure.saved"), tight)))
    saved = saving.Saved(f"{ADDRESS}?kind={kind}", note, wrong=refused)
    return saving.save(desk, request, form, edits=edits, saved=saved)


def stated(typed: Mapping[str, str]) -> tuple[dict[str, Any], dict[str, str]]:
    """Return what shop.toml is to say of readings, and what is wrong in them, by field.

    >>> ask = {"left": "8", "right": "104", "next_left": "110", "top": "13.5", "bottom": "113.5", "columns": "2"}
    >>> stated({**ask, "rows": "1", "sheet": "A4"})[0]["pitch_across"]
    '102 mm'
    """
    read, wrong = _read(typed)
    many = {"next_left": 1, "next_top": 1}
    for name, place in (("columns", "next_left"), ("rows", "next_top")):
        count = typed.get(name, "")
        if not count.isdecimal() or len(count) > _LONGEST or not 1 <= int(count) <= _MOST_BESIDE:
            wrong[name] = say("measure.no_count")
        elif int(count) > 1 and place not in {**read, **wrong}:
            wrong[place] = say("measure.no_next")
        else:
            many[place] = int(count)
    for first, last in (("left", "right"), ("top", "bottom")):
        if first in read and last in read and read[last] <= read[first]:
            wrong[last] = say("measure.turned")
    if wrong:
        return {}, wrong
    pitches = {
        name: f"{_shown(read[name] - read[first])} mm" if many[name] > 1 else None
        for name, first in (("next_left", "left"), ("next_top", "top"))
    }
    values: dict[str, Any] = {
        "size": f"{_shown(read['right'] - read['left'])} x {_shown(read['bottom'] - read['top'])} mm",
        "sheet": typed.get("sheet", "") or "A4",
        "columns": many["next_left"],
        "rows": many["next_top"],
        "margin_left": f"{_shown(read['left'])} mm",
        "margin_top": f"{_shown(read['top'])} mm",
        "pitch_across": pitches["next_left"],
        "pitch_down": pitches["next_top"],
    }
    return values, {}


def _read(typed: Mapping[str, str]) -> tuple[dict[str, Decimal], dict[str, str]]:
    """Return the readings in mm, and what is wrong with those that are none."""
    read: dict[str, Decimal] = {}
    wrong: dict[str, str] = {}
    for name in _READINGS:
        text = typed.get(name, "")
        try:
            if text or name in _NEEDED:
                read[name] = _millimetres(text)
        except FieldError as fault:
            wrong[name] = fault.message
    with suppress(FieldError):
        if typed.get("line") and abs(_millimetres(typed["line"]) - _LONG) > _NEAR:
            wrong["line"] = say("measure.scaled", length=_LONG)
    return read, wrong


def _millimetres(text: str) -> Decimal:
    """Return a reading in mm; inches are written with their sign."""
    number, inches = text.strip().replace(",", "."), False
    for sign in ("mm", "in", '"'):
        if number.endswith(sign):
            number, inches = number.removesuffix(sign).strip(), sign != "mm"
            break
    try:
        value = Decimal(number)
    except InvalidOperation:
        value = Decimal("NaN")
    if not value.is_finite() or not 0 <= value < 2000 or len(number) > 10:
        raise FieldError(say("measure.no_reading"))
    return value * MM_PER_INCH if inches else value


def _shown(length: Decimal) -> str:
    return f"{length.normalize():f}"


def _unfit(desk: Desk, kind: str, values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield why labels cannot lie so on their sheet, each with the field to read again."""
    settings = desk.shop_state.look().opened.shop.settings
    _, model = TABLES[kind]
    try:
        laid = model.model_validate({key: value for key, value in values.items() if value is not None})
    except ValidationError as faults:
        yield "", "; ".join(str(each["msg"]) for each in faults.errors())
        return
    fields = {
        "columns": "columns",
        "rows": "rows",
        "pitch_across": "next_left",
        "pitch_down": "next_top",
        "size": "right",
    }
    for misfit in misfits(laid, "labels" if kind == "labels" else "cards", settings.measures):
        yield fields.get(misfit.key, ""), in_full(misfit)
