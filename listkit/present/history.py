"""The history of a code's prices as lines and as JSON."""

import datetime
from collections.abc import Iterator
from typing import Any

from listkit.actions.history import History
from listkit.ledger.history import PRIOR_DAYS
from listkit.present.table import table


def history_lines(history: History, day: datetime.date) -> Iterator[str]:
    """Yield a table of every price, then the lowest on each channel before `day`."""
    rows = [("day", "channel", "price", "note")]
    rows += [
        (str(point.day), point.channel, "taken down" if point.price is None else str(point.price), point.note)
        for point in history.points
    ]
    yield table(rows, left=4)
    for channel, price in history.lowest.items():
        yield f"lowest on {channel} in the {PRIOR_DAYS} days before {day}: {price or 'not known'}"


def history_json(history: History) -> dict[str, Any]:
    """Return every price, null where it was taken down, and the lowest prior ones by channel."""
    prices = [
        {
            "channel": point.channel,
            "at": point.at,
            "price": None if point.price is None else str(point.price),
            "note": point.note,
        }
        for point in history.points
    ]
    return {"code": history.code, "prices": prices, "lowest_prior": history.lowest}
