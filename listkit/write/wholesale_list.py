"""wholesale/price-list.csv and price-list.pdf: every line that shops may order, without pictures, a row a code.

The CSV is for a buyer's own system: figures with a point, days in ISO 8601, the currency named in the headings. The PDF
is one page as long as the lines go on it.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from listkit.compute.wholesale import Packs, SheetEntry, SheetGroup, SheetLine
from listkit.listing.cells import LENGTH_PLACES, WEIGHT_PLACES, half_up, money_digits, text_cell
from listkit.listing.listings import Listings
from listkit.listing.papers import papers_of
from listkit.listing.rows import Row
from listkit.listing.sentences import fill
from listkit.listing.sheet import Document, EntryText, LineText, display_code
from listkit.model.channel import Dialect
from listkit.model.shop import Shop
from listkit.save.job import File, Job, Recipe, key_of
from listkit.units.length import LENGTH_UNITS
from listkit.units.shown import Measures
from listkit.write.context import WriteContext, stream_key
from listkit.write.csv_feed import CsvForm, table_fault, with_header, write_table
from listkit.write.line_sheet import codes_of, page_facts
from listkit.write.print import Layout, layout_with, print_pdf, printer, verify_pdf

LAYOUTS: Final = ("print/price_list.typ", "print/common.typ")
_DIALECT: Final = Dialect()
_NAMES: Final = ("code", "line", "gtin", "wholesale", "retail", "version", "case", "least")
_SIZES: Final = (("roomy", 45, 58), ("large", 46, 66))  # of type; lines on one page, letters of a name on a line


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield both price lists; nothing without terms for shops."""
    document = papers_of(listings).document
    if document is None:
        return
    rows = tuple(table(document))
    prices = tuple(str(line.wholesale) for line in document.sheet.lines)
    displays = sum(entry.display is not None for entry in document.sheet.entries)
    codes = codes_of(document)
    key = stream_key(rows, context.version, CsvForm.of(_DIALECT))
    listed = File(
        "wholesale/price-list.csv", key, codes, (*prices, *[""] * displays),
        channel="wholesale", guarded=True, verify=verify_list,
    )  # fmt: skip
    yield Job(write_list, (rows,), (listed,))
    layout = price_list_layout(document, listings.catalog.shop)
    page = File(
        "wholesale/price-list.pdf", key_of(context.version, printer(), layout), codes, prices,
        channel="wholesale", verify=verify_pdf,
    )  # fmt: skip
    yield Job(print_list, (layout,), (page,))


def table(document: Document) -> Iterator[Row]:
    """Yield the header and a row a code; display sets follow the lines."""
    return with_header(headings(document), _rows(document), _DIALECT)


def headings(document: Document) -> Row:
    """Return the headings, in the language of the shop."""
    own, currency, measures = document.voice.own.sheet, document.sheet.currency, document.voice.measures
    tiers = (fill(own.tier, count=str(tier.start)) for tier in document.sheet.tiers)
    money = (f"{name} ({currency})" for name in (own.wholesale_before_tax, *tiers, own.retail))
    return (
        own.code, own.line, own.choice, own.size, own.gtin, own.case_gtin, *money, own.case, own.least,
        f"{own.weight} ({measures.weight_sign})", f"{own.outside} ({measures.length_sign})",
        own.keeps_months, own.order_by, own.ships_from, own.ships_until,
    )  # fmt: skip


def _rows(document: Document) -> Iterator[Row]:
    for group, told in zip(document.sheet.groups, document.text.groups, strict=True):
        for entry, entry_text in zip(group.entries, told.entries, strict=True):
            for line, line_text in zip(entry.lines, entry_text.lines, strict=True):
                yield _safe(_row(group, entry, line, (entry_text, line_text), document.voice.measures))
    tiers = ("",) * len(document.sheet.tiers)
    for entry in document.sheet.entries:
        if entry.display is not None:
            label = document.voice.own.sheet.display_set
            begin = (display_code(entry.code), entry.name, label, "", "", "", money_digits(entry.display))
            yield _safe((*begin, *tiers, *("",) * 9))


def _row(
    group: SheetGroup, entry: SheetEntry, line: SheetLine, texts: tuple[EntryText, LineText], measures: Measures
) -> Row:
    entry_text, line_text = texts
    window = group.window
    days = (day.isoformat() if day else "" for day in (window.order_by, window.ships_from, window.ships_until))
    mass, length = measures.weight_sign, measures.length_sign
    weight = f"{half_up(line.weight.in_unit(mass), WEIGHT_PLACES[mass] if measures.customary else 1):f}"
    sides = line.outside.sides if line.outside else ()
    outside = " x ".join(f"{half_up(side / LENGTH_UNITS[length], LENGTH_PLACES[length]):f}" for side in sides)
    return (
        line.code, entry.name, line_text.choice, entry_text.size, line.gtin, line.case_gtin,
        money_digits(line.wholesale), *map(money_digits, line.tiers), money_digits(line.retail),
        _count(entry.packs.case), _count(entry.packs.least), weight, outside,
        _count(entry.keeps.months if entry.keeps else None), *days,
    )  # fmt: skip


def _count(number: int | None) -> str:
    return "" if number is None else str(number)


def _safe(row: Row) -> Row:
    return tuple(map(text_cell(_DIALECT), row))


def write_list(rows: tuple[Row, ...], paths: tuple[Path, ...]) -> None:
    """Write the CSV: a recipe."""
    write_table(paths[0], rows, CsvForm.of(_DIALECT))


def verify_list(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when the file reads as the rows it should hold, else the first difference."""
    return table_fault(path, inputs[0], CsvForm.of(_DIALECT))


def print_list(layout: Layout, paths: tuple[Path, ...]) -> None:
    """Print the page: a recipe."""
    print_pdf(paths[0], layout)


def price_list_layout(document: Document, shop: Shop) -> Layout:
    """Return the layout of the page with all that it shows."""
    own, text = document.voice.own.sheet, document.text
    packs = {entry.code: entry.packs for entry in document.sheet.entries}
    groups: list[dict[str, Any]] = [
        {
            "title": group.title,
            "window": group.window,
            "rows": [_listed(entry, line, packs[entry.code]) for entry in group.entries for line in entry.lines],
        }
        for group in text.groups
    ]
    if shown := [entry for group in text.groups for entry in group.entries if entry.display]:
        rows = [_display_row(entry, len(document.sheet.tiers)) for entry in shown]
        if groups[-1]["title"] == own.display_set:  # those of several sets and items
            groups[-1]["rows"] += rows
        else:
            groups.append({"title": own.display_set, "window": (), "rows": rows})
    below = 2 + -(-len(text.terms) // 2) if text.terms else 0  # the terms stand two a line beneath a title
    facts = {
        **page_facts(document, shop, own.price_list, logo=False),
        "size": next((size for size, most, letters in _SIZES if _lines_of(groups, letters) + below <= most), "small"),
        "words": {**{name: getattr(own, name) for name in _NAMES}, "terms": document.voice.own.terms.terms},
        "packs": {
            "case": any(pack.case for pack in packs.values()),
            "least": any(pack.least for pack in packs.values()),
        },
        "tiers": [fill(own.tier, count=str(tier.start)) for tier in document.sheet.tiers],
        "head": text.head,
        "terms": text.terms,
        "notes": text.notes,
        "groups": groups,
    }
    return layout_with(shop, LAYOUTS, facts, day=text.issued)


def _lines_of(groups: list[dict[str, Any]], letters: int) -> int:
    """Return how many lines the groups take, about, with so many letters of a name on a line."""
    names = (f"{row['name']}, {row['more']}" for group in groups for row in group["rows"])
    return len(groups) + sum(1 + len(name) // letters for name in names)


def _listed(entry: EntryText, line: LineText, packs: Packs) -> dict[str, Any]:
    return {
        "case": _count(packs.case),
        "least": _count(packs.least),
        "code": line.code,
        "name": entry.name,
        "more": line.choice or entry.size,
        "gtin": line.gtin,
        "prices": [line.wholesale, *line.tiers, line.retail],
    }


def _display_row(entry: EntryText, tiers: int) -> dict[str, Any]:
    code, label, price = (entry.display.code, entry.display.label, entry.display.price) if entry.display else ("",) * 3
    return {
        "code": code,
        "name": entry.name,
        "more": label,
        "gtin": "",
        "case": "",
        "least": "",
        "prices": [price, *[""] * (tiers + 1)],
    }
