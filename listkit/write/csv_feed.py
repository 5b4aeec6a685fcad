"""feed.csv: the channel's rows under its own headings, in its own dialect, with a Data Package beside it.

So is every other data file that the channel takes as CSV. Before a file takes its place it is read again by the csv
module, strictly in the stated encoding and dialect, and compared cell by cell with rows computed afresh.
"""

import csv
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import chain, zip_longest
from pathlib import Path
from typing import Any, Final, TextIO

from listkit.bounded_csv import long_cells
from listkit.fields import FIELDS, Kind
from listkit.listing.cells import CODECS, text_cell, unwritable
from listkit.listing.columns import FeedFile, feed_files
from listkit.listing.listings import Listing, Listings
from listkit.listing.rows import (
    FeedColumn,
    Row,
    dialect_cells,
    feed_columns,
    feed_prices,
    feed_rows,
    prices_of,
    rows_of,
)
from listkit.model.channel import Channel, Dialect
from listkit.problem import FieldError
from listkit.save.job import File, Job, Recipe, key_of
from listkit.write.context import WriteContext, codes_of, stream_key
from listkit.write.json_text import Json, document_fault, readable

# A table in CSV: RFC 4180 in the channel's dialect, written row by row, and read again by another way.
#
# Quotes stand where they are needed. With `guard_formulas` a cell that holds any usual separator counts as needing
# them, so that no part of it can become a cell of its own, and a formula, in a program that splits rows at another sign
# (OWASP, "CSV Injection"). Line ends inside a cell are kept as they are.

BYTE_ORDER_MARK: Final = "\ufeff"
SEPARATORS: Final = ",;\t|"
LINE_ENDS: Final = {"crlf": "\r\n", "lf": "\n"}
_LONGEST_CELL: Final = 100_000_000


@dataclass(frozen=True, slots=True)
class CsvForm:
    """All of a dialect that decides which bytes a table of cells becomes, and nothing else."""

    separator: str
    quote_all: bool
    quoted_signs: str
    encoding: str
    mark: bool
    line_end: str

    @classmethod
    def of(cls, dialect: Dialect) -> "CsvForm":
        """Return the form of a dialect; UTF-16 always begins with a byte order mark (RFC 2781, 3.3)."""
        bare = (dialect.separator, dialect.decimal)  # the separator is seen to anyway; 29,50 stands bare behind ";"
        signs = "".join(sign for sign in SEPARATORS if sign not in bare)
        return cls(
            separator=dialect.separator,
            quote_all=dialect.quote == "all",
            quoted_signs=signs if dialect.guard_formulas and dialect.quote != "all" else "",
            encoding=dialect.encoding,
            mark=dialect.encoding == "utf-16" or (dialect.encoding == "utf-8" and dialect.byte_order_mark),
            line_end=LINE_ENDS[dialect.line_end],
        )


def with_header(headings: tuple[str, ...], rows: Iterable[Row], dialect: Dialect) -> Iterator[Row]:
    """Yield the header, if the dialect has one, and the rows; headings are made safe like every text."""
    header = tuple(map(text_cell(dialect), headings))
    return chain([header] if dialect.header else [], rows)


def write_table(path: Path, rows: Iterable[Row], form: CsvForm) -> None:
    """Write the rows to `path`.

    Raises:
        FieldError: a cell holds a character that the encoding has not; it names the cell.
    """
    with path.open("w", encoding=CODECS[form.encoding], newline="") as file:
        if form.mark:
            file.write(BYTE_ORDER_MARK)
        writer = _writer(file, form)
        for number, row in enumerate(rows, 1):
            try:
                writer(row)
            except UnicodeEncodeError as fault:
                raise _unwritable(row, number, form) from fault


def table_fault(path: Path, rows: Iterable[Row], form: CsvForm) -> str:
    """Return "" when the file at `path` reads as exactly these rows in exactly this form, else the first difference."""
    try:
        with path.open(encoding=CODECS[form.encoding], errors="strict", newline="") as file, long_cells(_LONGEST_CELL):
            if form.mark and file.read(1) != BYTE_ORDER_MARK:
                return "the byte order mark is missing."
            return _difference(_Lines(file, form.line_end), rows, form)
    except UnicodeDecodeError as fault:
        return f"byte {fault.start} is no {form.encoding}."
    except csv.Error as fault:
        return f"it is no CSV: {fault}."


def _writer(file: TextIO, form: CsvForm) -> Callable[[Row], object]:
    """Return what writes one row.

    The csv module puts quotes around a cell that has a sign of the line terminator. It is given all signs that need
    them, and the true line end takes their place: a lone carriage return would else stand bare where rows end in "\\n".
    """
    terminator = "\r\n" + form.quoted_signs
    end, cut = form.line_end, -len(terminator)

    class Ending:
        """Takes whole rows from the csv module."""

        @staticmethod
        def write(line: str) -> int:
            return file.write(line[:cut] + end)

    target = file if terminator == end else Ending
    if form.quote_all:
        return csv.writer(target, delimiter=form.separator, lineterminator=terminator, quoting=csv.QUOTE_ALL).writerow
    return csv.writer(target, delimiter=form.separator, lineterminator=terminator).writerow


def _unwritable(row: Row, number: int, form: CsvForm) -> FieldError:
    at, sign = next((at, sign) for at, cell in enumerate(row, 1) if (sign := unwritable(cell, form.encoding)))
    where = f"line {number}, column {at}" if number == 1 else f"row {number} ({row[0]}), column {at}"
    hint = 'Write encoding = "utf-8" or transliterate = true in the channel\'s [dialect], or other words.'
    return FieldError(f'{where} of the table: {form.encoding} has no "{sign}" (U+{ord(sign):04X}).', hint)


class _Lines:
    """The physical lines of a file; `last` is the one that was read last, so that each row's own end can be seen."""

    def __init__(self, file: TextIO, end: str) -> None:
        self._file = file
        self._end = end
        self.last = ""

    def __iter__(self) -> Iterator[str]:
        for line in self._file:
            self.last = line
            yield line

    def ends_well(self) -> bool:
        """Whether the last line ends as every row should."""
        return self.last.endswith(self._end) and (self._end == "\r\n" or not self.last.endswith("\r\n"))


def _difference(lines: _Lines, rows: Iterable[Row], form: CsvForm) -> str:
    reader = csv.reader(lines, delimiter=form.separator, doublequote=True, strict=True)
    for number, (found, wanted) in enumerate(zip_longest(reader, rows), 1):
        if found is None:
            return f"it ends before row {number}."
        if wanted is None:
            return f"row {number} was not asked for."
        if tuple(found) != wanted:
            return f"row {number} is not the one that was asked for."
        if not lines.ends_well():
            return f"row {number} does not end as every row should."
    return ""


# datapackage.json: what the columns of a channel's CSV files are, for programs (Data Package v2, Table Schema).
#
# A field of ours is typed by its kind and names its schema.org property; what no rule of ours promises (an address
# where the channel has none) is promised nowhere.

PROFILES: Final = "https://datapackage.org/profiles/2.0"
# Properties of schema.org that our fields of the same name are; the others are words of our own.
SCHEMA_ORG: Final = frozenset(
    {
        "availability", "availabilityEnds", "availabilityStarts", "brand", "category", "depth", "description", "gtin",
        "height", "image", "inProductGroupWithID", "inventoryLevel", "keywords", "name", "price", "priceCurrency",
        "priceValidUntil", "sku", "url", "weight", "width",
    }
)  # fmt: skip
# schema.org 30.0, members of ItemAvailability.
AVAILABILITY: Final = (
    "BackOrder", "Discontinued", "InStock", "InStoreOnly", "LimitedAvailability", "MadeToOrder", "OnlineOnly",
    "OutOfStock", "PreOrder", "PreSale", "Reserved", "SoldOut",
)  # fmt: skip
PATTERNS: Final = {"priceCurrency": "^[A-Z]{3}$", "gtin": "^([0-9]{8}|[0-9]{12,14})$"}
_TYPES: Final = {Kind.TEXT: "string", Kind.DATE: "date", Kind.NUMBER: "integer", Kind.YES_NO: "boolean"}
"""All others are decimal numbers."""
Listed = tuple[Listing, ...]


def package_job(files: tuple[FeedFile, ...], listed: Listed, context: WriteContext) -> Job:
    """Return the job that writes datapackage.json, for the CSV files of one channel."""
    key = files[0].channel.key
    file = File(
        f"{key}/datapackage.json",
        key_of(context.version, readable(package(files, listed))),
        channel=key,
        verify=verify_package,
    )
    return Job(write_package, (files, listed), (file,))


def write_package(files: tuple[FeedFile, ...], listed: Listed, paths: tuple[Path, ...]) -> None:
    """Write the Data Package: a recipe."""
    paths[0].write_text(readable(package(files, listed)), encoding="utf-8", newline="")


def verify_package(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when the file holds the Data Package computed afresh, else what is wrong."""
    return document_fault(path, package(*inputs))


def package(files: tuple[FeedFile, ...], listed: Listed) -> Json:
    """Return the Data Package that describes the channel's CSV files."""
    channel = files[0].channel
    return {
        "$schema": f"{PROFILES}/datapackage.json",
        "name": re.sub(r"[^a-z0-9._-]+", "-", channel.key.lower()),
        "title": f"Feed for {channel.name}",
        "resources": [_resource(one, listed) for one in files],
    }


def _resource(file: FeedFile, listed: Listed) -> Json:
    channel = file.channel
    return {
        "name": file.name,
        "type": "table",
        "path": f"{file.name}.csv",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": channel.dialect.encoding,
        "dialect": _dialect(channel.dialect),
        "schema": _schema(channel, feed_columns(channel, listed)),
    }


def _dialect(dialect: Dialect) -> Json:
    return {
        "$schema": f"{PROFILES}/tabledialect.json",
        "header": dialect.header,
        "delimiter": dialect.separator,
        "lineTerminator": LINE_ENDS[dialect.line_end],
        "quoteChar": '"',
        "doubleQuote": True,
        "skipInitialSpace": False,
    }


def _schema(channel: Channel, columns: tuple[FeedColumn, ...]) -> Json:
    names = tuple(_names(columns, channel.dialect))
    fields = [_field(name, column, channel) for name, column in zip(names, columns, strict=True)]
    keys = [name for name, column in zip(names, columns, strict=True) if _is_key(column)]
    schema: dict[str, Json] = {"$schema": f"{PROFILES}/tableschema.json", "fields": fields, "missingValues": [""]}
    return schema | ({"primaryKey": keys[:1]} if keys else {})


def _names(columns: tuple[FeedColumn, ...], dialect: Dialect) -> Iterator[str]:
    """Yield each heading as the file has it; what stands twice, or is empty, gets its column's number behind."""
    seen: set[str] = set()
    written = text_cell(dialect)
    for number, column in enumerate(columns, 1):
        name = written(column.heading)
        yield name if name and name not in seen else f"{name} {number}".strip()
        seen.add(name)


def _is_key(column: FeedColumn) -> bool:
    return column.field is FIELDS["sku"] and not column.once


def _field(name: str, column: FeedColumn, channel: Channel) -> Json:
    rules = _constraints(column, channel)
    more: dict[str, Json] = {"constraints": rules} if rules else {}
    if column.field is None or column.mapped:
        return {"name": name, "type": "string"} | more
    field, dialect = column.field, channel.dialect
    kind = _TYPES.get(field.kind, "number")
    described: dict[str, Json] = {"name": name, "type": kind, "description": field.meaning}
    if kind == "number":
        described["decimalChar"] = dialect.decimal
    if kind == "date" and dialect.date != Dialect().date:
        described["format"] = _day_pattern(dialect.date)
    if kind == "boolean":
        written = text_cell(dialect)
        described |= {"trueValues": [written(dialect.yes)], "falseValues": [written(dialect.no)]}
    if field.name in SCHEMA_ORG:
        described["rdfType"] = f"https://schema.org/{field.name}"
    return described | more


def _day_pattern(form: str) -> str:
    """Return a form of dates as strptime names it, in which Table Schema states it."""
    return form.replace("2027", "%Y").replace("02", "%m").replace("28", "%d")


def _constraints(column: FeedColumn, channel: Channel) -> dict[str, Json]:
    """Return what every cell of a column keeps to: by our own rules, and by the channel's."""
    found = _our_rules(column) if column.field and not column.mapped else {}
    stated = channel.columns[column.entry] if column.entry >= 0 else None
    if stated is None or column.once:
        return found
    if stated.required:
        found["required"] = True
    if stated.allowed:
        found["enum"] = list(map(text_cell(channel.dialect), stated.allowed))
    if stated.longest and channel.limits.count == "characters" and column.kind is Kind.TEXT:
        found["maxLength"] = stated.longest
    return found


def _our_rules(column: FeedColumn) -> dict[str, Json]:
    assert column.field is not None
    name = column.field.name
    found: dict[str, Json] = {}
    if _is_key(column) or (name in ("price", "priceCurrency", "name") and not column.once):
        found["required"] = True
    if _is_key(column):
        found["unique"] = True
    if name == "availability":
        found["enum"] = list(AVAILABILITY)
    if name in PATTERNS:
        found["pattern"] = PATTERNS[name]
    if column.field.kind in (Kind.MONEY, Kind.WEIGHT, Kind.LENGTH, Kind.NUMBER, Kind.SHARE) and name != "kept":
        found["minimum"] = 0
    return found


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield every data file that a channel takes as CSV, and one datapackage.json for them all."""
    for channel, own in listings.by_channel():
        files = tuple(one for one in feed_files(channel) if one.channel.feed == "csv")
        for one in files:
            yield Job(write_feed, (one.channel, own), (_file(one, own, context),))
        if files:
            yield package_job(files, own, context)


def _file(feed: FeedFile, listed: Listed, context: WriteContext) -> File:
    channel = feed.channel
    return File(
        feed.path,
        stream_key(table(channel, listed), context.version, CsvForm.of(channel.dialect)),
        codes_of(listed),
        feed_prices(channel, listed, feed_columns(channel, listed)),
        channel=channel.key,
        guarded=channel.dialect.guard_formulas,
        verify=verify_feed,
    )


def table(channel: Channel, listed: Listed) -> Iterator[Row]:
    """Yield the header, where the dialect has one, and every row."""
    columns = feed_columns(channel, listed)
    headings = tuple(column.heading for column in columns)
    return with_header(headings, feed_rows(channel, listed, columns), channel.dialect)


def write_feed(channel: Channel, listed: Listed, paths: tuple[Path, ...]) -> None:
    """Write the feed: a recipe."""
    write_table(paths[0], table(channel, listed), CsvForm.of(channel.dialect))


def verify_feed(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when the file reads as the rows it should hold, else the first difference."""
    channel, own = inputs
    return table_fault(path, table(channel, own), CsvForm.of(channel.dialect))


# price-list.csv: what a stall needs on one sheet, a row a variant in the order of the listings.
#
# Written in the channel's dialect and read again like a feed.

PRICE_HEADINGS: Final = {
    "code": "sku",
    "name": "title",
    "options": "choice",
    "price": "price",
    "sizes": "netContents",
    "gtin": "gtin",
}
PriceListed = tuple[Listing, ...]


def write_price_list(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield the price list of every channel that asks for one."""
    currency = listings.catalog.shop.settings.currency
    for channel, own in listings.by_channel():
        if "price list" in channel.make:
            file = File(
                f"{channel.key}/price-list.csv",
                stream_key(price_table(channel, own, currency), context.version, CsvForm.of(channel.dialect)),
                codes_of(own),
                prices_of(own, "variant"),
                channel=channel.key,
                guarded=channel.dialect.guard_formulas,
                verify=verify_prices,
            )
            yield Job(write_prices, (channel, own, currency), (file,))


def price_table(channel: Channel, listed: PriceListed, currency: str) -> Iterator[Row]:
    """Yield the header, which names the currency once for all, and a row a variant."""
    columns = tuple(FeedColumn(heading, FIELDS[name]) for heading, name in PRICE_HEADINGS.items())
    headings = tuple(f"price ({currency})" if heading == "price" else heading for heading in PRICE_HEADINGS)
    rows = rows_of(listed, columns, dialect_cells(channel.dialect), rows="variant")
    return with_header(headings, rows, channel.dialect)


def write_prices(channel: Channel, listed: PriceListed, currency: str, paths: tuple[Path, ...]) -> None:
    """Write the price list: a recipe."""
    write_table(paths[0], price_table(channel, listed, currency), CsvForm.of(channel.dialect))


def verify_prices(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when the file reads as the rows it should hold, else the first difference."""
    channel, own, currency = inputs
    return table_fault(path, price_table(channel, own, currency), CsvForm.of(channel.dialect))
