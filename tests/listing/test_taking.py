"""What a place takes: which sets and options, how many keywords, and which signs."""

import html
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.listing.listings import Listing, Listings
from listkit.listing.replacing import Signs
from listkit.model.channel import Channel
from listkit.model.labels import UnitPricing
from listkit.write.json_feed import product_group
from tests.listing.shops import ITEMS, channel, folder, listed, shop

AND: dict[str, Any] = {"replace": {"&": "and"}}


def shown(*sets: Any, **says: Any) -> Listings:
    return listed(shop(*sets, channels=[channel(**says)]))


def first(**says: Any) -> Listing:
    return shown(folder(), **says).listings[0]


TWO = (folder(), folder(at="bar", code="HHS-2", name="Bar & Dish", contents=[{"item": "HH-B1"}, {"item": "HH-D1"}]))


def codes(of: Listings) -> list[str]:
    return [offer.variant.code for listing in of for offer in listing.offers]


def test_a_place_takes_all_sets_unless_it_names_some() -> None:
    assert codes(shown(*TWO)) == ["HHS-1-U1", "HHS-1-S1", "HHS-2"]
    assert codes(shown(*TWO, sets=["HHS-2"])) == ["HHS-2"]
    assert [left.facts.code for left in shown(*TWO, sets=["HHS-2"]).left_out] == ["HHS-1"]


@pytest.mark.parametrize(
    ("gone", "left"),
    [
        (["HHS-1"], ["HHS-2"]),
        (["HH-D1"], ["HHS-1-U1", "HHS-1-S1"]),
        (["HH-B1"], []),
        (["HH-S1"], ["HHS-1-U1", "HHS-2"]),
        (["HHS-1-S1"], ["HHS-1-U1", "HHS-2"]),
        (["HHS-1-S1", "HHS-1-U1"], ["HHS-2"]),
    ],
)
def test_a_set_what_holds_an_item_or_one_option_is_left_out(gone: list[str], left: list[str]) -> None:
    assert codes(shown(*TWO, leave_out=gone)) == left


def test_an_option_that_is_left_out_is_in_no_text_either() -> None:
    listing = first(leave_out=["HHS-1-S1"], text="plain")
    assert "Shoreline" not in listing.description
    assert [option.item.code for option in listing.slots[0].options] == ["HH-U1"]


def test_of_two_slots_the_option_of_one_is_named_by_the_sets_code_and_its_part() -> None:
    slots = [{"slot": name, "choose": ["HH-U1", "HH-S1"]} for name in ("Left jar", "Right jar")]
    assert codes(shown(folder(contents=slots), leave_out=["HHS-1-U1"])) == ["HHS-1-S1-S1"]
    assert codes(shown(folder(contents=slots), leave_out=["HHS-1-U1-U1"])) == [
        "HHS-1-U1-S1",
        "HHS-1-S1-U1",
        "HHS-1-S1-S1",
    ]


def test_keywords_are_all_or_the_first_that_a_place_takes() -> None:
    limits = {"limits": {"keywords": 1}}
    assert first(**limits).keywords == ("spring gift", "sea gift")
    assert first(**limits, keywords="first").keywords == ("spring gift",)
    assert first(keywords="first").keywords == ("spring gift", "sea gift")


@pytest.mark.parametrize("text", ["html", "plain", "markdown"])
def test_words_are_replaced_before_they_are_escaped_and_nothing_else_is(text: str) -> None:
    story = "Soap & wax, see <https://hh.example/?a&b>, [the shop & more](https://hh.example/?a&b) or {{ set.name }}."
    made = folder(story=story, name="Tide & Time", code="HHS-1", keywords=["salt & sea"], theme="Rain & rye.")
    before, after = (shown(made, text=text, **says).listings[0] for says in ({}, AND))
    for listing in (before, after):
        assert html.unescape(listing.description).count("/?a&b") == (3 if text == "html" else 2)
    read = html.unescape(after.description).replace("?a&b", "").replace("\\", "")
    assert "&" not in read + after.title + after.plain.replace("?a&b", "")
    for words in ("Soap and wax", "Tide and Time", "Rain and rye.", "Gorse and Salt bar soap, 110 g"):
        assert words in read
    assert after.keywords == ("salt and sea",)
    assert [offer.variant.code for offer in after.offers] == [offer.variant.code for offer in before.offers]
    assert (before.brand, after.brand) == ("Hob & Hedge", "Hob and Hedge")
    assert after.as_stated.name == "Tide & Time"


def test_pictures_choices_ingredients_and_cautions_are_words_too() -> None:
    items = [
        item | {"name": "Oat & Rye", "ingredients": "Aqua & Cera"} if item["code"] == "HH-U1" else item
        for item in ITEMS
    ]
    made = shop(folder(), items=items, channels=[channel(**AND)])
    offer = listed(made).listings[0].offers[0]
    assert offer.choices == ("Oat and Rye body butter",)
    assert offer.name.endswith(", Oat and Rye body butter")
    assert "Oat and Rye body butter: Aqua and Cera" in offer.ingredients
    assert not [text for text in (*offer.contents, *offer.cautions) if "&" in text]
    node = product_group(listed(made).listings[0])
    assert "&" not in str(node)


def test_another_place_keeps_its_signs() -> None:
    plain, replaced = listed(shop(folder(name="Tide & Time"), channels=[channel(), channel("fair", **AND)])).listings
    assert (plain.facts.name, replaced.facts.name) == ("Tide & Time", "Tide and Time")
    assert "Gorse &amp; Salt" in plain.description
    assert "Gorse and Salt" in replaced.description


def test_titles_of_our_making_hold_no_sign_that_a_place_forbids() -> None:
    contents = [{"item": "HH-B1"}, {"item": "HH-L1"}]
    title = shown(folder(contents=contents)).listings[0].title
    assert title == "Low Tide gift set: bar soap & lip balm for spring, 2 pieces"
    assert shown(folder(contents=contents), limits={"forbidden": "&"}).listings[0].title == title.replace("&", "and")
    assert shown(folder(contents=contents), limits={"forbidden": "&:"}).listings[0].title == "Low Tide gift set"
    names = [offer.name for offer in first(limits={"forbidden": ","}).offers]
    assert names == ["Low Tide gift set - Meadow body butter", "Low Tide gift set - Shoreline sugar scrub"]
    stated = shown(folder(title="This & that: all"), limits={"forbidden": "&:"}).listings[0]
    assert stated.title == "This & that: all"  # hers, and told


OURS: dict[str, Any] = {"replace": {"×": "x", "–": "-", "£": "GBP "}}


@pytest.mark.parametrize("text", ["html", "plain", "markdown"])
def test_signs_that_we_put_between_figures_and_around_choices_are_replaced_too(text: str) -> None:
    items = [item | {"net": "4 x 25 g", "retail": "2.00"} if item["code"] == "HH-U1" else item for item in ITEMS]
    pair = folder(contents=[{"item": "HH-B1", "quantity": 2}, {"slot": "Jar", "choose": ["HH-U1", "HH-S1"]}])
    alone = folder(at="bar", code="HHS-2", contents=[{"item": "HH-B1"}])
    priced = channel(text=text, **OURS, unit_price=UnitPricing())
    listing, bar = listed(shop(pair, alone, items=items, channels=[priced])).listings
    read = listing.description + listing.plain
    assert "4 x 25 g" in read
    assert "162 x 122 x 70 mm" in read
    assert "- hay, 4 x 25 g, GBP 18.00" in read
    offer = listing.offers[0]
    every = [read, *offer.contents, *offer.net_contents, offer.net_declaration, listing.title]
    assert bar.offers[0].unit_price.startswith("GBP ")
    assert not set("×–£") & set("".join(every))


def test_what_is_put_into_a_finished_text_is_no_markup() -> None:
    listing = shown(folder(contents=[{"item": "HH-B1", "quantity": 2}]), replace={"×": "<b>", "£": "*"}).listings[0]
    assert "<b>" not in listing.description
    assert "&lt;b&gt;" in listing.description  # in a sentence of ours it is a word like others


def test_a_sign_of_ours_that_another_is_replaced_by_stays() -> None:
    listing = shown(folder(contents=[{"item": "HH-B1", "quantity": 2}]), replace={"&": "×", "×": "x"}).listings[0]
    assert "2 x Gorse × Salt bar soap" in listing.offers[0].contents[0]


@pytest.mark.parametrize("table", [{"": "x"}, {" ": "_"}, {"5": "five"}, {"No 5": "five"}])
def test_nothing_and_figures_are_never_replaced(table: dict[str, str]) -> None:
    with pytest.raises(ValueError, match="only signs and words"):
        Channel.model_validate({"name": "Web", "make": ["feed"], "replace": table})


def test_longer_signs_go_first_and_what_is_written_instead_is_not_replaced_again() -> None:
    signs = Signs.of({"&": "+", "+": "plus", " & ": " and "})
    assert signs.text("a & b&c+d") == "a and b+cplusd"


def test_figures_codes_and_addresses_stay() -> None:
    signs = Signs.of({".": "", "-": " ", "/": " or ", ",": ";"})
    kept = "1.5 and 3,5 and 12/27 OHS-1-U01 http://a.example/b-c x.y@b-c.example"
    assert signs.text(f"{kept} well-made, a/b.") == f"{kept} well made; a or b"


@pytest.mark.parametrize("part", ["A1", "A", "{{", "](", "{%", "<a", "a@", "1.", "-", "A-"])
def test_a_long_text_is_walked_once(part: str) -> None:
    """A second each; one that was walked anew at each of its signs would not end within the hour."""
    signs, text = Signs.of({"&": "and"}), part * 50_000
    assert signs.story(text) == signs.text(text) == text


@given(st.text("ab &.,-1{}[]()<>*_#\n"))
def test_a_story_without_the_signs_stays_as_it_is(text: str) -> None:
    assert Signs.of({"§": "paragraph"}).story(text) == text
    assert Signs.of({"&": "&"}).story(text) == text
