"""What was recorded, and the history of a code's prices, as lines and as JSON."""

import datetime
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from listkit.actions.history import History
from listkit.actions.record import Recorded
from listkit.ledger.history import PRIOR_DAYS, PricePoint
from listkit.ledger.moments import local_time
from listkit.ledger.store import Record
from listkit.present.table import table
from listkit.units.spoken import Spoken


def history_lines(history: History, day: datetime.date, spoken: Spoken) -> Iterator[str]:
    """Yield a table of every price, then the lowest on each channel before `day`."""
    rows = [("day", "channel", f"price in {spoken.currency}", "note")]
    rows += [(str(point.day), point.channel, _shown(point), point.note) for point in history.points]
    yield table(rows, left=4)
    for channel, price in history.lowest.items():
        lowest = "not known" if price is None else spoken.money(Decimal(price))
        yield f"lowest on {channel} in the {PRIOR_DAYS} days before {spoken.day(day)}: {lowest}"


def _shown(point: PricePoint) -> str:
    return point.other or ("taken down" if point.price is None else str(point.price))


def history_json(history: History) -> dict[str, Any]:
    """Return every price, null where it was taken down, and the lowest prior ones by channel."""
    prices = [
        {
            "channel": point.channel,
            "at": point.at,
            "price": None if point.price is None else str(point.price),
            "note": point.note,
            **({"in_other_currency": point.other} if point.other else {}),
        }
        for point in history.points
    ]
    return {"code": history.code, "prices": prices, "lowest_prior": history.lowest}


def recorded_text(recorded: Recorded) -> str:
    """Return what was recorded: of which build, and which version of the line sheet."""
    key, new = recorded.key, recorded.record
    late = f", as it was built for {recorded.late}; the shop was changed since." if recorded.late else ""
    if new:
        text = f"{key} is recorded as of {local_time(new.at)}{late or '.'}"
    else:
        text = f"{key} is recorded already{f'{late} Nothing' if late else '; nothing'} was added."
    if not recorded.sheet:
        return text
    replaces = f", which replaces {recorded.replaces}" if recorded.replaces else ""
    kept = f" It stays in {recorded.kept}." if recorded.kept else ""
    return f"{text} The sheet is {recorded.sheet}{replaces}; write that of each stockist who gets it.{kept}"


def recorded_json(recorded: Recorded) -> dict[str, object]:
    """Return what was recorded; of a build that is older than the shop, the day too that it was for."""
    late = {"built_for": recorded.late} if recorded.late else {}
    return {**record_json(recorded.record, recorded=recorded.record is not None), **late}


def record_json(record: Record | None, *, recorded: bool) -> dict[str, object]:
    """Return a record, and whether it holds."""
    number, at, note = (record.number, record.at, record.note) if record else (None, None, None)
    return {"recorded": recorded, "number": number, "at": at, "note": note}
