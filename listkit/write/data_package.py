"""datapackage.json: what the columns of a channel's CSV files are, for programs (Data Package v2, Table Schema).

A field of ours is typed by its kind and names its schema.org property; what no rule of ours promises (an address where
the channel has none) is promised nowhere.
"""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from listkit.fields import FIELDS, Kind
from listkit.job import File, Job, Recipe, key_of
from listkit.listing.cells import text_cell
from listkit.listing.feed_files import FeedFile
from listkit.listing.listings import Listing
from listkit.listing.rows import FeedColumn, feed_columns
from listkit.model.channel import Channel, Dialect
from listkit.write.context import WriteContext
from listkit.write.csv_table import LINE_ENDS
from listkit.write.json_text import Json, document_fault, readable

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


def package_job(files: tuple[FeedFile, ...], own: Listed, context: WriteContext) -> Job:
    """Return the job that writes datapackage.json, for the CSV files of one channel."""
    key = files[0].channel.key
    file = File(
        f"{key}/datapackage.json",
        key_of(context.version, readable(package(files, own))),
        channel=key,
        verify=verify_package,
    )
    return Job(write_package, (files, own), (file,))


def write_package(files: tuple[FeedFile, ...], own: Listed, paths: tuple[Path, ...]) -> None:
    """Write the Data Package: a recipe."""
    paths[0].write_text(readable(package(files, own)), encoding="utf-8", newline="")


def verify_package(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when the file holds the Data Package computed afresh, else what is wrong."""
    return document_fault(path, package(*inputs))


def package(files: tuple[FeedFile, ...], own: Listed) -> Json:
    """Return the Data Package that describes the channel's CSV files."""
    channel = files[0].channel
    return {
        "$schema": f"{PROFILES}/datapackage.json",
        "name": re.sub(r"[^a-z0-9._-]+", "-", channel.key.lower()),
        "title": f"Feed for {channel.name}",
        "resources": [_resource(one, own) for one in files],
    }


def _resource(one: FeedFile, own: Listed) -> Json:
    channel = one.channel
    return {
        "name": one.name,
        "type": "table",
        "path": f"{one.name}.csv",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": channel.dialect.encoding,
        "dialect": _dialect(channel.dialect),
        "schema": _schema(channel, feed_columns(channel, own)),
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
        described |= {"trueValues": [dialect.yes], "falseValues": [dialect.no]}
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
