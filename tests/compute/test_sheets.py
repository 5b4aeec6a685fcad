"""Versions of the line sheet that were given out, and prices by quantity.

Common practice, no source.
"""

from datetime import date
from decimal import Decimal

from listkit.compute.given_out import GivenOut, LinePrices, SheetHistory


def test_the_highest_tier_that_a_quantity_reaches_holds() -> None:
    prices = LinePrices(Decimal("4.25"), ((12, Decimal("4.10")), (24, Decimal("4.00"))))
    each = [prices.each(quantity) for quantity in (1, 11, 12, 23, 24, 500)]
    assert [str(one) for one in each] == ["4.25", "4.25", "4.10", "4.10", "4.00", "4.00"]
    assert LinePrices(Decimal("4.25")).each(1000) == Decimal("4.25")


def test_of_a_version_that_was_recorded_twice_the_last_record_is_found() -> None:
    first = GivenOut("B4C6D", date(2027, 1, 15), None, None, 1)
    again = GivenOut("B4C6D", date(2027, 2, 1), None, None, 3)
    history = SheetHistory("LCGXF", (first, GivenOut("9NTTQ", date(2027, 1, 20), None, None, 2), again))
    assert history.find("B4C6D") == again
    assert history.find("LCGXF") is None
