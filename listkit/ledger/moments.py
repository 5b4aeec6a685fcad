"""The times of records: stored with their distance to UTC, shown in this computer's zone."""

import datetime

from listkit.ledger.faults import printable
from listkit.problem import FieldError


def moment_of(at: str) -> datetime.datetime:
    """Return the time of a stamp, ISO 8601 with its distance to UTC.

    Raises:
        FieldError: it is no time, or has no distance to UTC.

    >>> moment_of("2026-11-25T10:30+01:00").utcoffset()
    datetime.timedelta(seconds=3600)
    """
    try:
        moment = datetime.datetime.fromisoformat(at)
    except ValueError:
        moment = None
    # In another zone the first and the last year may have no such day.
    if moment is None or moment.tzinfo is None or not datetime.MINYEAR < moment.year < datetime.MAXYEAR:
        raise FieldError(f'"{printable(at)}" is no time.', 'Write it as in "2026-11-25T10:30+00:00".')
    return moment


def local_time(at: str) -> str:
    """Return the time of a stamp for people: day, hour and minute in this computer's zone, wherever it was recorded.

    Raises:
        FieldError: it is no time, or has no distance to UTC.
    """
    return f"{moment_of(at).astimezone():%Y-%m-%d at %H:%M}"
