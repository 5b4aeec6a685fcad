"""Which reduction is in force, since when and how long."""

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

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


_SPANS = st.lists(st.tuples(st.integers(0, 30), st.integers(-2, 15), st.booleans()), max_size=6)


@given(spans=_SPANS, own=_SPANS, at=st.integers(0, 45), further_cuts=st.booleans())
def test_first_and_last_day_are_what_a_walk_day_by_day_finds(
    spans: list[tuple[int, int, bool]], own: list[tuple[int, int, bool]], at: int, further_cuts: bool
) -> None:
    """Follows from the definition: a price is another when another reduction, or none, is in force. No source."""

    def stated(of: list[tuple[int, int, bool]]) -> list[dict[str, object]]:
        began = datetime.date(2026, 12, 1)
        days = [(began + datetime.timedelta(start), began + datetime.timedelta(start + long)) for start, long, _ in of]
        places = [["stall"] if here else ["fair"] for _, _, here in of]
        return [
            raw(str(first), str(until), by="10 %", channels=where)
            for (first, until), where in zip(days, places, strict=True)
        ]

    shop = reducing(*stated(spans), own=tuple(stated(own)))
    rulings = rulings_of(shop.sets[0], shop.settings)
    today = datetime.date(2026, 12, 1) + datetime.timedelta(at)

    def ruling(days: int) -> object:
        return ruling_on(rulings, "stall", today + datetime.timedelta(days))

    now = ruling(0)
    turn = next((days for days in range(1, 80) if ruling(days) is not now), None)
    assert last_day(rulings, "stall", today) == (None if turn is None else today + datetime.timedelta(turn - 1))
    if now is not None:
        back = next(
            days for days in range(80) if (ruling(-days - 1) is None if further_cuts else ruling(-days - 1) is not now)
        )
        assert first_day(rulings, "stall", today, further_cuts=further_cuts) == today - datetime.timedelta(back)
