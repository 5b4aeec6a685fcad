"""Checks of declared net contents."""

from tests.check.found import found, told
from tests.small_shop import channel, item, settings, shop


def test_half_up_is_told_with_the_items_that_it_overstates() -> None:
    """3.2 oz is 90.7 g: 16 CFR 500.28(a) prints 90."""
    items = [item("A-1", net="3.2 oz"), item("A-2", net="11.4 oz", weight="400 g"), item("A-3", net="110 g")]
    half_up = settings(net_contents={"rounding": "half up", "order": "customary first"})
    assert told("net-overstated", shop(items, [], settings=half_up)) == [
        'Look at · shop.toml: rounding "half up" says more than there is: A-1 91 g for 90 g. '
        'Write "down": a declaration may never overstate.'
    ]
    assert found("net-overstated", shop(items, [])) == []


def test_where_nothing_is_converted_nothing_is_overstated() -> None:
    half_up = settings(net_contents={"rounding": "half up"})
    assert found("net-overstated", shop([item("A-1", net="250 g", weight="300 g")], [], settings=half_up)) == []
    abroad = shop([item("A-1", net="250 g", weight="300 g")], [], settings=half_up, channels=(channel(country="US"),))
    assert [one.message for one in found("net-overstated", abroad)] == [
        'rounding "half up" says more than there is: A-1 8.82 oz for 8.81 oz.'
    ]
