"""Checks of wholesale on small shops."""

from decimal import Decimal

from listkit.problem import Level
from tests.check.found import found, told
from tests.small_shop import gift_set, item, settings, shop, wholesale

ONE = gift_set([{"item": "A-1"}])


def test_a_set_below_one_and_a_half_times_its_cost_is_looked_at() -> None:
    """7.50 + 1.00 = 8.50, half is 4.25; cost 0.60 + 2.43 = 3.03; 4.25 / 3.03 = 1.40."""
    assert told("wholesale-thin", shop([item("A-1", cost="0.60")], [ONE])) == [
        "Look at · sets/set-1/set.toml: SET-1 goes to shops at 4.25, 1.40 times its full cost. "
        "1.5 times is usual; another wholesale rule, a higher price, or no line for shops."
    ]


def test_a_set_below_one_and_a_fifth_must_be_mended() -> None:
    """4.25 / (1.85 + 2.43) = 0.99."""
    (problem,) = found("wholesale-thin", shop([item("A-1")], [ONE]))
    assert problem.level is Level.MUST_FIX


def test_with_wholesale_terms_only_their_lines_are_looked_at_items_too() -> None:
    """3.75 / 3.20 = 1.17."""
    items = [item("A-1", cost="0.10"), item("A-2", cost="3.20"), item("A-3", cost="3.20")]
    (problem,) = found("wholesale-thin", shop(items, [ONE], wholesale=wholesale("A-2")))
    assert (problem.place.row, problem.place.column, problem.level) == ("A-2", "retail", Level.MUST_FIX)
    assert found("wholesale-thin", shop(items, [gift_set([{"item": "A-2"}])], wholesale=wholesale("A-1"))) == []


def test_the_times_are_the_owners_to_choose() -> None:
    of = shop([item("A-1", cost="0.60")], [ONE], settings=settings(checks={"wholesale-thin": "1.4"}))
    assert found("wholesale-thin", of) == []
    assert Decimal("4.25") / Decimal("3.03") > Decimal("1.4")
