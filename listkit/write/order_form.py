"""wholesale/order-form.xlsx: the lines of the sheet with a cell for each quantity; it adds up and says what is missing.

All is text and figures computed here; only totals and what is missing are formulas, which any spreadsheet works out.
What is written is read again by a reader that knows nothing of the writer, and compared cell by cell.
"""

import datetime
import io
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from textwrap import wrap
from typing import Any, Final

import xlsxwriter  # type: ignore[import-untyped]
from python_calamine import CalamineWorkbook
from xlsxwriter.exceptions import XlsxWriterException  # type: ignore[import-untyped]

from listkit.listing.cells import unwritable
from listkit.listing.listings import Listings
from listkit.listing.order_form import DISPLAY, FormText
from listkit.listing.papers import papers_of
from listkit.problem import FieldError
from listkit.save.job import File, Job, Recipe, key_of
from listkit.write.context import WriteContext
from listkit.write.form_fit import FONT, PRICES, ROW, Fit, fitted, lines_of, pages_wide
from listkit.write.form_formulas import (
    Layout,
    formula_text,
    margin_formula,
    missing_formula,
    pieces_formula,
    shelf_formula,
    status_formula,
    sum_formula,
    total_formula,
)
from listkit.write.line_sheet import codes_of
from listkit.write.xlsx_feed import HIGHEST_ROW, LIBRARY, worksheet_name

# The order form as a workbook: where each cell stands, how it looks, which may be written in, how it prints.
#
# Protected without a password, so that nobody changes a price by mistake; only the cells of the buyer and the
# quantities are open. It prints one page wide, in type of 7.5 points and more. The same form gives the same bytes.

_CREATED: Final = datetime.datetime(2000, 1, 1)  # noqa: DTZ001 - a workbook states a day without a zone, this one always
_PAPER: Final = {"A4": 9, "letter": 1}  # as workbooks number them
_OPEN: Final = {"bg_color": "#FFF8D6", "border": 1, "border_color": "#999999", "locked": False}
_LINE: Final = {"bottom": 1, "bottom_color": "#CCCCCC", "valign": "vcenter"}
_FORMATS: Final[dict[str, dict[str, Any]]] = {
    "title": {"bold": True, "font_size": 16},
    "plain": {},
    "label": {"font_color": "#555555"},
    "strong": {"bold": True},
    "open": {**_OPEN, "num_format": "@"},
    "quantity": {**_OPEN, "align": "right"},
    "heading": {"bold": True, "bottom": 2, "text_wrap": True, "valign": "bottom"},
    "heading right": {"bold": True, "bottom": 2, "text_wrap": True, "valign": "bottom", "align": "right"},
    "group": {"bold": True, "font_size": 12, "valign": "bottom"},
    "text": {**_LINE, "text_wrap": True, "num_format": "@"},
    "code": {**_LINE, "num_format": "@", "bold": True},
    "count": {**_LINE, "align": "right", "indent": 1},
    "missing": {**_LINE, "bold": True, "text_wrap": True, "indent": 1},
    "heading missing": {"bold": True, "bottom": 2, "text_wrap": True, "valign": "bottom", "indent": 1},
    "pieces": {"bold": True, "align": "left"},
    "label right": {"font_color": "#555555", "align": "right", "indent": 1},
    "status": {"bold": True, "text_wrap": True, "valign": "top"},
    "wrap": {"text_wrap": True, "valign": "top"},
}
_LACKS, _READY = "#F9D9D0", "#D9EBD3"  # on which black is read with a contrast of 15 and more
_MARGIN: Final = 0.25  # in inches, beside the sheet: what any printer leaves white
_TITLE_ROW, _HOW_ROW, _BUYER_ROW = 0, 1, 3
_GROUP_ROW, _TITLE_HIGH = 19, 23  # points
_MOST_LINES: Final = int(HIGHEST_ROW / ROW)
_LETTERS_IN_TERMS: Final = 120  # on one line of the terms; only how high their rows are depends on it


@dataclass(frozen=True, slots=True)
class Put:
    """One cell: where it stands, counted from 0, what is in it, how it looks; `to` is the last column of a wide one."""

    row: int
    column: int
    value: str | Decimal | int
    format: str
    to: int = 0
    shown: str | int = ""  # what a formula comes to while nothing is ordered
    formula: bool = False


@dataclass(frozen=True, slots=True)
class _Columns:
    """The columns behind code, name and choice, by what stands in them; those behind the total are for a screen."""

    tiers: int

    @property
    def retail(self) -> int:
        return PRICES + 1 + self.tiers

    @property
    def quantity(self) -> int:
        return self.retail + 3

    @property
    def total(self) -> int:
        return self.retail + 4

    @property
    def missing(self) -> int:
        return self.retail + 5

    @property
    def gtin(self) -> int:
        return self.retail + 6

    @property
    def kind(self) -> int:
        return self.retail + 7


def write_form_sheet(path: Path, form: FormText) -> None:
    """Write the workbook.

    Raises:
        FieldError: a text holds a character that a workbook has not.
    """
    packed = io.BytesIO()  # a ZIP that a full disk cuts short would complain behind our back
    try:
        with xlsxwriter.Workbook(
            packed, {"strings_to_urls": False, "in_memory": True, "default_format_properties": dict(FONT)}
        ) as book:
            book.set_properties({"created": _CREATED, "title": form.title, "author": form.shop})
            _fill(book, form)
    except XlsxWriterException as fault:
        raise OSError(f"the workbook cannot be written: {fault}") from fault
    path.write_bytes(packed.getbuffer())


def _fill(book: Any, form: FormText) -> None:  # noqa: ANN401 (the library states no types)
    sheet = book.add_worksheet(worksheet_name(form.title))
    zeros = "0" * form.digits
    money = f"#,##0.{zeros}" if zeros else "#,##0"
    looks = dict(_FORMATS)
    looks["money"] = {**_LINE, "num_format": money}
    looks["sum"] = {"bold": True, "num_format": money, "align": "left"}
    looks["share"] = {"bold": True, "num_format": "0 %", "align": "left"}
    looks["sum right"] = {"bold": True, "num_format": money, "top": 2}
    formats = {name: book.add_format(look) for name, look in looks.items()}
    for put in cells_of(form):
        _write(sheet, put, formats[put.format])
    _set_up(sheet, form)
    _colour(sheet, form, book)


def _colour(sheet: Any, form: FormText, book: Any) -> None:  # noqa: ANN401
    """Colour what is still missing, and whether the order can be sent; the words say the same."""
    columns, layout = _Columns(len(form.tiers)), layout_of(form)
    lacks, ready = (book.add_format({"bg_color": colour}) for colour in (_LACKS, _READY))
    first, last = layout.rows[0] - 1, layout.rows[-1] - 1
    told = {"type": "formula", "criteria": f"=LEN(${layout.missing}{first + 1})>0", "format": lacks}
    sheet.conditional_format(first, columns.missing, last, columns.missing, told)
    row = _results_row(form) + 2
    status = {"type": "cell", "criteria": "equal to", "value": formula_text(form.words.ready), "format": ready}
    sheet.conditional_format(row, 1, row, 1, {**status, "stop_if_true": True})
    nothing = {"criteria": "not equal to", "value": formula_text(form.words.nothing), "format": lacks}
    sheet.conditional_format(row, 1, row, 1, {"type": "cell", **nothing})


def _write(sheet: Any, put: Put, look: Any) -> None:  # noqa: ANN401
    at = (put.row, put.column)
    if put.to:
        sheet.merge_range(*at, put.row, put.to, "", look)
    if put.formula:
        sheet.write_formula(*at, put.value, look, put.shown)
    elif isinstance(put.value, str):
        if sign := unwritable(put.value, "xlsx"):
            raise FieldError(f"a workbook has no U+{ord(sign):04X}.", "Take it out of the text.")
        sheet.write_string(*at, put.value, look) if put.value else sheet.write_blank(*at, None, look)
    else:
        sheet.write_number(*at, float(put.value), look)


def cells_of(form: FormText) -> Iterator[Put]:
    """Yield every cell of the sheet."""
    columns = _Columns(len(form.tiers))
    layout = layout_of(form)
    yield Put(_TITLE_ROW, 0, f"{form.title} · {form.shop}", "title")
    yield Put(_HOW_ROW, 0, form.words.how, "plain")
    yield from _buyer(form)
    yield from _facts(form, columns)
    yield from _results(form, layout, columns)
    yield from _table(form, layout, columns)
    yield from _foot(form, layout, columns)


def _buyer(form: FormText) -> Iterator[Put]:
    for number, label in enumerate(form.buyer_labels):
        yield Put(_BUYER_ROW + number, 0, label, "label")
        yield Put(_BUYER_ROW + number, 1, "", "open", to=2)


def _facts(form: FormText, columns: _Columns) -> Iterator[Put]:
    for number, (name, says) in enumerate(((form.words.sheet, form.name), *form.head)):
        yield Put(_BUYER_ROW + number, columns.retail, name, "label right")  # runs out over the empty cells before it
        yield Put(_BUYER_ROW + number, columns.retail + 1, says, "strong", to=columns.total)


def _results_row(form: FormText) -> int:
    return _BUYER_ROW + max(len(form.buyer_labels), len(form.head) + 1) + 1


def _heading_row(form: FormText) -> int:
    return _results_row(form) + 4


def _results(form: FormText, layout: Layout, columns: _Columns) -> Iterator[Put]:
    """Yield what the order comes to, and whether it can be sent."""
    row, words = _results_row(form), form.words
    yield Put(row, 0, f"{words.sum} ({form.currency})", "label")
    yield Put(row, 1, sum_formula(form, layout), "sum", shown=0, formula=True)
    yield Put(row + 1, 0, words.pieces, "label")
    yield Put(row + 1, 1, pieces_formula(layout), "pieces", shown=0, formula=True)
    yield Put(row, 2, f"{words.shelf} ({form.currency})", "label right", to=columns.retail - 1)
    yield Put(row, columns.retail, shelf_formula(form, layout), "sum", shown=0, formula=True)
    if form.tax is not None:
        yield Put(row + 1, 2, words.margin, "label right", to=columns.retail - 1)
        yield Put(row + 1, columns.retail, margin_formula(form, layout), "share", formula=True)
    yield Put(row + 2, 0, words.missing, "label")
    status = status_formula(form, layout)
    yield Put(row + 2, 1, status, "status", to=columns.total, shown=words.nothing, formula=True)


def layout_of(form: FormText) -> Layout:
    """Return where the lines and their columns stand."""
    columns = _Columns(len(form.tiers))
    before = [group.before for group in form.groups]
    start = _heading_row(form) + 2
    rows = tuple(start + number + sum(at <= number for at in before) for number in range(len(form.lines)))
    return Layout(
        rows=rows,
        prices=tuple(_letter(PRICES + at) for at in range(1 + len(form.tiers))),
        quantity=_letter(columns.quantity),
        total=_letter(columns.total),
        missing=_letter(columns.missing),
        kind=_letter(columns.kind),
        retail=_letter(columns.retail),
        first_order=f"$B${_BUYER_ROW + len(form.buyer_labels)}",
        sum=f"$B${_results_row(form) + 1}",
        shelf=f"${_letter(columns.retail)}${_results_row(form) + 1}",
    )


def _letter(column: int) -> str:
    return chr(ord("A") + column) if column < 26 else chr(ord("A") + column // 26 - 1) + chr(ord("A") + column % 26)


def _table(form: FormText, layout: Layout, columns: _Columns) -> Iterator[Put]:
    for column, heading in enumerate(form.headings):
        look = (
            "heading missing"
            if column == columns.missing
            else "heading right"
            if PRICES <= column <= columns.total
            else "heading"
        )
        yield Put(_heading_row(form), column, heading, look)
    for group in form.groups:
        title = " · ".join(part for part in (group.title, group.window) if part)
        yield Put(layout.rows[group.before] - 2, 0, title, "group")
    for number in range(len(form.lines)):
        yield from _line(form, layout, columns, number)


def _line(form: FormText, layout: Layout, columns: _Columns, number: int) -> Iterator[Put]:
    line, row = form.lines[number], layout.rows[number] - 1
    for column, text in ((0, line.code), (1, line.name), (2, line.more), (columns.gtin, line.gtin)):
        yield Put(row, column, text, "code" if column == 0 else "text")
    for at in range(1 + len(form.tiers)):
        yield Put(row, PRICES + at, line.prices[at] if at < len(line.prices) else "", "money")
    yield Put(row, columns.retail, "" if line.retail is None else line.retail, "money")
    yield Put(row, columns.retail + 1, "" if line.case is None else line.case, "count")
    yield Put(row, columns.retail + 2, "" if line.least is None else line.least, "count")
    yield Put(row, columns.quantity, "", "quantity")
    yield Put(row, columns.total, total_formula(form, layout, number), "money", formula=True)
    missing = missing_formula(form, layout, number)
    yield Put(row, columns.missing, missing, "missing", formula=bool(missing))
    yield Put(row, columns.kind, line.kind, "plain")


def _foot(form: FormText, layout: Layout, columns: _Columns) -> Iterator[Put]:
    """Yield the sum below the totals, and the terms."""
    row = layout.rows[-1] + 1
    yield Put(row, columns.retail, form.words.sum, "label right", to=columns.quantity)
    yield Put(row, columns.total, f"={layout.sum}", "sum right", shown=0, formula=True)
    row += 2
    told = (*form.terms, ("", " ".join(form.notes)), ("", form.order_to))
    for name, says in told:
        for at, part in enumerate(_row_parts(says)):
            if name and not at:
                yield Put(row, 0, name, "label")
            yield Put(row, 1, part, "wrap", to=columns.total)
            row += 1


def _fit_of(form: FormText) -> Fit:
    foot = tuple(_foot(form, layout_of(form), _Columns(len(form.tiers))))
    wrapped = sum(_terms_high(put) - 1 for put in foot)
    last = max(put.row for put in foot)
    return fitted(form, 1 + last + wrapped + len(form.groups) * (_GROUP_ROW / ROW - 1))


def widths_of(form: FormText) -> tuple[float, ...]:
    """Return how wide each column is, in characters; 0 where it is not shown, since none of the lines fills it."""
    return _fit_of(form).widths


def _terms_high(put: Put) -> int:
    """Return on how many lines a row of the foot is set."""
    return _wrapped(str(put.value)) if put.format == "wrap" else 1


def _wrapped(text: str) -> int:
    """Return on how many lines a text of the foot is set."""
    return sum(1 + len(line) // _LETTERS_IN_TERMS for line in text.split("\n"))


def _row_parts(text: str) -> Iterator[str]:
    """Yield a text in as many parts as rows take it: what one is too low for would be cut off in silence."""
    if _wrapped(text) <= _MOST_LINES:
        yield from [text] if text else []
        return
    held: list[str] = []
    for line in text.split("\n"):
        for piece in wrap(line, _LETTERS_IN_TERMS * (_MOST_LINES - 2)) or [""]:
            if held and _wrapped("\n".join((*held, piece))) > _MOST_LINES:
                yield "\n".join(held)
                held = []
            held.append(piece)
    yield "\n".join(held)


def _set_up(sheet: Any, form: FormText) -> None:  # noqa: ANN401
    columns, layout, fit = _Columns(len(form.tiers)), layout_of(form), _fit_of(form)
    for column, width in enumerate(fit.widths):
        sheet.set_column(column, column, width, None, {} if width else {"hidden": True})
    sheet.set_default_row(ROW)
    sheet.set_row(_TITLE_ROW, _TITLE_HIGH)
    wrapped = (len(name.split()) for name, width in zip(form.headings, fit.widths, strict=True) if len(name) > width)
    sheet.set_row(_heading_row(form), ROW * max((1, *wrapped)))
    sheet.set_column(columns.kind, columns.kind, 4, None, {"hidden": True})
    for number, line in enumerate(form.lines):
        row = layout.rows[number] - 1
        if (high := lines_of(line, fit.widths)) > 1:
            sheet.set_row(row, min(ROW * high, HIGHEST_ROW))
        _validate(sheet, (row, columns.quantity), form, display=line.kind == DISPLAY)
    for group in form.groups:
        sheet.set_row(layout.rows[group.before] - 2, _GROUP_ROW)
    answers = [form.words.yes, form.words.no]
    if form.asks_first and not {",", '"'}.intersection("".join(answers)):  # which a list of answers cannot hold
        row = _BUYER_ROW + len(form.buyer_labels) - 1
        sheet.data_validation(row, 1, row, 1, {"validate": "list", "source": answers})
    for put in _foot(form, layout, columns):
        if put.format == "wrap":
            sheet.set_row(put.row, ROW * _terms_high(put))
    sheet.freeze_panes(_heading_row(form) + 1, 1)
    sheet.protect("", {"select_locked_cells": True, "format_columns": True, "format_rows": True})
    sheet.set_paper(_PAPER[form.paper])
    sheet.set_margins(left=_MARGIN, right=_MARGIN, top=0.5, bottom=0.7)
    last = max(put.row for put in _foot(form, layout, columns))
    # What is still missing is worked out on a screen alone, and would make all else smaller on paper.
    sheet.print_area(0, 0, last, columns.total)
    if not fit.upright:
        sheet.set_landscape()
    sheet.fit_to_pages(pages_wide(form, fit), 1 if fit.upright else 0)
    sheet.repeat_rows(_heading_row(form))
    contact = _in_footer(" · ".join(form.contact), 180)
    # A space behind the size: a text that begins with a figure would be taken for more of it.
    right = f"{_in_footer(form.name, 50)}   &P / &N"
    sheet.set_footer(f"&L&8 {contact}&R&8 {right}", {"scale_with_doc": False})


def _in_footer(text: str, most: int) -> str:
    """Return a text as a footer has it, in so many signs at most; half of a doubled "&" would take the next sign along.

    >>> _in_footer("Hive & Herb", 6), _in_footer("Hive & Herb", 7)
    ('Hive ', 'Hive &&')
    """
    doubled = text.replace("&", "&&")[:most]
    return doubled[:-1] if (len(doubled) - len(doubled.rstrip("&"))) % 2 else doubled


def _validate(sheet: Any, at: tuple[int, int], form: FormText, *, display: bool) -> None:  # noqa: ANN401
    """Let a quantity be a whole number alone; other programs may not ask, so the formulas do too."""
    rule = {"validate": "integer", "criteria": "between", "minimum": 0, "maximum": 1 if display else 999_999}
    words = form.words.display_most if display else form.words.whole
    sheet.data_validation(*at, *at, {**rule, "error_title": form.words.quantity[:32], "error_message": words[:255]})


def form_fault(path: Path, form: FormText) -> str:
    """Return "" when the workbook reads as the form: each text and figure in its place, every formula, protected."""
    with zipfile.ZipFile(path) as parts:
        if broken := parts.testzip():
            return f"its part {broken} is damaged."
        xml = parts.read("xl/worksheets/sheet1.xml")
    wanted = tuple(cells_of(form))
    if b"<sheetProtection" not in xml or xml.count(b"<f>") != sum(put.formula for put in wanted):
        return "its formulas or its protection are not all there."
    rows = CalamineWorkbook.from_path(path).get_sheet_by_index(0).to_python(skip_empty_area=False)
    for put in wanted:
        found = rows[put.row][put.column] if put.row < len(rows) and put.column < len(rows[put.row]) else ""
        value = put.shown if put.formula else put.value if isinstance(put.value, str) else float(put.value)
        if found != value:
            return f"row {put.row + 1}, column {put.column + 1} is not as it should be."
    return ""


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield the form; nothing without terms for shops."""
    papers = papers_of(listings)
    document, form = papers.document, papers.form
    if document is None or form is None:
        return
    file = File(
        "wholesale/order-form.xlsx",
        key_of(context.version, LIBRARY, form),
        codes_of(document),
        tuple(f"{line.prices[0]:f}" for line in form.lines),
        channel="wholesale",
        verify=verify_form,
    )
    yield Job(write_form, (form,), (file,))


def write_form(form: FormText, paths: tuple[Path, ...]) -> None:
    """Write the workbook: a recipe."""
    write_form_sheet(paths[0], form)


def verify_form(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when the workbook reads as the form it should be, else the first difference."""
    return form_fault(path, inputs[0])
