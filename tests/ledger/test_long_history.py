"""Histories as long as a ledger may hold them: the time that they take grows in step with them."""

import datetime
import time
from decimal import Decimal

import pytest

from listkit import bounds
from listkit.ledger.history import PricePoint, lowest_prior, step_plot

DAY = datetime.date(2026, 11, 30)
SECONDS = 5.0
"""Of the processor, for all that may be recorded; each point held against each other would take minutes."""


@pytest.mark.parametrize("channels", [1, bounds.LEDGER_RECORDS], ids=["one place", "each its place"])
def test_a_hundred_thousand_prices_of_one_code_are_looked_through_and_drawn_in_seconds(channels: int) -> None:
    points = [
        PricePoint(f"c{at % channels}", DAY - datetime.timedelta(at % 40), Decimal(10 + at % 7))
        for at in range(bounds.LEDGER_RECORDS)
    ]
    began = time.process_time()
    assert lowest_prior(points, DAY) == Decimal(10)
    assert step_plot("Price", points, DAY).startswith("<svg")
    assert time.process_time() - began < SECONDS
