"""record.jsonl: every row as plain facts, for the ledger: no dialect, no wording of ours.

A line is one object in the canonical form of RFC 8785, text in Unicode's form NFC, so that equal facts are equal bytes.
Money is text with the currency's digits, weights are grams, lengths millimetres, shares 0 to 1, days ISO 8601, families
arrays. A fact that is not known, and an empty text or family, is left out.
"""

import unicodedata
from collections.abc import Callable, Iterable, Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.wholesale import Sheet, SheetEntry, SheetLine, build_sheet
from listkit.fields import FIELDS, Kind
from listkit.listing.cells import LENGTH_PLACES, SHARE_PLACES, WEIGHT_PLACES, Cell, money_digits, plain_cell
from listkit.listing.listings import Listing, Listings
from listkit.listing.papers import papers_of
from listkit.listing.rows import FeedColumn, Rows, prices_of, rows_from, unsorted
from listkit.model.channel import Dialect
from listkit.save.job import File, Job, Recipe
from listkit.units.length import LENGTH_UNITS
from listkit.units.money import Money
from listkit.write.context import WriteContext, codes_of, stream_key
from listkit.write.json_text import Json, canonical, lines_fault, number, write_lines

Listed = tuple[Listing, ...]
_PLAIN: Final = Dialect()  # facts in text, as the keys of a column's map name them
_KEPT_FIGURES: Final = 4096  # members of figures, which repeat from row to row
_KEPT_TEXTS: Final = 64  # and of texts, which may be long and repeat within a set


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield record.jsonl for every channel."""
    for channel, own in listings.by_channel():
        file = File(
            f"{channel.key}/record.jsonl",
            stream_key(records(own, channel.row_kind), context.version),
            codes_of(own),
            prices_of(own, channel.row_kind),
            channel=channel.key,
            verify=verify_record,
        )
        yield Job(write_record, (own, channel.row_kind), (file,))


def records(listed: Listed, rows: str) -> Iterator[str]:
    """Yield one object a row, with all fields in the order of their names."""
    columns = tuple(FeedColumn(name, FIELDS[name]) for name in sorted(FIELDS))
    return objects(unsorted(listed, rows), columns)


def objects(sources: Iterable[Rows], columns: tuple[FeedColumn, ...]) -> Iterator[str]:
    """Yield a JSON object a row, with a member a column in their order; what is not known is left out."""
    for members in rows_from(sources, columns, _member_of):
        yield "{" + ",".join([member for member in members if member]) + "}"


def write_record(listed: Listed, rows: str, paths: tuple[Path, ...]) -> None:
    """Write the record: a recipe."""
    write_lines(paths[0], records(listed, rows))


def verify_record(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when every line is one JSON object with the facts computed afresh, else the first difference."""
    return lines_fault(path, records(*inputs))


def json_value(kind: Kind, value: Any, unit: str = "") -> Json:  # noqa: ANN401 (a fact of any kind)
    """Return a fact as JSON has it, unrounded but for digits that no scale or ruler shows.

    `unit` is that of a weight or length; without it they are grams and millimetres.
    """
    if value is None:
        return None
    if kind is Kind.WEIGHT:
        return number(value.in_unit(unit or "g"), WEIGHT_PLACES[unit or "g"])
    if kind is Kind.LENGTH:
        return number(value / LENGTH_UNITS[unit or "mm"], LENGTH_PLACES[unit or "mm"])
    return _JSON[kind](value)


def _normal(text: str) -> str:
    return unicodedata.normalize("NFC", text)


_JSON: Final[dict[Kind, Callable[[Any], Json]]] = {
    Kind.TEXT: lambda value: [_normal(part) for part in value] if isinstance(value, tuple) else _normal(value),
    Kind.MONEY: money_digits,
    Kind.SHARE: lambda share: number(share, SHARE_PLACES),
    Kind.NUMBER: int,
    Kind.DATE: str,
    Kind.YES_NO: bool,
}


def _member_of(column: FeedColumn) -> Cell:
    """Return what writes a column's member of an object: its name and the value."""
    name, kind, said = canonical(_normal(column.heading)), column.kind, _said(column)

    @lru_cache(maxsize=_KEPT_TEXTS if kind is Kind.TEXT else _KEPT_FIGURES)
    def member(value: object) -> str:
        found = said(value)
        return "" if found in (None, "", []) else f"{name}:{canonical(found)}"

    return member


def _said(column: FeedColumn) -> Callable[[object], Json]:
    """Return what gives a column's value: the channel's word where it has one, else the fact."""
    kind, theirs, unit = column.kind, column.theirs, column.unit
    if not theirs:
        return lambda value: json_value(kind, value, unit)
    plain = plain_cell(kind, _PLAIN, unit)

    def said(value: object) -> Json:
        if isinstance(value, tuple):
            return [_normal(theirs.get(part, part)) for part in value]
        text = plain(value)
        return _normal(theirs[text]) if text in theirs else json_value(kind, value, unit)

    return said


# wholesale/record.jsonl: every line that shops may order as plain facts, for the ledger; see `record`.


def write_wholesale(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield the record of the lines; nothing without terms for shops."""
    sheet = papers_of(listings).sheet
    if sheet is None:
        return
    file = File(
        "wholesale/record.jsonl",
        stream_key(sheet_records(sheet), context.version),
        tuple(line.code for line in sheet.lines),
        tuple(str(line.wholesale) for line in sheet.lines),
        channel="wholesale",
        verify=verify_sheet_record,
    )
    yield Job(write_sheet_record, (sheet,), (file,))


def wholesale_records(catalog: Catalog) -> Iterator[tuple[str, str]]:
    """Yield code and line of every row; none without terms for shops."""
    sheet = build_sheet(catalog)
    return iter(()) if sheet is None else sheet_records(sheet)


def sheet_records(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Yield code and line of every row of a sheet."""
    for entry in sheet.entries:
        variants = {one.code: one for one in entry.facts.variants} if entry.facts else {}
        for line in entry.lines:
            facts = {**_shared(entry, line), **_own(entry, variants.get(line.code)), **_prices(sheet, entry, line)}
            known = {name: value for name, value in facts.items() if value not in (None, "", [])}
            yield line.code, canonical(known)


def write_sheet_record(sheet: Sheet, paths: tuple[Path, ...]) -> None:
    """Write the record: a recipe."""
    write_lines(paths[0], (line for _, line in sheet_records(sheet)))


def verify_sheet_record(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when every line is one JSON object with the facts computed afresh, else the first difference."""
    return lines_fault(path, (line for _, line in sheet_records(inputs[0])))


def _shared(entry: SheetEntry, line: SheetLine) -> dict[str, Any]:
    return {
        "sku": line.code,
        "inProductGroupWithID": entry.code,
        "name": ", ".join((entry.name, *(choice.says for choice in line.choices))),
        "gtin": line.gtin,
        "itemCodes": [piece.item.code for piece in line.pieces],
        "wholesalePrice": json_value(Kind.MONEY, line.wholesale),
        "suggestedRetail": json_value(Kind.MONEY, line.retail),
        "weight": json_value(Kind.WEIGHT, line.weight),
    }


def _own(entry: SheetEntry, variant: Variant | None) -> dict[str, Any]:
    """Return what a set states beside; an item states its cost."""
    facts: SetFacts | None = entry.facts
    cost: Money | None = variant.full_cost if variant else entry.item.cost if entry.item else None
    if facts is None:
        return {"fullCost": json_value(Kind.MONEY, cost)}
    return {
        "fullCost": json_value(Kind.MONEY, cost),
        "box": variant.box.code if variant and variant.box else "",
        "season": facts.source.gift_set.season,
    }


def _prices(sheet: Sheet, entry: SheetEntry, line: SheetLine) -> dict[str, Any]:
    """Return what the line costs besides its wholesale price: by the tiers, and as a display set."""
    lower = zip(sheet.tiers, line.tiers, strict=True)
    return {
        "tierPrices": [f"{tier.start}: {json_value(Kind.MONEY, price)}" for tier, price in lower],
        "displayPrice": json_value(Kind.MONEY, entry.display),
    }
