"""All problems of a shop folder, as the command `check` tells them: for tests of what the whole says."""

import datetime
from pathlib import Path

from listkit.pipeline import check_shop
from listkit.problem import Problem


def problems_of(folder: Path, today: datetime.date) -> list[Problem]:
    """Return every problem that listkit tells of a shop folder, sorted by place; nothing is written."""
    return list(check_shop(folder, today).problems)
