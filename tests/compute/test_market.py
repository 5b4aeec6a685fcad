"""What to take to a market: as much as sold there on like days, else evenly, of what is free.

Common practice, no source: what sold on like days goes along again; figures are worked by hand.
"""

import datetime
from collections.abc import Iterator
from pathlib import Path

import pytest

from listkit.compute.market import CRATE_GRAMS, OnSale, like_days, market_plan
from listkit.compute.movements import goods_of
from listkit.model.movements import StockMove
from listkit.pipeline import Listed, list_shop
from listkit.problem import FieldError
from tests.shops import CLEAN, clean_shop

SATURDAY = datetime.date(2027, 3, 6)


def sold(days: int, code: str, number: int, variant: str = "", place: str = "stall") -> StockMove:
    day = SATURDAY + datetime.timedelta(days)
    return StockMove(day, "sold", code, number, place, set=variant)


@pytest.fixture(scope="module")
def listed(tmp_path_factory: pytest.TempPathFactory) -> Listed:
    folder = clean_shop(tmp_path_factory.mktemp("market") / "shop")
    with (folder / "channels/stall.toml").open("a", encoding="utf-8") as file:
        file.write('hold_back = 0\n[singles]\nitems = ["RR-B1", "RR-J1"]\n')
    return list_shop(folder, SATURDAY)


def on_sale(listed: Listed) -> Iterator[OnSale]:
    for listing in listed.listings_of("stall"):
        for offer in listing.offers:
            yield OnSale(listing.facts, offer.variant, offer.stock)


def taken(listed: Listed, moves: tuple[StockMove, ...], counts: dict[str, int] | None = None) -> dict[str, int]:
    goods = goods_of(listed.catalog)
    plan = market_plan(tuple(on_sale(listed)), moves, goods, place="stall", day=SATURDAY, most=10_000, counts=counts)
    return {line.on_sale.code: line.take for line in plan.lines}


def test_like_days_are_those_of_the_same_weekday_at_the_place_else_the_last_ones_there() -> None:
    moves = [sold(-days, "A", 1) for days in (70, 35, 28, 21, 14, 7, 3)] + [sold(-7, "A", 1, place="fair")]
    assert [(SATURDAY - day).days for day in like_days(moves, "stall", SATURDAY)] == [28, 21, 14, 7]
    assert [(SATURDAY - day).days for day in like_days(moves[-2:-1], "stall", SATURDAY)] == [3]
    assert like_days(moves, "web", SATURDAY) == ()


def test_the_most_that_a_like_day_sold_is_taken_and_one_at_least_of_all_else(listed: Listed) -> None:
    moves = (
        sold(-14, "RR-B1", 5), sold(-7, "RR-B1", 3), sold(-7, "RR-B1", 2, "RRS-1-J1"), sold(-7, "RR-J1", 2, "RRS-1-J1"),
        sold(-7, "box S", 2, "RRS-1-J1"),
    )  # fmt: skip
    assert taken(listed, moves) == {"RRS-1-J1": 2, "RRS-1-J2": 1, "RR-B1": 5, "RR-J1": 1}


def test_where_nothing_sold_yet_it_is_four_a_set_over_its_variants(listed: Listed) -> None:
    assert taken(listed, ()) == {"RRS-1-J1": 2, "RRS-1-J2": 2, "RR-B1": 4, "RR-J1": 4}


def test_pieces_that_several_need_go_to_each_in_turn(listed: Listed) -> None:
    wanted = {"RRS-1-J1": 20, "RR-J1": 20}
    assert taken(listed, (), wanted) == {"RRS-1-J1": 13, "RR-J1": 12}, "25 jars are there"


def test_a_slip_of_the_pen_in_a_sale_is_told_and_takes_no_time(tmp_path: Path) -> None:
    uncounted = (CLEAN / "items.csv").read_text(encoding="utf-8").replace(",40,", ",,")
    folder = clean_shop(tmp_path / "shop", {"items.csv": uncounted})
    with (folder / "channels/stall.toml").open("a", encoding="utf-8") as file:
        file.write('hold_back = 0\n[singles]\nitems = ["RR-B1", "RR-J1"]\n')
    shop = list_shop(folder, SATURDAY)
    with pytest.raises(FieldError, match="999999999 of RR-B1 among them, and at most 10000 can be"):
        taken(shop, (sold(-7, "RR-B1", 999_999_999),))
    assert taken(shop, (sold(-7, "RR-J1", 999_999_999),))["RR-J1"] > 0, "no more than there are can be taken"


def test_crates_hold_no_more_than_they_may_and_everything_is_in_one(listed: Listed) -> None:
    plan = market_plan(
        tuple(on_sale(listed)),
        (),
        goods_of(listed.catalog),
        place="stall",
        day=SATURDAY,
        most=10_000,
        counts={"RRS-1-J1": 24, "RR-B1": 16},
    )
    assert all(weight.grams <= CRATE_GRAMS for weight in plan.crates)
    whole = sum(line.take * line.on_sale.variant.weights.gift.grams for line in plan.lines)
    assert sum(weight.grams for weight in plan.crates) == whole
    assert {number for line in plan.lines for number in line.crates} == set(range(1, len(plan.crates) + 1))
    assert (plan.sets, plan.pieces, plan.boxes, plan.cards) == (24, 16, (("S", 24),), 24)


def test_a_bar_counts_as_the_choice_of_bars_that_it_is_sold_as(tmp_path: Path) -> None:
    folder = clean_shop(tmp_path / "shop")
    bars = 'code = "RRS-2"\nname = "A Bar"\nbox = "none"\n[[contents]]\nslot = "Bar"\nchoose = ["RR-B1", "RR-M1"]\n'
    (folder / "sets/bars").mkdir()
    (folder / "sets/bars/set.toml").write_text(bars, encoding="utf-8")
    moves = (sold(-7, "RR-B1", 3), sold(-7, "RR-B1", 2, "RRS-2-B1"))
    assert taken(list_shop(folder, SATURDAY), moves)["RRS-2-B1"] == 5
