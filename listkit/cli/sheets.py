"""What the ledger knows of line sheets that were given out: for the next sheet, for checks, for orders."""

import datetime
import json
import re
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any, Final

from listkit.cli.said import facts_of, told
from listkit.compute.catalog import Catalog
from listkit.compute.orders import book_of
from listkit.compute.wholesale import GivenOut, LinePrices, PreviousSheet, PriceBook, Sheet, SheetHistory, build_sheet
from listkit.ledger.changes import amount_of
from listkit.ledger.store import LEDGER, Lines, canonical, lines_of, standing
from listkit.listing.sheet import display_code, version_code
from listkit.units.money import Money

SHEET: Final = "sheet"
_WHOLESALE: Final = "wholesale"
_TIER: Final = re.compile(r"(\d+): (\S+)")


def sheet_rules(catalog: Catalog) -> Lines:
    """Return what is recorded of the sheet as a whole: version, days, tiers, display; nothing without one."""
    sheet = build_sheet(catalog)
    if sheet is None:
        return ()
    terms = sheet.terms
    facts: dict[str, Any] = {
        "version": version_code(sheet),
        "issued": told(terms.issued),
        "valid_until": told(terms.valid_until),
        "lines": [entry.code for entry in sheet.entries],
        "tiers": [told(tier) for tier in sheet.tiers],
        "display": told(facts_of(terms.display)) if terms.display else "",
    }
    return ((SHEET, canonical({name: value for name, value in facts.items() if value})),)


def sheet_history(root: Path, catalog: Catalog) -> SheetHistory:
    """Return the current version, and all that was given out before.

    Raises:
        FieldError: the ledger cannot be used.
    """
    sheet = build_sheet(catalog)
    if sheet is None:
        return SheetHistory()
    current, ledger = version_code(sheet), root / LEDGER
    given = tuple(
        GivenOut(facts["version"], record.day, _day(facts), _day(facts, "valid_until"), record.number)
        for record, line in lines_of(ledger, SHEET, "rules")
        if line is not None and record.channel == _WHOLESALE and "version" in (facts := json.loads(line))
    )
    before = next((one for one in reversed(given) if one.version != current), None)
    return SheetHistory(current, given, _previous(ledger, before, sheet.currency) if before else None)


def _day(facts: Mapping[str, Any], name: str = "issued") -> datetime.date | None:
    try:
        return datetime.date.fromisoformat(str(facts.get(name, "")))
    except ValueError:
        return None


def _previous(ledger: Path, one: GivenOut, currency: str) -> PreviousSheet:
    rows = _rows(ledger, one)
    prices = ((code, _amount(row, "wholesalePrice"), _amount(row, "suggestedRetail")) for code, row in rows.items())
    known = ((code, wholesale, retail) for code, wholesale, retail in prices if wholesale is not None)
    return PreviousSheet(
        one.version,
        tuple((code, Money(cost, currency), Money(retail or Decimal(0), currency)) for code, cost, retail in known),
        one.issued,
    )


def _rows(ledger: Path, one: GivenOut) -> dict[str, dict[str, Any]]:
    found = standing(ledger, _WHOLESALE, "rows", until=one.number)
    return {code: json.loads(line) for code, line in found.items()}


def _amount(row: Mapping[str, Any], name: str) -> Decimal | None:
    return amount_of(row.get(name))


def price_book(root: Path, sheet: Sheet, history: SheetHistory, version: str) -> PriceBook | None:
    """Return the prices of a version: today's from the shop, an older one's from the ledger; None for no version.

    Raises:
        FieldError: the ledger cannot be used.
    """
    if version == history.current:
        return book_of(sheet, version, {entry.code: display_code(entry.code) for entry in sheet.entries})
    one = history.find(version)
    if one is None:
        return None
    prices: dict[str, LinePrices] = {}
    for code, row in _rows(root / LEDGER, one).items():
        if (wholesale := _amount(row, "wholesalePrice")) is not None:
            tiers = (match for text in row.get("tierPrices", ()) if (match := _TIER.fullmatch(str(text))))
            prices[code] = LinePrices(wholesale, tuple((int(tier[1]), Decimal(tier[2])) for tier in tiers))
        if (display := _amount(row, "displayPrice")) is not None:
            prices.setdefault(display_code(str(row.get("inProductGroupWithID", code))), LinePrices(display))
    return PriceBook(version, one.valid_until, tuple(prices.items()))
