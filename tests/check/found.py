"""What check finds in a small shop, as the owner reads it."""

import datetime

from listkit.check import check_listings
from listkit.check.places import CheckContext
from listkit.check.rules import CHECKS, leveled
from listkit.check.thresholds import read_thresholds
from listkit.compute.given_out import NOTHING_GIVEN_OUT, SheetHistory
from listkit.listing.listings import Listings
from listkit.model.shop import Shop
from listkit.problem import Problem
from tests.small_shop import listings

TODAY = datetime.date(2026, 11, 25)


def found(code: str, of: Shop, today: datetime.date = TODAY) -> list[Problem]:
    """The problems that the function of one code finds, at the level of its rule."""
    return run(code, listings(of), today)


def run(
    code: str, of: Listings, today: datetime.date = TODAY, sheets: SheetHistory = NOTHING_GIVEN_OUT
) -> list[Problem]:
    """The same of listings, with the shop's own figures."""
    thresholds, _ = read_thresholds(of.catalog.shop.settings)
    return [leveled(problem) for problem in CHECKS[code](of, CheckContext(today, thresholds.figures, sheets))]


def told(code: str, of: Shop, today: datetime.date = TODAY) -> list[str]:
    """The same as lines."""
    return [str(problem) for problem in found(code, of, today)]


def all_found(of: Shop, today: datetime.date = TODAY) -> list[Problem]:
    """Everything that is found, as the shop wants it."""
    return check_listings(listings(of), CheckContext(today))
