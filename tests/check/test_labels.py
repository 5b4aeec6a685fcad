"""Checks of labels and cards, on small shops.

Type sizes by 21 CFR 701.13, from memory; that a label holds its text is common practice, no source.
"""

from typing import Any

import pytest

from listkit.model.packaging import Packaging
from listkit.model.shop import Shop
from tests.check.found import told
from tests.check.test_claims import clean
from tests.small_shop import GBP, channel, gift_set, item, settings, shop


def of(outside: str = "166 x 126 x 74 mm", box: str = "S", **says: Any) -> Shop:
    """A shop of one set in a box of this outside, with settings of labels and cards."""
    kept = {"code": "S", "inside": "162 x 122 x 70 mm", "outside": outside, "weight": "58 g", "cost": "0.95"}
    assert Packaging.model_validate({"box": [kept]}, context=GBP).boxes
    return shop([item("A")], [gift_set([{"item": "A"}], box=box)], settings=settings(**says), packaging={"box": [kept]})


def test_a_shop_without_labels_is_told_nothing() -> None:
    assert told("label-sheet", of()) + told("label-large", of()) + told("language-missing", of()) == []


def test_labels_that_lie_well_on_a_box_that_holds_them_are_told_nothing() -> None:
    one = of(labels={"size": "126 x 166 mm"}, cards={})
    assert told("label-sheet", one) + told("label-large", one) == []


def test_a_label_a_hair_larger_than_the_lid_is_told() -> None:
    assert told("label-large", of(labels={"size": "126.1 x 100 mm"})) == []
    (line,) = told("label-large", of(labels={"size": "126.1 x 130 mm"}))
    assert "a label of 126.1 x 130 mm is larger than any side of box S (166 x 126 mm)." in line


def test_a_set_without_box_asks_for_no_lid() -> None:
    assert told("label-large", of(box="none", labels={"size": "180 x 180 mm"})) == []


def test_cards_are_told_by_their_own_table() -> None:
    (line,) = told("label-sheet", of(cards={"size": "88 x 56 mm", "columns": 3}))
    assert line.startswith("Must fix · shop.toml: 3 columns of cards 88 mm wide need 54 mm more than the sheet")


def test_cards_of_a_channel_that_is_not_there_are_told_which_there_are() -> None:
    one = of(cards={"channel": "stal"})
    assert any('there is no channel "stal". Write' in line for line in told("language-missing", one))


@pytest.mark.parametrize(
    ("says", "channels", "told_of"),
    [
        ({"address": ""}, (), "labels name"),
        ({"address": "Somebody, 1 Lane, Town"}, (), ""),
        ({"address": "Somebody, 1 Lane, Town ZZ 00000", "country": "US"}, (), ""),
        ({"address": "Somebody, 1 Lane, Town", "country": "US"}, (), "has no ZIP code"),
        ({"address": "Somebody\n12345 Lane Street\nTown, ZZ", "country": "US"}, (), "has no ZIP code"),
        ({"address": "Somebody\n12345 Lane Street\nTown, ZZ, 00000-0000, USA", "country": "US"}, (), ""),
        (
            {"address": "Somebody, 1 Lane, Town"},
            ({"country": "FR"},),
            "sold to FR, and labels name nobody in the Union",
        ),
        ({"address": "Somebody, 1 Lane, Town"}, ({"country": "GB", "region": "GB-NIR"},), "nobody in the Union"),
        ({"address": "Somebody, 1 Lane, Town", "region": "GB-NIR"}, ({"country": "FR"},), ""),
        ({"address": "Somebody, 1 Lane, Town", "country": "FR"}, ({"country": "GB"},), "nobody in the United Kingdom"),
        (
            {"address": "Somebody, 1 Lane, Town", "country": "FR"},
            ({"country": "GB", "region": "GB-SCT"},),
            "nobody in the United Kingdom",
        ),
        ({"address": "Somebody, 1 Lane, Town", "country": "FR"}, ({"country": "GB", "region": "GB-NIR"},), ""),
        ({"address": "Somebody, 1 Lane, Town", "country": "FR"}, ({"country": "DE"},), ""),
    ],
)
def test_a_label_names_somebody_who_answers_for_the_goods_where_they_are_sold(
    says: dict[str, Any], channels: tuple[dict[str, str], ...], told_of: str
) -> None:
    """Regulation (EC) 1223/2009, Articles 4 and 19(1)(a); 21 CFR 701.12: street, city, state, ZIP code, from memory."""
    of_shop = clean(
        settings=settings(**says, labels={"size": "140 x 140 mm"}), channels=tuple(channel(**one) for one in channels)
    )
    lines = told("maker-unstated", of_shop)
    assert [told_of in line for line in lines] == ([True] if told_of else [])


@pytest.mark.parametrize(
    ("says", "place", "missing"),
    [
        ({}, {"country": "FR", "make": ["listings"]}, "address and e-mail address"),
        ({"address": "Reed, 1 Lane End"}, {"country": "FR", "make": ["listings"]}, "no e-mail address."),
        (
            {"email": "post@reed.example"},
            {"country": "GB", "region": "GB-NIR", "make": ["listings"]},
            "no postal address.",
        ),
        ({"address": "Reed, 1 Lane End", "email": "post@reed.example"}, {"country": "FR", "make": ["listings"]}, ""),
        ({}, {"country": "US", "make": ["listings"]}, ""),
        ({}, {"country": "FR", "make": ["price list"]}, ""),  # a stall, where the maker stands behind it
    ],
)
def test_offers_online_in_the_union_show_who_makes_the_goods_and_where_to_write(
    says: dict[str, Any], place: dict[str, Any], missing: str
) -> None:
    """Regulation (EU) 2023/988, Article 19(a), from memory; Northern Ireland goes with the Union."""
    one = clean(
        settings=settings(**{"country": "US", "address": "", "email": "", **says}), channels=(channel(**place),)
    )
    lines = [line for line in told("maker-unstated", one) if "offers online" in line]
    assert [missing in line for line in lines] == [True] * bool(missing)
