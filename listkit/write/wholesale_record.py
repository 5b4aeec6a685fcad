"""wholesale/record.jsonl: every line that shops may order as plain facts, for the ledger; see `record`."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.wholesale import Sheet, SheetEntry, SheetLine, build_sheet
from listkit.fields import Kind
from listkit.listing.listings import Listings
from listkit.save.job import File, Job, Recipe
from listkit.units.money import Money
from listkit.write.context import WriteContext, stream_key
from listkit.write.json_text import canonical, lines_fault, write_lines
from listkit.write.record import json_value


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield the record of the lines; nothing without terms for shops."""
    sheet = build_sheet(listings.catalog)
    if sheet is None:
        return
    file = File(
        "wholesale/record.jsonl",
        stream_key(wholesale_records(listings.catalog), context.version),
        tuple(line.code for line in sheet.lines),
        tuple(str(line.wholesale) for line in sheet.lines),
        channel="wholesale",
        verify=verify_record,
    )
    yield Job(write_record, (sheet,), (file,))


def wholesale_records(catalog: Catalog) -> Iterator[tuple[str, str]]:
    """Yield code and line of every row; none without terms for shops."""
    sheet = build_sheet(catalog)
    return iter(()) if sheet is None else records_of(sheet)


def records_of(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Yield code and line of every row of a sheet."""
    for entry in sheet.entries:
        variants = {one.code: one for one in entry.facts.variants} if entry.facts else {}
        for line in entry.lines:
            facts = {**_shared(entry, line), **_own(entry, variants.get(line.code)), **_prices(sheet, entry, line)}
            known = {name: value for name, value in facts.items() if value not in (None, "", [])}
            yield line.code, canonical(known)


def write_record(sheet: Sheet, paths: tuple[Path, ...]) -> None:
    """Write the record: a recipe."""
    write_lines(paths[0], (line for _, line in records_of(sheet)))


def verify_record(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when every line is one JSON object with the facts computed afresh, else the first difference."""
    return lines_fault(path, (line for _, line in records_of(inputs[0])))


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
        "box": facts.box.code if facts.box else "",
        "season": facts.source.gift_set.season,
    }


def _prices(sheet: Sheet, entry: SheetEntry, line: SheetLine) -> dict[str, Any]:
    """Return what the line costs besides its wholesale price: by the tiers, and as a display set."""
    lower = zip(sheet.tiers, line.tiers, strict=True)
    return {
        "tierPrices": [f"{tier.start}: {json_value(Kind.MONEY, price)}" for tier, price in lower],
        "displayPrice": json_value(Kind.MONEY, entry.display),
    }
