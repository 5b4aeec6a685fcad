"""What a season came to: ranking by what was scarce, days, how long what is left keeps.

The rankings are textbook tables of contribution per limiting factor, each named beside its figures; where a page
printed no plan, the sums are worked here by hand.
"""

import datetime
from collections.abc import Sequence
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.build import build_catalog
from listkit.compute.movements import goods_of
from listkit.compute.season_end import (
    Use,
    best_first,
    gone_of,
    keeps_until,
    months_later,
    pieces_gone,
    scarcest,
    shared_out,
    year_around,
    years_later,
)
from listkit.model.movements import StockMove
from listkit.model.settings import Season
from tests.small_shop import gift_set, item, shop

DAY = datetime.date(2026, 12, 5)


def uses(*rows: tuple[str, str, str, int | None]) -> list[Use]:
    return [Use(name, Decimal(kept), Decimal(takes), most) for name, kept, takes, most in rows]


# name, kept of one, takes of one, asked at most; how much there is; what each unit leaves; the plan; what it comes to
TABLES: list[tuple[str, list[Use], str, list[str], list[tuple[str, int]], str]] = [
    (
        # Accounting for Managers v1.0 §6.5 (open textbook): contribution per labour hour 100 and 150
        "two kayaks",
        uses(("River", "400", "4", None), ("Sea", "150", "1", None)),
        "320", ["Sea 150", "River 100"], [("Sea", 320)], "48000",
    ),
    (
        # managerial textbook extract, drilling hours
        "drilling",
        uses(("X", "300", "1", 60), ("Y", "600", "3", 100)),
        "120", ["X 300", "Y 200"], [("X", 60), ("Y", 20)], "30000",
    ),
    (
        # Accountingverse, "Product combination": 4, 3 and 6 an hour; B and the total by hand
        "product combination",
        uses(("A", "10", "2.5", 2000), ("B", "12", "4", 4000), ("C", "6", "1", 3000)),
        "10000", ["C 6", "A 4", "B 3"], [("C", 3000), ("A", 2000), ("B", 500)], "44000",
    ),
    (
        # a public exam answer: only the second, 120 pieces
        "pounds of material",
        uses(("first", "24", "8", None), ("second", "50", "10", None)),
        "1200", ["second 5", "first 3"], [("second", 120)], "6000",
    ),
    (
        # a public exercise, mixing minutes; the answer by hand: two minutes are left over
        "mixing minutes",
        uses(("A", "27", "3", 1500), ("B", "39", "2", 3000), ("C", "30", "2.5", 4000)),
        "18000", ["B 19.5", "C 12", "A 9"], [("B", 3000), ("C", 4000), ("A", 666)], "254982",
    ),
    (
        # a public exercise, wood carving; the answer by hand
        "wood carving",
        uses(("first", "12", "1", 800), ("second", "23", "6", 800), ("third", "48", "2", 800)),
        "1810", ["third 24", "first 12", "second 3.83"], [("third", 800), ("first", 210)], "40920",
    ),
    (
        # a public page, shirts: prints 10, 12 and 5 an hour, and 7,200 for all hours on the second
        "shirts",
        uses(("first", "3", "0.3", None), ("second", "6", "0.5", None), ("third", "5", "1.0", None)),
        "600", ["second 12", "first 10", "third 5"], [("second", 1200)], "7200",
    ),
    (
        # a public exercise, luggage by minutes; shares by hand
        "luggage by minutes",
        uses(("first", "140", "14", None), ("second", "110", "13", None), ("third", "60", "11", None)),
        "140", ["first 10.00", "second 8.46", "third 5.45"], [("first", 10)], "1400",
    ),
    (
        # the same by pounds of pellets
        "luggage by pellets",
        uses(("first", "140", "9", None), ("second", "110", "10", None), ("third", "60", "14", None)),
        "90", ["first 15.56", "second 11.00", "third 4.29"], [("first", 10)], "1400",
    ),
    (
        # a public table whose margins a minute are misprinted: 1.33 and 1.25 by hand, so the first leads
        "a misprinted table",
        uses(("first", "40", "30", 80), ("second", "25", "20", 80)),
        "3900", ["first 1.33", "second 1.25"], [("first", 80), ("second", 75)], "5075",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("name", "there", "amount", "per", "plan", "total"), TABLES, ids=lambda row: str(row)[:20])
def test_textbook_tables_are_ranked_and_shared_out_as_the_books_do(
    name: str, there: list[Use], amount: str, per: list[str], plan: list[tuple[str, int]], total: str
) -> None:
    shown = [(use.name, use.per) for use in best_first(there)]
    for (use_name, share), stated in zip(shown, per, strict=True):
        wanted_name, figure = stated.split()
        digits = len(figure.partition(".")[2])
        assert share is not None
        assert (use_name, f"{round(Decimal(share.numerator) / share.denominator, digits)}") == (wanted_name, figure), (
            name
        )
    made = shared_out(there[::-1], Decimal(amount))
    assert [(use.name, number) for use, number in made] == plan
    assert sum(use.kept * number for use, number in made) == Decimal(total)


def test_hours_of_a_year() -> None:
    """OpenStax, Principles of Accounting, Vol. 2: Managerial (2019) §10.6: 5,600 hours, all of which one use takes."""
    there = Decimal(8 * 2 * 7 * 50)
    assert there == 5600
    [(use, number)] = shared_out(uses(("only", "1", "1", None)), there)
    assert (use.name, number) == ("only", 5600)


def best_by_trying(there: Sequence[Use], amount: int) -> Decimal:
    """The most that whole numbers of each can leave, by trying all."""
    if not there:
        return Decimal(0)
    first, rest = there[0], there[1:]
    most = min(amount // int(first.takes), first.most if first.most is not None else amount)
    return max(
        number * first.kept + best_by_trying(rest, amount - number * int(first.takes)) for number in range(most + 1)
    )


@given(st.lists(st.tuples(st.integers(1, 30), st.integers(0, 6)), min_size=1, max_size=3), st.integers(0, 12))
def test_where_each_takes_one_nothing_beats_the_ranking(rows: list[tuple[int, int]], amount: int) -> None:
    """With one piece of it in each, as with most sets, ranking gives the best of all plans (tried out)."""
    there = [Use(f"{at}", Decimal(kept), Decimal(1), most) for at, (kept, most) in enumerate(rows)]
    made = shared_out(there, Decimal(amount))
    assert sum((use.kept * number for use, number in made), Decimal(0)) == best_by_trying(there, amount)


def test_what_leaves_nothing_or_takes_nothing_is_no_question_of_what_is_scarce() -> None:
    there = uses(("loses", "-3", "1", None), ("free", "5", "0", None), ("good", "2", "1", 1))
    assert [use.name for use in best_first(there)] == ["good", "loses", "free"]
    assert [(use.name, number) for use, number in shared_out(there, Decimal(9))] == [("good", 1)]


# Days. Month ends: calendar arithmetic by hand (31 January and a month is 28 February).


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [
        ("2026-01-31", 1, "2026-02-28"),
        ("2026-08-31", 30, "2029-02-28"),
        ("2024-02-29", 12, "2025-02-28"),
        ("2026-11-30", 0, "2026-11-30"),
        ("2026-12-31", 2, "2027-02-28"),
        ("2027-03-31", -1, "2027-02-28"),
    ],
)
def test_months_later(day: str, months: int, later: str) -> None:
    assert str(months_later(datetime.date.fromisoformat(day), months)) == later


@given(st.dates(datetime.date(2000, 1, 1), datetime.date(2090, 1, 1)), st.integers(0, 364))
def test_the_years_around_a_season_follow_each_other_without_a_gap(begins: datetime.date, days: int) -> None:
    season = Season(name="s", on_sale=begins, off_sale=begins + datetime.timedelta(days))
    first, last = year_around(season)
    assert first <= season.on_sale <= season.off_sale <= last
    assert years_later(first, 1) - last == datetime.timedelta(1)
    assert 364 <= (last - first).days <= 366


# What went


def test_what_went_is_counted_by_place_and_day_and_what_came_back_is_taken_off() -> None:
    small = shop(
        [item("B-1", on_hand="9"), item("B-2", on_hand="9")],
        [gift_set([{"item": "B-1", "quantity": 2}, {"item": "B-2"}])],
    )
    goods = goods_of(build_catalog(small))

    def moved(kind: str, number: int, place: str = "stall", *, back: bool = False) -> list[StockMove]:
        parts = goods.parts["SET-1"]
        return [
            StockMove(DAY, kind, code, number * each, place, set="SET-1", takes_back=back)  # type: ignore[arg-type]
            for code, each in parts
        ]

    moves = [*moved("sold", 3), *moved("sold", 1), *moved("sold", 1, back=True), *moved("came back", 1)]
    moves += [*moved("sent", 4, "wholesale"), *moved("given", 1)]
    gone = gone_of(moves, goods, frozenset({"SET-1"}))
    assert sorted((each.place, each.number) for each in gone) == [("stall", -1), ("stall", 3), ("wholesale", 4)]
    left = pieces_gone([*moves, StockMove(DAY, "sold", "B-2", 5)], DAY, DAY)
    assert (left["B-1"], left["B-2"]) == (14, 12)


def test_scarce_is_that_of_which_least_is_left_and_nothing_where_a_tenth_is() -> None:
    assert scarcest("AB", {"A": 4, "B": 3}, {"A": 50, "B": 50}) == "B"
    assert scarcest("AB", {"A": 5, "B": 6}, {"A": 50, "B": 50}) == ""
    assert scarcest("AB", {"A": 0, "B": 0}, {"A": 0, "B": 0}) == ""
    assert scarcest("AB", {"A": 0}, {"B": 9}) == ""


# How long what is left keeps: the oldest goes first, so what is left is of the last that were made.


def made(days: int, number: int) -> StockMove:
    return StockMove(DAY + datetime.timedelta(days), "made", "A", number)


def test_what_is_left_is_of_the_last_that_were_made() -> None:
    moves = [made(-90, 20), made(-30, 10), made(-10, 5)]
    assert keeps_until(moves, 5, 12, DAY).until == months_later(DAY - datetime.timedelta(10), 12)
    assert keeps_until(moves, 6, 12, DAY).until == months_later(DAY - datetime.timedelta(30), 12)
    older = keeps_until(moves, 36, 12, DAY - datetime.timedelta(100))
    assert (older.until, older.at_most) == (months_later(DAY - datetime.timedelta(100), 12), True)


def test_what_nobody_can_know_is_said() -> None:
    assert keeps_until([made(0, 9)], 3, None, DAY).why == "the sheet has no shelf life for it"
    assert keeps_until([], 3, 12, None).why == "no line of movements.csv says when it was made"
