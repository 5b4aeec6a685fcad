"""Texts in blocks: ordered, left out or moved to a field for each place, and shorter where one is tight."""

from typing import Any

import pytest

from listkit.compute.build import build_catalog
from listkit.listing.build import build_listings
from listkit.listing.listings import Listing
from listkit.listing.rows import feed_columns, feed_rows
from listkit.model.channel import USUAL_BLOCKS
from tests.listing.shops import channel, folder, listed, shop

HEADS = {
    "opening": "For the hour", "story": "Low Tide holds", "contents": "What is inside", "choices": "Choose your jar",
    "card and box": "Box and card", "care": "Store in a cool", "ingredients": "Sodium Olivate",
    "allergens": "propolis is in",
    "cautions": "Please read",
}  # fmt: skip


def one(**says: Any) -> Listing:
    return listed(shop(folder(), channels=[channel(**says)])).listings[0]


def order(text: str) -> list[str]:
    """The blocks in a text, as they come."""
    at = {block: text.find(head) for block, head in HEADS.items()}
    return sorted((block for block in at if at[block] >= 0), key=lambda block: at[block])


@pytest.mark.parametrize("text", ["html", "plain", "markdown"])
def test_blocks_come_in_the_order_of_the_place_and_others_not_at_all(text: str) -> None:
    assert order(one(text=text).description) == list(USUAL_BLOCKS)
    blocks = ["cautions", "care", "allergens", "opening", "contents"]
    listing = one(text=text, blocks=blocks)
    assert order(listing.description) == blocks
    assert order(listing.plain) == blocks


@pytest.mark.parametrize("text", ["html", "plain", "markdown"])
def test_all_blocks_named_in_the_usual_order_are_the_text_without_the_key(text: str) -> None:
    assert one(text=text, blocks=list(USUAL_BLOCKS)).description == one(text=text).description


def test_what_goes_first_goes_until_the_text_is_short_enough_and_no_further() -> None:
    whole, without_care = one(text="plain"), one(text="plain", blocks=[b for b in USUAL_BLOCKS if b != "care"])
    limit, first = len(whole.description), ["care", "story"]
    assert one(text="plain", limits={"description": limit}, if_long=first).description == whole.description
    shorter = one(text="plain", limits={"description": limit - 1}, if_long=first)
    assert shorter.description == without_care.description
    assert "care" not in shorter.blocks
    shorter = one(text="plain", limits={"description": len(without_care.description) - 1}, if_long=first)
    assert order(shorter.description) == [block for block in USUAL_BLOCKS if block not in first]
    assert shorter.block_sizes == ()


def test_cautions_and_allergens_go_only_where_the_feed_has_a_column_of_them() -> None:
    tight: dict[str, Any] = {"text": "plain", "limits": {"description": 300}, "if_long": ["cautions", "allergens"]}
    assert {"cautions", "allergens"} <= set(one(**tight).blocks)
    columns = [{"heading": "Code", "value": "sku"}, {"heading": "Mind", "value": "{{ cautions | join(' ') }}"}]
    blocks = one(**tight, column=columns).blocks
    assert "cautions" not in blocks
    assert "allergens" in blocks
    beside = one(**tight, file=[{"name": "cautions", "column": columns}])
    assert "cautions" in beside.blocks  # another file is not the feed


def test_a_text_that_stays_too_long_says_what_each_block_takes() -> None:
    listing = one(text="plain", limits={"description": 300}, if_long=["care"])
    sizes = dict(listing.block_sizes)
    assert list(sizes) == [block for block in USUAL_BLOCKS if block != "care"]
    assert sizes["opening"] == len(one(text="plain", blocks=["opening"]).description.strip())
    between = 2 * (len(sizes) - 1) + 1  # a free line between blocks, and the last line's end
    assert abs(sum(sizes.values()) + between - len(listing.description)) <= len(sizes)


def test_a_block_is_moved_to_a_field_of_its_own() -> None:
    columns = [
        {"heading": "Code", "value": "sku"},
        {"heading": "Tale", "value": "story"},
        {"heading": "Keep", "value": "{{ care | upper }}"},
    ]
    listing = one(column=columns, blocks=["opening", "contents", "cautions", "allergens"])
    assert "Low Tide holds" not in listing.description
    rows = list(feed_rows(listing.channel, (listing,), feed_columns(listing.channel, (listing,))))
    assert rows[0][1].startswith("Low Tide holds a bar of soap")
    assert rows[0][2].startswith("CARE: STORE IN A COOL, DRY PLACE")


def test_a_block_is_laid_out_alone_only_where_a_column_has_its_line() -> None:
    """The fields of contents, ingredients, allergens and cautions are made of the variant, not of the text."""
    usual = channel().model_copy(update={"columns": ()})
    assert listed(shop(folder(), channels=[usual])).listings[0].block_lines == ()
    columns = [{"heading": name, "value": name} for name in ("contents", "cautions", "care")]
    assert [block for block, _ in one(column=columns).block_lines] == ["care"]


def test_rows_come_in_the_order_of_the_seasons_and_what_has_none_last() -> None:
    seasons = [
        {"name": "late", "on_sale": "2027-07-01", "off_sale": "2027-08-01"},
        {"name": "early", "on_sale": "2027-02-01", "off_sale": "2027-03-01"},
    ]
    sets = [folder(at=f"s{n}", code=f"S-{n}", season=season) for n, season in enumerate(("", "late", "early", "late"))]
    found = build_listings(build_catalog(shop(*sets, season=seasons)))
    assert [listing.facts.code for listing in found] == ["S-2", "S-1", "S-3", "S-0"]
