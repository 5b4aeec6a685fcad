"""Prices over time, and what a reduction may be measured against."""

import datetime
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.ledger.history import (
    RETAIL,
    PricePoint,
    channel_prices,
    currency_at,
    lawful_reduction,
    lowest_prior,
    price_history,
)
from listkit.ledger.old_codes import in_order
from listkit.ledger.store import record, undo
from listkit.units.spoken import Spoken
from tests.ledger.rows import at, facts, row, snapshot

SALE = datetime.date(2026, 11, 25)
SPOKEN = Spoken("en-GB", "GBP")


def points(*prices: tuple[int, str | None], channel: str = "web") -> tuple[PricePoint, ...]:
    """Prices that began so many days before the sale."""
    return tuple(
        PricePoint(channel, SALE + datetime.timedelta(day), None if price is None else Decimal(price))
        for day, price in prices
    )


def test_a_rise_before_the_sale_does_not_count() -> None:
    """Directive 98/6/EC, Art. 6a, as read in Commission notice 2021/C 526/02: the lowest of the 30 days before.

    The prices are ours: 30.00 from day -40, 24.00 on days -20 to -15, 30.00 again until the day before, sale 22.50.
    """
    history = points((-40, "30.00"), (-20, "24.00"), (-14, "30.00"), (0, "22.50"))
    found = lawful_reduction(history, SALE, Decimal("22.50"), spoken=SPOKEN)
    assert (found.prior, found.share) == (Decimal("24.00"), Decimal("0.0625"))


def test_a_price_that_is_no_lower_than_the_lowest_before_is_no_reduction() -> None:
    """CJEU C-330/23 (26 September 2024), press summary: last price 1.69, sale 1.29, lowest of 30 days 1.29."""
    history = points((-60, "1.69"), (-20, "1.29"), (-10, "1.69"))
    found = lawful_reduction(history, SALE, Decimal("1.29"), spoken=SPOKEN)
    assert (found.prior, found.share) == (Decimal("1.29"), Decimal(0))
    assert "not below £1.29" in found.reason


@pytest.mark.parametrize(("until", "lowest"), [(-29, "24.00"), (-30, "24.00"), (-31, "30.00")])
def test_a_price_counts_on_the_day_that_another_took_its_place(until: int, lowest: str) -> None:
    history = points((-90, "24.00"), (until, "30.00"))
    assert lowest_prior(history, SALE) == Decimal(lowest)


def test_the_day_of_the_sale_itself_does_not_count() -> None:
    assert lowest_prior(points((-60, "30.00"), (0, "10.00")), SALE) == Decimal("30.00")
    assert lowest_prior(points((0, "10.00")), SALE) is None


def test_time_off_sale_has_no_price() -> None:
    history = points((-90, "10.00"), (-60, None), (-20, "30.00"))
    assert lowest_prior(history, SALE) == Decimal("30.00")
    assert lowest_prior((), SALE) is None


def test_channels_do_not_end_each_others_prices() -> None:
    history = (*points((-60, "20.00")), *points((-50, "30.00"), channel="stall"))
    assert lowest_prior(history, SALE) == Decimal("20.00")


def test_a_history_too_short_supports_no_reduction_unless_fewer_days_are_asked_for() -> None:
    history = points((-20, "30.00"))
    assert lawful_reduction(history, SALE, Decimal("20.00"), spoken=SPOKEN).share == 0
    assert lawful_reduction((), SALE, Decimal("20.00"), spoken=SPOKEN).prior is None
    assert lawful_reduction(history, SALE, Decimal("20.00"), days=14, spoken=SPOKEN).share == Decimal("0.3333")


@given(
    st.dictionaries(st.integers(-90, 5), st.decimals("0.01", 99, places=2), min_size=1, max_size=8),
    st.decimals("0.01", 99, places=2),
)
def test_what_is_announced_never_exceeds_what_is_saved_against_any_price_of_30_days(
    prices: dict[int, Decimal], sale: Decimal
) -> None:
    history = points(*sorted((day, str(price)) for day, price in prices.items()))
    share = lawful_reduction(history, SALE, sale, spoken=SPOKEN).share
    # Asked day by day, by another way: what stood last on each of the 30 days, and on the one before them, whose price
    # holds until the first of them begins.
    days = [SALE - datetime.timedelta(back) for back in range(1, 32)]
    standing = [[one.price for one in history if one.day <= day and one.price is not None][-1:] for day in days]
    assert share >= 0
    if all(standing[:30]):  # as much as is saved against the lowest, cut to four digits
        least = min(price for [price] in filter(None, standing))
        assert share * least <= max(least - sale, Decimal(0)) < (share + Decimal("0.0001")) * least
    else:
        assert share == 0


def test_every_price_is_found_in_the_ledger_where_and_when(tmp_path: Path) -> None:
    ledger = tmp_path / "ledger.sqlite3"
    record(ledger, "web", snapshot(row("A", "29.00")), at(1, note="spring"))
    record(ledger, "stall", snapshot(row("A", "29.00")), at(2))
    record(ledger, "web", snapshot(row("A", "29.00", weight=507)), at(3))
    record(ledger, "web", snapshot(row("A", "35.00")), at(4))
    undo(ledger, "web", at(4))
    record(ledger, "web", snapshot(row("A", "30.00")), at(5))
    record(ledger, "stall", snapshot(), at(6))
    found = [(one.channel, one.day.day, one.price, one.note) for one in price_history(ledger, "A")]
    assert found == [
        ("web", 1, Decimal("29.00"), "spring"),
        ("stall", 2, Decimal("29.00"), ""),
        ("web", 5, Decimal("30.00"), ""),
        ("stall", 6, None, ""),
    ]


def test_an_items_own_price_is_found_too_and_an_unknown_code_has_none(tmp_path: Path) -> None:
    ledger = tmp_path / "ledger.sqlite3"
    assert price_history(ledger, "OH-B01") == ()
    record(ledger, "web", snapshot(row("A"), items=facts(OH_B01={"retail": "7.50"})), at(1))
    assert [one.price for one in price_history(ledger, "OH-B01")] == [Decimal("7.50")]
    assert price_history(ledger, "OH-X") == ()


def test_what_shops_pay_stands_in_the_history_too(tmp_path: Path) -> None:
    ledger = tmp_path / "ledger.sqlite3"
    record(ledger, "wholesale", snapshot({"sku": "A", "wholesalePrice": "14.50"}), at(1))
    assert [one.price for one in price_history(ledger, "A")] == [Decimal("14.50")]


def test_prices_in_another_currency_are_shown_as_such_and_compared_with_none(tmp_path: Path) -> None:
    ledger = tmp_path / "ledger.sqlite3"
    for day, price, currency in ((1, "20.00", "GBP"), (2, "29.00", "GBP"), (3, "29.00", "EUR"), (4, "31.00", "EUR")):
        record(ledger, "web", snapshot(row("A", price, priceCurrency=currency)), at(day))
    history = price_history(ledger, "A", "EUR")
    assert [(one.day.day, one.price, one.other) for one in history] == [
        (1, None, "20.00 GBP"),
        (2, None, "29.00 GBP"),
        (3, Decimal("29.00"), ""),
        (4, Decimal("31.00"), ""),
    ]
    assert channel_prices(ledger, "web", "EUR")["A"] == history
    assert lowest_prior(history, datetime.date(2026, 11, 25)) == Decimal("29.00"), "20.00 was in pounds"
    assert lowest_prior(price_history(ledger, "A", "GBP"), datetime.date(2026, 11, 25)) == Decimal("20.00")


def test_lines_for_shops_and_items_are_in_the_currency_that_the_shop_had_then(tmp_path: Path) -> None:
    """They state none themselves: old figures in pounds were shown as euros once the shop had these."""
    ledger = tmp_path / "ledger.sqlite3"
    for day, price, currency in ((1, "3.50", "GBP"), (2, "3.75", "GBP"), (3, "3.75", "EUR"), (4, "4.00", "EUR")):
        rules = facts(shop={"currency": currency, "language": "en-GB", "name": f"Shop {day // 4}"})
        items = facts(A={"retail": f"{day // 2 + 6}.00"})
        now = snapshot({"sku": "A", "wholesalePrice": price}, items=items, rules=rules)
        record(ledger, "wholesale", now, at(day))
    history = price_history(ledger, "A", "EUR")
    assert [(one.channel, one.day.day, one.price, one.other) for one in history] == [
        ("wholesale", 1, None, "3.50 GBP"),
        ("wholesale", 2, None, "3.75 GBP"),
        ("wholesale", 3, Decimal("3.75"), ""),
        ("wholesale", 4, Decimal("4.00"), ""),
        (RETAIL, 1, None, "6.00 GBP"),
        (RETAIL, 2, None, "7.00 GBP"),
        (RETAIL, 3, Decimal("7.00"), ""),
        (RETAIL, 4, Decimal("8.00"), ""),
    ]
    assert [currency_at(ledger, "wholesale", number) for number in (0, 1, 2, 3, 4)] == ["", "GBP", "GBP", "EUR", "EUR"]


def test_prices_in_another_currency_stay_apart_where_a_code_was_renamed() -> None:
    """Neither has an amount, and still they are two prices."""
    old, new = (
        PricePoint("web", datetime.date(2026, 11, day), None, other=other)
        for day, other in ((1, "20.00 GBP"), (2, "29.00 GBP"))
    )
    assert in_order((old,), (new,)) == (old, new)
