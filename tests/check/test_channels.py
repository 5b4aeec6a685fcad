"""Checks of what a channel's file asks for: other channels' pictures, blocks of texts.

The source of each rule is the channel's own file, in the tests invented; common practice, no source.
"""

import datetime
from dataclasses import replace
from typing import Any

from listkit.check import check_listings
from listkit.check.places import CheckContext
from listkit.model.shop import FolderRead, LeftOut, Shop
from tests.listing.shops import channel, folder, listed, photo, shop

DAY = datetime.date(2027, 3, 1)
BARE: dict[str, Any] = {"make": ["feed"], "crop": [], "photo_address": ""}
CUSTOM = "{{ title }}\n{{ story | html }}"


def told(code: str, of: Shop) -> list[str]:
    found = check_listings(listed(of), CheckContext(DAY))
    return [str(problem) for problem in found if problem.code == code]


def with_pictures(*channels: Any) -> Shop:
    return shop(folder(photos=[photo("open.jpg", "open box")]), channels=channels)


def test_pictures_of_none_of_itself_and_of_a_place_without_are_told() -> None:
    fair = [channel("fair", **BARE, photos_of=key) for key in ("wbe", "fair", "stall")]
    said = [told("photos-of", with_pictures(each, channel("stall", **BARE), channel())) for each in fair]
    assert said == [
        ['Must fix · channels/fair.toml: there is no channel "wbe". Write "web".'],
        ['Must fix · channels/fair.toml: it is to show the pictures of itself. Take it out. Write "web".'],
        ['Must fix · channels/fair.toml: Web shop makes no pictures. Write "web".'],
    ]
    both = channel("fair", photos_of="web")
    assert "shows the pictures of Web shop and makes its own" in told("photos-of", with_pictures(both, channel()))[0]
    assert told("photos-of", with_pictures(channel("fair", **BARE, photos_of="web"), channel())) == []
    nobody = told("photos-of", with_pictures(channel("fair", **BARE, photos_of="web"), channel(**BARE)))
    assert nobody[0].endswith('Add "photos" to make and a [[crop]] to one of the channels.')


def test_a_place_with_an_address_for_pictures_and_none_in_its_rows_is_told() -> None:
    french = channel("fr", **(BARE | {"photo_address": "https://fr.example/"}))
    assert told("pictures-none", with_pictures(french, channel())) == [
        "Look at · channels/fr.toml: it has an address for pictures, and none of its 2 rows has a picture. "
        'Write photos_of = "web" to show those made there, or add "photos" to make and a [[crop]] here.'
    ]
    lent = french.model_copy(update={"photos_of": "web"})
    assert told("pictures-none", with_pictures(lent, channel())) == []
    assert told("pictures-none", shop(folder(), channels=[french])) == []  # there is no photo at all


def test_cautions_leave_a_text_only_where_the_feed_has_them() -> None:
    short: dict[str, Any] = {"blocks": ["opening", "contents", "allergens"]}
    assert told("block-needed", shop(folder(), channels=[channel(**short)])) == [
        "Must fix · channels/web.toml: its texts leave out cautions, and its feed has no column of it. "
        'Write "cautions" among the blocks, or add a [[column]] with value = "cautions".'
    ]
    column = [{"heading": "Code", "value": "sku"}, {"heading": "Mind", "value": "cautions"}]
    assert told("block-needed", shop(folder(), channels=[channel(**short, column=column)])) == []
    assert len(told("block-needed", shop(folder(), channels=[channel(**short, column=column, feed="json")]))) == 1
    dish = folder(contents=[{"item": "HH-D1"}])  # which has none
    assert told("block-needed", shop(dish, channels=[channel(**short)])) == []


def test_a_template_that_knows_no_blocks_is_told_once() -> None:
    channels = [channel(blocks=["opening", "allergens", "cautions"]), channel("fair", name="Fair", if_long=["care"])]
    templates = {"listing/listing.html": CUSTOM}
    assert told("blocks-ignored", shop(folder(), channels=channels, templates=templates)) == [
        "Look at · templates/listing/listing.html: it does not ask for blocks, so what Web shop and Fair says of them "
        "changes nothing. Write it after ours, with {% for block in blocks %}, or take blocks and if_long out."
    ]
    assert told("blocks-ignored", shop(folder(), channels=channels)) == []
    assert told("blocks-ignored", shop(folder(), channels=[channel()], templates=templates)) == []


def too_long(limit: int, **says: Any) -> str:
    made = channel(text="plain", limits={"description": limit}, **says)
    return told("description-long", shop(folder(), channels=[made]))[0]


def test_a_text_too_long_is_told_with_what_each_block_takes_and_which_could_go() -> None:
    text = listed(shop(folder(), channels=[channel(text="plain")])).listings[0].description
    said = too_long(len(text) - 10)
    assert f"the text has {len(text)} characters, 10 over what Web shop takes ({len(text) - 10}): opening 1" in said
    assert said.endswith("Take out 10 characters, about 2 words.")  # the story has more than that
    said = too_long(len(text) - 200)
    assert "channels/web.toml" in said
    assert "words" not in said
    assert 'Write if_long = ["' in said


def test_where_nothing_more_may_go_it_is_told_what_stays_and_why() -> None:
    said = too_long(150, if_long=["care", "story", "cautions"])
    assert " without care and story, " in said
    assert "allergens and cautions may only go where the feed has a [[column]] with " in said
    assert 'value = "fragranceAllergens" and value = "cautions"' in said


def test_pictures_of_a_place_whose_file_cannot_be_read_are_not_known() -> None:
    french = channel("fr", **(BARE | {"photo_address": "https://fr.example/", "photos_of": "web"}))
    made = replace(with_pictures(french), left_out=LeftOut(channels=frozenset({"web"})))
    assert told("photos-of", made) == [
        "Must fix · channels/fr.toml: channels/web.toml cannot be read, so its pictures are not known. "
        "Mend that file first."
    ]
    assert told("pictures-none", made) == []  # it only follows


def test_sets_that_the_other_place_does_not_show_are_told_since_they_have_no_picture() -> None:
    def made(**lender: Any) -> Shop:
        sets = [folder(photos=[photo("open.jpg", "open box")]), folder(photos=[photo("a.jpg")], at="b", code="HHS-2")]
        fair = channel("fair", **(BARE | {"photos_of": "web"}))
        return shop(*sets, channels=[fair, channel(**lender)])

    assert told("pictures-none", made()) == []
    assert told("pictures-none", made(sets=["HHS-1"])) == [
        "Look at · channels/fair.toml: it shows the pictures of Web shop, which does not show HHS-2, so it has none "
        "here. Show it there too, or leave it out here."
    ]
    [line] = told("pictures-none", made(sets=["HHS-9"]))
    assert "which does not show HHS-1 and HHS-2, so they have none here. Show them there too, or leave them" in line


def test_where_the_other_place_shows_nothing_its_key_is_not_asked_for_again() -> None:
    fair = channel("fair", **(BARE | {"photo_address": "https://fr.example/", "photos_of": "web"}))
    [line] = told("pictures-none", with_pictures(fair, channel(sets=["HHS-9"])))
    assert "which does not show HHS-1" in line


def test_a_channel_that_takes_nothing_of_what_is_on_sale_is_told_once() -> None:
    item_of_all: dict[str, Any] = {"leave_out": ["HH-D1"]}
    dish = folder(contents=[{"item": "HH-D1"}])
    assert told("takes-nothing", shop(dish, channels=[channel(**item_of_all)])) == [
        "Look at · channels/web.toml: Web shop takes nothing of all that is on sale. "
        "Take out of this line what it is to show."
    ]
    assert told("takes-nothing", shop(folder(), dish, channels=[channel(**item_of_all)])) == []
    closed = folder(status="closed")
    (none_on_sale,) = told("takes-nothing", shop(closed, folder(code="HHS-2"), channels=[channel(sets=["HHS-1"])]))
    assert none_on_sale.endswith("Name a set that is on sale, or take this line out.")
    assert told("takes-nothing", shop(closed, channels=[channel()])) == []
    waiting = replace(shop(folder(), channels=[channel(sets=["HHS-9"])]), folders=(FolderRead("late", "HHS-9", ""),))
    assert told("takes-nothing", waiting) == []
