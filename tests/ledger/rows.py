"""Rows put together by hand: what the tests of the ledger record, change and compare.

Nothing but the ledger is imported: processes that are killed load this, dozens of times.
"""

import datetime
from collections.abc import Iterable
from typing import Any

from listkit.ledger.lines import canonical
from listkit.ledger.orders import KeptOrder
from listkit.ledger.store import Snapshot, Stamp

TEXT = "The first warm morning at the hives, in one box: a bar of soap, a balm for the lips, and a jar. " * 4


def row(code: str, price: str = "29.00", **facts: Any) -> dict[str, Any]:
    """The facts of a variant of OHS-1 that holds the bar OH-B01, unless told otherwise."""
    usual = {
        "sku": code,
        "inProductGroupWithID": "OHS-1",
        "itemCodes": ["OH-B01", "OH-U01"],
        "price": price,
        "fullCost": "9.28",
        "description": TEXT,
        "box": "S",
        "season": "spring",
    }
    return {**usual, **facts}


def lines(*rows: dict[str, Any]) -> tuple[tuple[str, str], ...]:
    """The rows as lines of record.jsonl, by code."""
    return tuple((str(one["sku"]), canonical(one)) for one in rows)


def facts(**of: dict[str, Any]) -> tuple[tuple[str, str], ...]:
    """Lines of items, sets or rules; "OH_B01" is the code OH-B01."""
    return tuple((code.replace("_", "-"), canonical(one)) for code, one in of.items())


def snapshot(*rows: dict[str, Any], **sections: Iterable[tuple[str, str]]) -> Snapshot:
    """What is recorded of a channel with these rows."""
    return Snapshot(lines(*rows), **sections)


def at(day: int, hour: int = 10, note: str = "") -> Stamp:
    """A time in November 2026."""
    return Stamp(f"2026-11-{day:02d}T{hour:02d}:00:00+00:00", note, "0.1.0")


def old() -> Snapshot:
    """A published shop of 400 variants."""
    return snapshot(*(row(f"A-{number}", description=f"{number} {TEXT}") for number in range(400)))


def new() -> Snapshot:
    """Many changes, so that there is time for a kill while pages are written and the journal lies there."""
    return snapshot(*(row(f"A-{number}", "31.00", description=f"{number} new {TEXT}") for number in range(2000)))


DAY = datetime.date(2027, 1, 20)


def order_facts(asked: dict[str, int], **stated: Any) -> dict[str, Any]:
    """What is kept of an order of so many of each code, unless told otherwise."""
    usual = {
        "sheet": "",
        "asked": asked,
        "lines": [{"code": code, "quantity": quantity} for code, quantity in asked.items()],
        "pieces": sum(asked.values()),
        "total": "0.00",
        "currency": "GBP",
        "files": [],
    }
    return {**usual, **stated}


def order(reference: str, total: str = "547.20", *, lines: int = 1) -> KeptOrder:
    """An order of The Thistle Drawer; with many lines writing it takes a while."""
    facts = order_facts({f"OH-{at}": at for at in range(lines)}, sheet="6WC96", total=total)
    return KeptOrder(0, "ST-01", reference, DAY, facts)
