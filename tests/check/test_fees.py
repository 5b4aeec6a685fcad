"""What a channel takes of a price, against the tax in it.

Worked out by hand; no source.
"""

from typing import Any

from tests.check.found import told
from tests.small_shop import channel, gift_set, item, settings, shop


def shop_with(fee: str, shop_tax: str, own_tax: str | None, **says: Any) -> list[str]:
    """Return what is said of a channel's fee, of one set of one item with a tax of its own, or none."""
    items = [item("A-1", retail="20.00", tax=own_tax)]
    rules = settings(prices={"tax": shop_tax})
    on = channel(fee=fee, **says)
    return told("fee-above-price", shop(items, [gift_set([{"item": "A-1"}])], settings=rules, channels=(on,)))


def test_a_fee_is_held_against_the_tax_of_what_is_sold_there() -> None:
    """By hand: at 20 % a price holds 16.67 % tax, 83.33 % are left; at 0 % all of it."""
    assert shop_with("90 %", "20 %", "0 %") == []
    assert shop_with("90 %", "0 %", "20 %") == [
        "Must fix · channels/stall.toml: Stall takes 90 % of a price, and 16.67 % of it is tax: nothing is left. "
        "Write a fee below 83.3 %."
    ]
    assert shop_with("90 %", "0 %", "20 %", tax="5 %") == []  # the channel's own goes before the items'


def test_the_fee_that_would_do_is_rounded_down() -> None:
    """1 / 1.055 is 94.7867 %: a fee of 94.79 % is too much, though it is below 94.8 %."""
    (said,) = shop_with("95 %", "5.5 %", None)
    assert said.endswith("Write a fee below 94.7 %.")
