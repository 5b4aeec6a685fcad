"""Days of the calendar, as files of other programs write them."""

import datetime
import re
from typing import Final

ISO_DAY: Final = "2027-02-28"
"""The form of days in ISO 8601."""
_PARTS: Final = re.compile("2027|02|28")


def day_text(day: datetime.date, form: str) -> str:
    """Return a day in the form that 28 February 2027 has in `form`: "28/02/2027", "2027-02-28"."""
    parts = {"2027": f"{day.year:04}", "02": f"{day.month:02}", "28": f"{day.day:02}"}
    return _PARTS.sub(lambda match: parts[match[0]], form)
