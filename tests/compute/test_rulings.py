"""Which reduction is in force, since when and how long."""

import datetime

import pytest

from listkit.compute.build import build_catalog
from listkit.compute.reductions import first_day, last_day, reductions_in_force, ruling_on, rulings_of
from tests.compute.reducing import day, raw, reducing


@pytest.mark.parametrize(("on", "holds"), [(day(30, 11), False), (day(1), True), (day(10), True), (day(11), False)])
def test_the_first_and_the_last_day_are_both_days_of_the_reduction(on: datetime.date, holds: bool) -> None:
    of = reducing(raw("2026-12-01", "2026-12-10", by="10 %"))
    assert bool(ruling_on(rulings_of(of.sets[0], of.settings), "stall", on)) is holds


def test_a_reduction_holds_for_the_channels_and_sets_that_it_names() -> None:
    of = reducing(raw("2026-12-01", "2026-12-10", by="10 %", channels=["fair"]))
    assert [one.channel for one in reductions_in_force(build_catalog(of), day(5))] == ["fair"]
    of = reducing(raw("2026-12-01", "2026-12-10", by="10 %", sets=["SET-2"]))
    assert list(reductions_in_force(build_catalog(of), day(5))) == []


def test_a_set_s_own_reduction_goes_before_the_shop_s() -> None:
    of = reducing(raw("2026-12-01", "2026-12-31", by="10 %"), own=(raw("2026-12-10", "2026-12-12", by="20 %"),))
    rulings = rulings_of(of.sets[0], of.settings)
    own = [one is not None and one.own for one in (ruling_on(rulings, "stall", day(at)) for at in (9, 10, 12, 13))]
    assert own == [False, True, True, False]
    assert [last_day(rulings, "stall", day(at)) for at in (1, 10, 13)] == [day(9), day(12), day(31)]
    assert [first_day(rulings, "stall", day(at), further_cuts=False) for at in (9, 11, 20)] == [
        day(1),
        day(10),
        day(13),
    ]


def test_the_usual_price_holds_until_the_day_before_a_reduction_and_again_without_end() -> None:
    of = reducing(raw("2026-12-01", "2026-12-10", by="10 %"))
    rulings = rulings_of(of.sets[0], of.settings)
    assert last_day(rulings, "stall", day(1, 11)) == day(30, 11)
    assert last_day(rulings, "stall", day(11)) is None
    assert last_day((), "stall", day(11)) is None


def test_a_cut_that_grows_without_a_break_began_with_its_first_step_where_a_country_says_so() -> None:
    """Directive 98/6/EC, Art. 6a(5): progressive reductions, if the Member State has chosen so."""
    of = reducing(raw("2026-12-01", "2026-12-10", by="10 %"), raw("2026-12-11", "2026-12-20", by="20 %"))
    rulings = rulings_of(of.sets[0], of.settings)
    assert first_day(rulings, "stall", day(15), further_cuts=False) == day(11)
    assert first_day(rulings, "stall", day(15), further_cuts=True) == day(1)
    apart = reducing(raw("2026-12-01", "2026-12-09", by="10 %"), raw("2026-12-11", "2026-12-20", by="20 %"))
    assert first_day(rulings_of(apart.sets[0], apart.settings), "stall", day(15), further_cuts=True) == day(11)
