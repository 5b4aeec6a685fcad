"""What check finds in a small shop, as the owner reads it."""

import datetime

from listkit.check import CHECKS, check_listings
from listkit.check.places import CheckContext
from listkit.check.thresholds import read_thresholds
from listkit.model.shop import Shop
from listkit.problem import Problem
from tests.small_shop import listings

TODAY = datetime.date(2026, 11, 25)


def found(code: str, of: Shop, today: datetime.date = TODAY) -> list[Problem]:
    """The problems that one rule finds."""
    thresholds, _ = read_thresholds(of.settings)
    return list(CHECKS[code](listings(of), CheckContext(today, thresholds)))


def told(code: str, of: Shop, today: datetime.date = TODAY) -> list[str]:
    """The same as lines."""
    return [str(problem) for problem in found(code, of, today)]


def all_found(of: Shop, today: datetime.date = TODAY) -> list[Problem]:
    """Everything that is found, as the shop wants it."""
    return check_listings(listings(of), CheckContext(today))
