"""Checks of stock and dates on small shops.

Counted by hand; what is told, and that a gift keeps six months, is common practice, no source.
"""

import datetime
from dataclasses import replace
from typing import Any

from listkit.compute.build import build_catalog
from listkit.listing.build import build_listings
from listkit.listing.listings import OnDay
from listkit.model.channel import Channel
from listkit.model.movements import MovesRead
from tests.check.found import found, run, told
from tests.listing.shops import channel as listing_channel
from tests.listing.shops import folder
from tests.listing.shops import shop as listing_shop
from tests.small_shop import BOX_S, CARD, channel, gift_set, item, settings, shop, wholesale

SPRING = {"name": "spring", "on_sale": datetime.date(2027, 2, 15), "off_sale": datetime.date(2027, 5, 10)}


def one(code: str, name: str, *contents: dict[str, Any], **says: Any) -> Any:
    return gift_set(list(contents), code=code, name=name, **says)


def test_a_closed_item_is_told_once_with_all_that_still_hold_it() -> None:
    items = [item("A-1", status="closed"), item("A-2")]
    jar = {"slot": "Jar", "choose": ["A-1", "A-2"]}
    sets = [one("S-1", "Dawn", {"item": "A-1"}), one("S-2", "Dusk", jar), one("S-3", "Noon", {"item": "A-2"})]
    assert told("item-closed", shop(items, sets, wholesale=wholesale("A-1"))) == [
        "Must fix · items.csv, row A-1, column status: A-1 is closed and still in Dawn, Dusk and the line sheet. "
        "Take it out there, or close the variants with it."
    ]


def test_a_closed_item_is_fine_where_its_variants_or_its_set_are_closed() -> None:
    items = [item("A-1", status="closed"), item("A-2")]
    jar = {"slot": "Jar", "choose": ["A-1", "A-2"]}
    closed = [{"options": {"Jar": "A-1"}, "status": "closed"}]
    sets = [one("S-1", "Dawn", jar, variant=closed), one("S-2", "Dusk", {"item": "A-1"}, status="closed")]
    assert found("item-closed", shop(items, sets)) == []
    (problem,) = found("item-closed", shop(items, sets, wholesale=wholesale("S-2")))
    assert problem.place.key == ("group", 0, "lines", 0)


def test_pieces_short_are_told_once_a_group_of_items_with_its_sets() -> None:
    """Dawn can be made 9 times and Dusk 4 + 9 - 3 x 0 = 13 times: 22 pieces of 13."""
    items = [item("A-1", on_hand="9"), item("A-2", on_hand="4"), item("A-3")]
    sets = [one("S-1", "Dawn", {"item": "A-1"}), one("S-2", "Dusk", {"slot": "Jar", "choose": ["A-1", "A-2"]})]
    assert told("stock-promised-twice", shop(items, sets)) == [
        "Look at · items.csv, row A-1, column on hand: A-1 and A-2: 2 sets could use 22, 13 are there (Dawn and Dusk). "
        "Make 9 more, or hold back more."
    ]


def test_nothing_is_short_of_pieces_whose_counts_cannot_be_read() -> None:
    """The sheet is not what goes, and what goes is not known."""
    sets = [one(f"S-{at}", f"Dawn {at}", {"item": "A-1"}) for at in (1, 2)]
    counted_on_sheet = shop([item("A-1", on_hand="9")], sets)
    assert len(found("stock-promised-twice", counted_on_sheet)) == 1
    unread = replace(counted_on_sheet, movements=MovesRead("movements.csv", in_part=True))
    assert found("stock-promised-twice", unread) == []


def test_what_is_short_is_told_once_at_the_shortest() -> None:
    """Of A-1 9 are there for 18, of A-2 8 for 24."""
    items = [item("A-1", on_hand="9"), item("A-2", on_hand="8")]
    both = [one("S-1", "Dawn", {"item": "A-1"}), one("S-2", "Dusk", {"item": "A-1"})]
    both += [one(f"S-{at}", f"Noon {at}", {"item": "A-2"}) for at in (3, 4, 5)]
    assert told("stock-promised-twice", shop(items, both)) == [
        "Look at · items.csv, row A-2, column on hand: A-2: 3 sets could use 24, 8 are there "
        "(Noon 3, Noon 4 and Noon 5). Short too: A-1 (18 for 9). Make more, or hold back more."
    ]


def test_a_set_alone_promises_nothing_twice_and_what_is_not_counted_is_never_short() -> None:
    items = [item("A-1", on_hand="9"), item("A-2")]
    alone = shop(items, [one("S-1", "Dawn", {"item": "A-1", "quantity": 2}, {"item": "A-2"})])
    assert found("stock-promised-twice", alone) == []
    uncounted = [one("S-1", "Dawn", {"item": "A-2"}), one("S-2", "Dusk", {"item": "A-2"})]
    assert found("stock-promised-twice", shop(items, uncounted)) == []


def test_boxes_fills_and_cards_are_shared_by_sets_like_pieces() -> None:
    """Dawn and Dusk could each be made 17 times, with 17 boxes for both and 20 cards."""
    items = [item("A-1", on_hand="90"), item("A-2", on_hand="90")]
    sets = [one("S-1", "Dawn", {"item": "A-1"}), one("S-2", "Dusk", {"item": "A-2"})]
    box = {**BOX_S, "on_hand": 17, "fill": {"weight": "10 g", "cost": "0.10", "on_hand": 40}}
    packaging = {"box": [box], "card": {**CARD, "on_hand": 20}}
    assert told("stock-promised-twice", shop(items, sets, packaging=packaging)) == [
        "Look at · packaging.toml: box S: 2 sets could use 34, 17 are there (Dawn and Dusk). "
        "Short too: the card (34 for 20). Get more, or hold back more.",
    ]
    few = {"box": [{**box, "on_hand": 90, "fill": {**box["fill"], "on_hand": 9}}]}
    (fill,) = told("stock-promised-twice", shop(items, sets, packaging=few))
    assert "fill of box S: 2 sets could use 18, 9 are there" in fill


def test_only_what_is_sold_of_a_slot_can_give_way() -> None:
    """Dusk's other jar is closed, so that nothing gives way to Dawn."""
    items = [item("A-1", on_hand="9"), item("A-2", on_hand="9")]
    closed = [{"options": {"Jar": "A-2"}, "status": "closed"}]
    jar = {"slot": "Jar", "choose": ["A-1", "A-2"]}
    sets = [one("S-1", "Dawn", {"item": "A-1"}), one("S-2", "Dusk", jar, variant=closed)]
    (short,) = told("stock-promised-twice", shop(items, sets))
    assert "A-1: 2 sets could use 18, 9 are there (Dawn and Dusk)." in short


def test_a_set_that_is_closed_or_over_takes_nothing() -> None:
    items = [item("A-1", on_hand="9")]
    rules = settings(season=[SPRING])
    sets = [one("S-1", "Dawn", {"item": "A-1"}, season="spring"), one("S-2", "Dusk", {"item": "A-1"})]
    in_spring = shop(items, sets, settings=rules)
    assert len(found("stock-promised-twice", in_spring, datetime.date(2027, 5, 10))) == 1
    assert found("stock-promised-twice", in_spring, datetime.date(2027, 5, 11)) == []


def test_seasons_are_told_once_with_their_sets() -> None:
    sets = [one(f"S-{n}", name, {"item": "A-1"}, season="spring") for n, name in enumerate(("Dawn", "Dusk"))]
    of = shop([item("A-1")], sets, settings=settings(season=[SPRING]))
    assert told("season-not-yet", of, datetime.date(2027, 2, 14)) == [
        'Look at · shop.toml: the season "spring" begins on 15 February 2027; Dawn and Dusk cannot be bought before. '
        "Build on that day, and send what is made then."
    ]
    fair = shop(
        [item("A-1")], sets, settings=settings(season=[SPRING]), channels=(channel(name="Fair", before="pre-order"),)
    )
    (ahead,) = told("season-not-yet", fair, datetime.date(2027, 2, 14))
    assert "Dawn and Dusk can be ordered before from Fair." in ahead
    for day in (datetime.date(2027, 2, 15), datetime.date(2027, 5, 10)):
        assert found("season-not-yet", of, day) + found("season-over", of, day) == []
    assert (
        "ended on 10 May 2027; Dawn and Dusk can no longer be bought"
        in told("season-over", of, datetime.date(2027, 5, 11))[0]
    )


def test_a_set_can_be_ordered_before_where_it_is_shown() -> None:
    def said(*channels: Channel) -> str:
        made = listing_shop(folder(), folder(at="bar", code="HHS-2", name="Bar"), channels=channels)
        day = datetime.date(2027, 2, 14)
        (problem,) = run("season-not-yet", build_listings(build_catalog(made), OnDay(day)), day)
        return problem.message.partition("; ")[2]

    fair = listing_channel("fair", name="Fair", before="pre-order", sets=["HHS-1"])
    web = listing_channel(before="pre-order")
    stall = listing_channel("stall", name="Stall", before="pre-order", leave_out=["HHS-1", "HHS-2"])
    assert said(web, stall) == "Low Tide and Bar can be ordered before from Web shop."
    assert said(fair) == "Low Tide can be ordered before from Fair, and Bar cannot be bought before."
    assert said(fair, web) == (
        "Low Tide can be ordered before from Fair and Web shop, and Bar can be ordered before from Web shop."
    )


def test_a_season_turned_over_is_told_as_that_and_nothing_else() -> None:
    turned = {**SPRING, "on_sale": datetime.date(2027, 6, 1)}
    of = shop([item("A-1")], [one("S-1", "Dawn", {"item": "A-1"}, season="spring")], settings=settings(season=[turned]))
    (problem,) = found("dates-in-order", of)
    assert problem.place.key == ("season", 0, "off_sale")
    assert found("season-not-yet", of) + found("season-over", of) == []


def test_a_sheet_whose_prices_end_before_it_is_issued_is_told() -> None:
    terms = wholesale(issued=datetime.date(2027, 2, 1), valid_until=datetime.date(2027, 1, 31))
    assert found("dates-in-order", shop([], [], wholesale=terms))[0].place.file == "wholesale.toml"


def test_what_keeps_less_than_six_months_is_told_where_it_is_sold() -> None:
    items = [item("A-1", shelf_life="5 months"), item("A-2", shelf_life="6 months"), item("A-3", shelf_life="1 month")]
    of = shop(items, [one("S-1", "Dawn", {"item": "A-1"}, {"item": "A-2"})])
    assert told("shelf-life-short", of) == [
        "Look at · items.csv, row A-1, column shelf life: A-1 keeps 5 months from making, less than 6. "
        "A gift waits in drawers; sell it on its own, or soon after making."
    ]
    rules = settings(checks={"shelf-life-short": "9 months"})
    nine = shop(items, [one("S-1", "Dawn", {"item": "A-2"})], settings=rules)
    assert len(found("shelf-life-short", nine)) == 1


JAR = {"slot": "Jar", "choose": ["J-1", "J-2"]}


def oversold(bars: int, **says: Any) -> Any:
    """A set of a bar and one of two jars, 15 of each shown."""
    items = [item("B-1", on_hand=bars), item("J-1", on_hand=15), item("J-2", on_hand=15)]
    return shop(items, [one("S-1", "Dawn", {"item": "B-1"}, JAR)], settings=settings(**says), channels=(channel(),))


def test_variants_that_show_one_bar_twice_are_told_with_what_they_share() -> None:
    """Counted by hand: two variants at 15 are 30 where 16 bars lie."""
    assert told("stock-shared", oversold(16)) == [
        "Look at · sets/s-1/set.toml: Stall shows 30 of Dawn in its 2 variants, and B-1 is enough for 16. "
        "Send the stock again after every few sales, or hold more back."
    ]


def test_variants_that_show_little_more_than_there_is_are_left_alone_unless_the_owner_says_otherwise() -> None:
    assert told("stock-shared", oversold(20)) == []
    assert len(told("stock-shared", oversold(20, checks={"stock-shared": "1.4"}))) == 1
    assert told("stock-shared", oversold(30, checks={"stock-shared": "1"})) == []


def test_sets_like_the_worst_are_named_and_a_set_without_a_choice_never() -> None:
    items = [item("B-1", on_hand=16), item("B-2", on_hand=4), item("J-1", on_hand=15), item("J-2", on_hand=15)]
    sets = [one("S-1", "Dawn", {"item": "B-1"}, JAR), one("S-2", "Dusk", {"item": "B-2"}, JAR),
            one("S-3", "Noon", {"item": "B-2"})]  # fmt: skip
    (problem,) = told("stock-shared", shop(items, sets, channels=(channel(),)))
    assert "shows 8 of Dusk in its 2 variants, and B-2 is enough for 4; Dawn is like it." in problem
    assert "Noon" not in problem
