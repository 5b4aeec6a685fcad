"""feed.xlsx: a data file's rows as a workbook with one sheet, the cells of the types that they are.

Money, weights and lengths are numbers, shown with the currency's digits; days are dates; all else is text, so that
codes keep their leading zeros. Before it takes its place the file is read again by an independent reader.
"""

import datetime
import io
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import zip_longest
from pathlib import Path
from typing import IO, Any, Final
from unicodedata import east_asian_width

import xlsxwriter  # type: ignore[import-untyped]
from python_calamine import CalamineWorkbook
from xlsxwriter.exceptions import XlsxWriterException  # type: ignore[import-untyped]

from listkit.fields import Kind
from listkit.listing.cells import LONGEST_XLSX_CELL, unwritable
from listkit.listing.columns import FeedFile, feed_files
from listkit.listing.formats import utf16_units
from listkit.listing.listings import Listing, Listings
from listkit.listing.rows import FeedColumn, Row, feed_columns, feed_prices, feed_rows
from listkit.model.channel import Channel
from listkit.problem import FieldError
from listkit.save.job import File, Job, Recipe
from listkit.save.temporary import only_temporary, temporary_folder
from listkit.units.money import NO_CURRENCY, minor_digits
from listkit.write.context import WriteContext, codes_of, stream_key
from listkit.write.csv_feed import with_header

# Reads a workbook's one sheet a slice of rows at a time, so that a long one takes no more memory than a short one.
#
# The reader lays out a whole sheet at once. So it is given small workbooks: all other parts of the file as they are,
# and of the sheet some rows with what stands before the first. Cuts are made behind the end tag of a row, which no
# text of a cell can hold (XML 1.0, 2.4: "<" is escaped). Every cell is still read by a reader that knows nothing of the
# writer.

SLICE: Final = 2_000_000  # bytes of a sheet's XML at a time, and the rest of the row
_PACKED: Final = 16_000  # packed bytes at a time; unpacked they may be many more
_SHEETS: Final = "xl/worksheets/"
_BEGIN: Final = b"<sheetData>"
_ROW_END: Final = b"</row>"
_END: Final = b"</sheetData></worksheet>"
_LENGTHS_AT: Final = 26  # of name and extra field, in the header before a part (PKWARE APPNOTE, 4.3.7)
Cells = tuple[object, ...]


def damaged_part(path: Path) -> str:
    """Return the name of the first part whose bytes are not those that were packed, "" when all are.

    zipfile takes packed bytes that lack their end mark for whole; here they have to end (RFC 1951, 3.2.3: BFINAL).
    """
    with zipfile.ZipFile(path) as parts, path.open("rb") as file:
        return next((part.filename for part in parts.infolist() if not _is_whole(file, part)), "")


def _is_whole(file: IO[bytes], part: zipfile.ZipInfo) -> bool:
    if part.compress_type != zipfile.ZIP_DEFLATED:
        return False  # none of ours
    file.seek(part.header_offset + _LENGTHS_AT)
    name, extra = struct.unpack("<HH", file.read(4))
    file.seek(name + extra, io.SEEK_CUR)
    unpacking, left, checksum = zlib.decompressobj(-zlib.MAX_WBITS), part.compress_size, 0
    while left and (packed := file.read(min(left, _PACKED))):
        left -= len(packed)
        checksum = zlib.crc32(unpacking.decompress(packed), checksum)
    return unpacking.eof and not unpacking.unused_data and checksum == part.CRC


def sheet_rows(path: Path, size: int = SLICE) -> Iterator[Cells]:
    """Yield the cells of the one sheet from its first row and column on; a row that holds nothing is empty.

    Raises:
        ValueError: it has another number of sheets, or the reader finds a fault; zipfile's own faults pass.
    """
    with zipfile.ZipFile(path) as parts:
        sheets = [name for name in parts.namelist() if name.startswith(_SHEETS) and name.endswith(".xml")]
        if len(sheets) != 1:
            raise ValueError(f"it has {len(sheets)} sheets")
        others = [(name, parts.read(name)) for name in parts.namelist() if name != sheets[0]]
        with parts.open(sheets[0]) as sheet:
            yield from _in_place(_slice_rows([*others, (sheets[0], part)]) for part in sheet_parts(sheet, size))


def sheet_parts(sheet: IO[bytes], size: int) -> Iterator[bytes]:
    """Yield a sheet's XML in documents of about `size` bytes: what stands before the rows, and some of the rows."""
    held = sheet.read(size)
    begin, found, held = held.partition(_BEGIN)
    head = begin + found
    while found and (more := sheet.read(size)):
        cut = held.rfind(_ROW_END) + len(_ROW_END) if _ROW_END in held else 0
        if cut:
            yield head + held[:cut] + _END
        held = held[cut:] + more
    yield head + held + (b"" if found else sheet.read())


def _slice_rows(parts: list[tuple[str, bytes]]) -> tuple[tuple[int, int], list[Cells]]:
    """Return where the cells of a small workbook begin, and its rows from there on."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as book:
        for name, content in parts:
            book.writestr(name, content)
    file.seek(0)
    book_read = _asked(lambda: CalamineWorkbook.from_filelike(file))
    if len(book_read.sheet_names) != 1:
        raise ValueError(f"it has {len(book_read.sheet_names)} sheets")
    sheet = _asked(lambda: book_read.get_sheet_by_index(0))
    return sheet.start or (-1, 0), [tuple(row) for row in _asked(sheet.to_python)]


def _in_place(slices: Iterator[tuple[tuple[int, int], list[Cells]]]) -> Iterator[Cells]:
    """Yield the rows of all slices, each where it stands in the sheet: empty ones between, empty cells before."""
    at = 0
    for (first, column), rows in slices:
        if first < 0:
            continue  # no cell in it
        if first < at:
            raise ValueError(f"row {first + 1} stands behind row {at}")
        yield from () if first == at else ((),) * (first - at)
        for row in rows:
            yield ("",) * column + row
        at = first + len(rows)


def _asked(reading: Callable[[], Any]) -> Any:  # noqa: ANN401 (whatever the reader gives)
    """Return what the reader gives; it is not Python's, and where it panics, what comes is no Exception."""
    try:
        return reading()
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException as fault:
        raise ValueError(str(fault)) from None


# A table as a workbook with one sheet: cells of the right type, the same bytes on every run, read again another way.
#
# Text is text, so leading zeros and long numbers stay as they are and nothing becomes a formula; figures are numbers
# of fifteen digits at most, days are dates. A row is written at a time and none is kept, and it is read again in
# slices.

LIBRARY: Final = f"xlsxwriter {xlsxwriter.__version__}"  # its bytes are its own
_LONGEST_NAME: Final = 31  # of a sheet
_NOT_IN_NAMES: Final = dict.fromkeys(map(ord, "[]:*?/\\"), " ")
_NARROWEST, _WIDEST, _AIR = 6, 60, 2  # letters of a column
_BUTTON: Final = 3  # letters that the filter's button takes of a heading
_MOST_WRAPPED: Final = (
    4 * _WIDEST
)  # letters of a cell that is shown in several lines; with more, a row would be a page high
_BROKEN: Final = 50  # letters of a line that is broken between words in the widest column, about
_LINE: Final = 15  # points, the height of a row in the usual type
HIGHEST_ROW: Final = 409  # points, of a row: what every spreadsheet program states, from memory
_PAGE: Final = 280  # letters side by side on a page on its side, in type of about half its size
_FOOT: Final = "&L&A&R&P / &N"  # the sheet's name, the page and how many there are (ECMA-376, 18.3.1.46)
_LOOK: Final = (_WIDEST, _BUTTON, _MOST_WRAPPED, _BROKEN, _LINE, HIGHEST_ROW, _PAGE, _FOOT)
_EXACT_DIGITS: Final = 15  # that a binary number of 64 bits holds (IEEE 754)
_CREATED: Final = datetime.datetime(2000, 1, 1)  # noqa: DTZ001 - a workbook states a day without a zone, this one always
_FIRST_YEAR: Final = 1901  # days of a workbook begin in 1900, which it takes for a leap year
_OPTIONS: Final = {
    "constant_memory": True,
    "strings_to_numbers": False,
    "strings_to_formulas": False,
    "strings_to_urls": False,
}
Found = str | float | datetime.date
"""What a cell reads as."""


class Type(StrEnum):
    """What the cells of a column are."""

    TEXT = "text"
    NUMBER = "number"
    DAY = "day"


@dataclass(frozen=True, slots=True)
class SheetColumn:
    """A column of the sheet: the type of its cells, and how a workbook shows them ("0.00", "yyyy-mm-dd")."""

    type: Type = Type.TEXT
    shown: str = "@"


@dataclass(frozen=True, slots=True)
class SheetForm:
    """All that decides which bytes a table of cells becomes: the sheet's name, its columns, whether it has a header."""

    name: str
    columns: tuple[SheetColumn, ...]
    header: bool


def write_sheet(path: Path, rows: Iterable[Row], form: SheetForm) -> None:
    """Write the rows, the header among them, to a workbook at `path`; figures have a point, days are in ISO 8601.

    Raises:
        FieldError: a text has a character, or a length, that a workbook has not.
    """
    packed = io.BytesIO()  # a ZIP that a full disk cuts short would complain behind our back
    try:
        with (
            temporary_folder() as folder,
            only_temporary(),
            xlsxwriter.Workbook(packed, {**_OPTIONS, "tmpdir": str(folder)}) as book,
        ):
            book.set_properties({"created": _CREATED})
            _fill(book, rows, form)
    except XlsxWriterException as fault:
        raise OSError(f"the workbook cannot be written: {fault}") from fault
    path.write_bytes(packed.getbuffer())


def worksheet_name(text: str) -> str:
    """Return a text as a sheet may be called: no longer than 31 units, without the signs and the word that are refused.

    "History" in any case is kept for a sheet of the programs' own (from memory).

    >>> worksheet_name("Prices: 'spring'"), worksheet_name("history")
    ("Prices  'spring", 'history 1')
    """
    plain = text.translate(_NOT_IN_NAMES)
    while utf16_units(plain) > _LONGEST_NAME:
        plain = plain[:-1]
    plain = plain.strip(" '")
    return f"{plain} 1" if plain.casefold() == "history" else plain


def _fill(book: xlsxwriter.Workbook, rows: Iterable[Row], form: SheetForm) -> None:
    sheet = book.add_worksheet(worksheet_name(form.name))
    text, wrapped, bold = (
        book.add_format({"num_format": "@", "valign": "top", **more})
        for more in ({}, {"text_wrap": True}, {"bold": True})
    )
    shown = [book.add_format({"num_format": column.shown, "valign": "top"}) for column in form.columns]
    numbered = enumerate(rows)
    widest = [0] * len(form.columns) if not form.header else _write_headings(sheet, numbered, bold)
    number = 0
    for number, row in numbered:
        high = 1
        for at, cell in enumerate(row):
            if len(cell) > widest[at]:
                widest[at] = max(widest[at], _wide(cell))
            value = value_of(cell, form.columns[at])
            if value == "":
                continue  # a cell that is not there is what programs take for an empty one
            if isinstance(value, str):
                _check(value, number, at)
                several = (len(value) > _WIDEST or "\n" in value) and len(value) <= _MOST_WRAPPED
                sheet.write_string(number, at, value, wrapped if several else text)
                high = max(high, _lines(value)) if several else high
            elif isinstance(value, float):
                sheet.write_number(number, at, value, shown[at])
            else:
                sheet.write_datetime(number, at, value, shown[at])
        if high > 1:
            sheet.set_row(number, min(high * _LINE, HIGHEST_ROW))  # not every program does so by itself
    _finish(sheet, widest, number if form.header else 0)


def _write_headings(sheet: Any, numbered: Iterator[tuple[int, Row]], bold: object) -> list[int]:  # noqa: ANN401
    """Write the first row, which stays in sight; return how wide its cells are, each with the filter's button."""
    number, headings = next(numbered, (0, ()))
    for at, heading in enumerate(headings):
        _check(heading, number, at)
        sheet.write_string(number, at, heading, bold)
    sheet.freeze_panes(1, 0)
    return [_wide(heading) + _BUTTON for heading in headings]


def _finish(sheet: Any, widest: list[int], last: int) -> None:  # noqa: ANN401
    """State how wide columns are, a filter over the rows up to the last, and how the sheet is printed.

    It lies on its side, on one page across, or on as few as leave type that can be read; the headings are on each.
    """
    wide = [min(max(letters, _NARROWEST), _WIDEST) + _AIR for letters in widest]
    for at, letters in enumerate(wide):
        sheet.set_column(at, at, letters)
    if last > 0:
        sheet.autofilter(0, 0, last, len(widest) - 1)
        sheet.repeat_rows(0)
    sheet.set_landscape()
    sheet.fit_to_pages(max(1, -(-sum(wide) // _PAGE)), 0)
    sheet.set_footer(_FOOT)


def _lines(text: str) -> int:
    """Return in how many lines a wrapped cell is shown, about."""
    if "\n" not in text:
        return -(-len(text) // _BROKEN)
    return sum(-(-len(line) // _BROKEN) if len(line) > _WIDEST else 1 for line in text.split("\n"))


def _wide(cell: str) -> int:
    """Return how many letters wide a cell is: its longest line, wide ones (Unicode's, of East Asia) counted twice."""
    longest = max(cell.split("\n"), key=len)[:_WIDEST]
    return len(longest) + sum(east_asian_width(letter) in "WF" for letter in longest)


def value_of(cell: str, column: SheetColumn) -> Found:
    """Return what a cell becomes; text where a number or a day of a workbook could not hold all of it."""
    if column.type is Type.NUMBER and cell and (len(cell) <= _EXACT_DIGITS or _digits(cell) <= _EXACT_DIGITS):
        return float(cell)
    if column.type is Type.DAY and cell and (day := datetime.date.fromisoformat(cell)).year >= _FIRST_YEAR:
        return day
    return cell


def _digits(cell: str) -> int:
    return sum(sign.isdigit() for sign in cell)


def _check(text: str, number: int, at: int) -> None:
    if len(text) <= LONGEST_XLSX_CELL and text.isascii():
        return
    where = f"row {number + 1}, column {at + 1} of the sheet"
    if sign := unwritable(text, "xlsx"):
        raise FieldError(f"{where}: a workbook has no U+{ord(sign):04X}.", "Take it out of the text.")
    if utf16_units(text) > LONGEST_XLSX_CELL:
        raise FieldError(f"{where}: a cell of a workbook takes {LONGEST_XLSX_CELL:,} characters.", "Shorten the text.")


def sheet_fault(path: Path, rows: Iterable[Row], form: SheetForm) -> str:
    """Return "" when the workbook reads as exactly these rows, each cell of its type, else the first difference."""
    try:
        if broken := damaged_part(path):
            return f"its part {broken} is damaged."
        return _difference(sheet_rows(path), rows, form)
    except (zipfile.BadZipFile, zlib.error, struct.error, ValueError, OSError, NotImplementedError) as fault:
        return f"it is no workbook: {fault}."


def _difference(stored: Iterator[tuple[object, ...]], rows: Iterable[Row], form: SheetForm) -> str:
    types = tuple(SheetColumn() for _ in form.columns)
    for number, (cells, row) in enumerate(zip_longest(stored, rows), 1):
        if row is None:
            return f"row {number} was not asked for."
        columns = types if form.header and number == 1 else form.columns
        wanted = _bare([value_of(cell, column) for cell, column in zip(row, columns, strict=True)])
        if cells is None and wanted:
            return f"it ends before row {number}."
        if _bare(cells or ()) != wanted:
            return f"row {number} is not the one that was asked for."
    return ""


def _bare(cells: Sequence[object]) -> list[tuple[type, object]]:
    """Return the cells with their types, without empty ones at the end, which a workbook does not hold."""
    end = next((at for at in range(len(cells), 0, -1) if cells[at - 1] != ""), 0)
    return [(type(cell), cell) for cell in cells[:end]]


Listed = tuple[Listing, ...]
_TEXTS: Final = frozenset({Kind.TEXT, Kind.YES_NO})
_SHOWN_DAYS: Final = (("2027", "yyyy"), ("02", "mm"), ("28", "dd"), (".", "\\."), ("-", "\\-"), ("/", "\\/"))
"""How the parts of 28 February 2027 are named in the number formats of a workbook."""


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield every data file that a channel takes as a workbook."""
    for channel, own in listings.by_channel():
        for one in feed_files(channel):
            if one.channel.feed == "xlsx":
                yield Job(write_feed, (one.channel, own, one.name), (_file(one, own, context),))


def _file(feed: FeedFile, listed: Listed, context: WriteContext) -> File:
    channel = feed.channel
    return File(
        feed.path,
        stream_key(table(channel, listed), context.version, LIBRARY, *_LOOK, sheet_form(channel, listed, feed.name)),
        codes_of(listed),
        feed_prices(channel, listed, feed_columns(channel, listed)),
        channel=channel.key,
        guarded=channel.dialect.guard_formulas,
        verify=verify_feed,
    )


def table(channel: Channel, listed: Listed) -> Iterator[Row]:
    """Yield the header, where the dialect has one, and every row; figures with a point, days in ISO 8601."""
    neutral = {"decimal": ".", "date": "2027-02-28", "encoding": "utf-8"}
    channel = channel.model_copy(update={"dialect": channel.dialect.model_copy(update=neutral)})
    columns = feed_columns(channel, listed)
    headings = tuple(column.heading for column in columns)
    return with_header(headings, feed_rows(channel, listed, columns), channel.dialect)


def sheet_form(channel: Channel, listed: Listed, name: str) -> SheetForm:
    """Return the sheet's form: its name, the types of its columns, whether it has a header."""
    currency = listed[0].currency if listed else NO_CURRENCY
    columns = tuple(_sheet_column(column, channel, currency) for column in feed_columns(channel, listed))
    return SheetForm(name, columns, channel.dialect.header)


def _sheet_column(column: FeedColumn, channel: Channel, currency: str) -> SheetColumn:
    kind = column.kind
    if kind in _TEXTS or column.mapped:
        return SheetColumn()
    if kind is Kind.DATE:
        shown: str = channel.dialect.date
        for part, name in _SHOWN_DAYS:
            shown = shown.replace(part, name)
        return SheetColumn(Type.DAY, shown)
    digits = minor_digits(currency) if kind is Kind.MONEY else 0
    return SheetColumn(Type.NUMBER, f"0.{'0' * digits}" if digits else "0" if kind is Kind.MONEY else "General")


def write_feed(channel: Channel, listed: Listed, name: str, paths: tuple[Path, ...]) -> None:
    """Write the workbook: a recipe."""
    write_sheet(paths[0], table(channel, listed), sheet_form(channel, listed, name))


def verify_feed(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when the workbook reads as the rows it should hold, else the first difference."""
    channel, own, name = inputs
    return sheet_fault(path, table(channel, own), sheet_form(channel, own, name))
