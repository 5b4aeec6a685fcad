"""Unit prices in words."""

from typing import Any

from tests.listing.shops import BAR, JAR, channel, folder, listed, shop


def listing(**changes: Any) -> Any:
    to = channel(unit_price={"weight": "100 g"}, **changes.pop("to", {}))
    return listed(shop(folder(box="none", **changes), items=(BAR, BAR | DEAR, JAR), channels=[to])).listings[0]


DEAR = {"code": "HH-B2", "name": "Heather", "retail": "9.00"}
SOAP = [{"slot": "Bar", "choose": ["HH-B1", "HH-B2"]}]


def test_a_choice_of_bars_tells_the_lowest_as_from_and_each_its_own() -> None:
    one = listing(contents=SOAP)
    assert [offer.unit_price for offer in one.offers] == ["£6.82 per 100 g", "£8.18 per 100 g"]
    assert "from £6.82 per 100 g" in one.plain


def test_unlike_pieces_tell_none() -> None:
    one = listing(contents=[{"item": "HH-B1"}, {"item": "HH-U1"}])
    assert [offer.unit_price for offer in one.offers] == [""]
    assert " per 100" not in one.plain


def test_an_amount_below_one_may_show_a_tenth_of_a_penny() -> None:
    rule = {"weight": "oz", "below_one": "tenth"}
    made = listed(
        shop(
            folder(box="none", contents=[{"item": "HH-B1"}]),
            items=(BAR | {"retail": "3.00"},),
            channels=[channel(unit_price=rule)],
        )
    )
    assert made.listings[0].offers[0].unit_price == "£0.773 per oz"
