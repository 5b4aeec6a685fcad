"""Checks of declared net contents."""

import pytest

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


@pytest.mark.parametrize(
    ("form", "net", "is_told"),
    [
        ("baby balm", "50 ml", True), ("bath bomb", "90 ml", True), ("candle", "200 ml", True),
        ("body oil", "100 g", True), ("bubble bath", "250 g", True), ("baby balm", "50 g", False),
        ("body oil", "100 ml", False), ("shower butter lotion", "100 ml", False), ("hand cream", "50 ml", False),
        ("hand cream", "50 g", False), ("goat milk soap", "100 g", False), ("olive oil soap", "100 g", False),
        ("milk bath", "200 g", False), ("liquid soap", "250 g", True), ("bath milk", "200 g", True),
    ],
)  # fmt: skip
def test_in_the_united_states_solids_go_by_weight_and_liquids_by_volume(form: str, net: str, is_told: bool) -> None:
    """21 CFR 701.13: solid, semisolid and viscous by weight, liquid by fluid measure, unless there is a custom."""
    items = [item("A-1", form=form, net=net, weight="400 g")]
    assert bool(found("net-measure", shop(items, [], settings=settings(country="US")))) is is_told
    assert found("net-measure", shop(items, [])) == []
