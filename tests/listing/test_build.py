"""Listings of a whole shop: one for every set on every channel, faults told once, nothing in another language."""

from typing import Any

import pytest

from listkit.check.rules import CODES
from listkit.compute.build import build_catalog
from listkit.listing.build import build_listings
from listkit.listing.listings import Listings
from listkit.model.shop import Photo, SetFolder, Shop, Story
from listkit.read.templates import own_templates
from tests.listing.shops import BALM, BAR, ITEMS, JAR, SCRUB, channel, folder, listed, photo, shop

TEMPLATES = dict(own_templates())
FRENCH = TEMPLATES["words/en.toml"].replace('contents = "What is inside"', 'contents = "Ce que contient le coffret"')
FRENCH_CAUTIONS = '[external-use]\ntext = "Usage externe."\n'


def with_stories(made: SetFolder, **texts: str) -> SetFolder:
    stories = tuple(Story(f"sets/low-tide/story.{tag}.md", tag.replace("_", "-"), text) for tag, text in texts.items())
    return SetFolder(made.folder, made.gift_set, (*made.stories, *stories), made.photos)


def told(found: Listings) -> list[tuple[str, str, str, str]]:
    return [(one.code, str(one.place), one.message, one.hint) for one in found.problems]


def test_every_set_is_listed_on_every_channel_channels_first() -> None:
    made = shop(folder(), folder(at="high", code="HHS-2"), channels=[channel("a"), channel("b", text="plain")])
    found = listed(made)
    assert [(one.channel.key, one.folder) for one in found] == [
        ("a", "low-tide"), ("a", "high"), ("b", "low-tide"), ("b", "high"),
    ]  # fmt: skip
    assert [(key.key, len(own)) for key, own in found.by_channel()] == [("a", 2), ("b", 2)]


def test_the_same_shop_gives_the_same_listings_and_stays_as_it_was() -> None:
    made = shop(folder(photos=[photo("a.jpg", "open box", shows=["HH-U1"])]), channels=[channel("a"), channel("b")])
    catalog = build_catalog(made)
    assert build_listings(catalog) == build_listings(catalog)
    assert catalog == build_catalog(made)


def test_what_a_listing_takes_from_shop_set_and_channel() -> None:
    listing = listed(shop(folder(), channels=[channel(country="FR")], website="https://hh.example")).listings[0]
    assert (listing.country, listing.language, listing.brand, listing.currency) == ("FR", "en-GB", "Hob & Hedge", "GBP")
    assert listing.address == "https://hh.example/sets/low-tide"
    assert listed(shop(folder(), channels=[channel(listing_address="")])).listings[0].address == ""
    assert listing.keywords == ("spring gift", "sea gift")
    assert listing.theme == "For the hour when the rocks are bare."
    assert (str(listing.cheapest), str(listing.dearest)) == ("27.00", "29.00")


def test_figures_in_a_story_are_those_of_the_variants_shown() -> None:
    """16.00 for the body butter, with 7.50 + 4.50 for the rest and 1.00 for the box: 29.00; the scrub is sold out."""
    items = (BAR, BALM, JAR, SCRUB | {"on_hand": 0})
    made = shop(folder(), items=items, channels=[channel("all"), channel("some", sold_out="hide")])
    every, some = listed(made).listings
    assert "from £29.00 to £29.00" in every.description  # what is sold out sets no price
    assert "from £29.00 to £29.00" in some.description


def test_a_range_of_one_price_is_one_price() -> None:
    def said(**changes: Any) -> str:
        items = [item | changes if item["code"] == "HH-U1" else item for item in ITEMS]
        made = shop(folder(story="It is {{ prices }}."), items=items, channels=[channel(text="plain")])
        return listed(made).listings[0].description.partition("It is ")[2].splitlines()[0]

    assert said() == "£27.00 (sugar scrub) or £29.00 (body butter)."
    assert said(on_hand=0) == "£27.00."


def test_a_story_may_name_set_items_prices_season_shop_box_and_count() -> None:
    story = (
        "{{ set.name }}, {{ set.code }}, {{ set.theme }} {{ set.season }}: {{ items }}, {{ count }} pieces, box "
        "{{ box.code }} of {{ box.inside }}{{ box.outside }}, {{ season.name }} from {{ season.on_sale | date }} to "
        '{{ season.off_sale | date("day") }}, {{ shop.name }}, {{ shop.website }}'
    )
    made = shop(folder(story=story), channels=[channel(text="plain")], website="https://hh.example")
    assert (
        "Low Tide, HHS-1, For the hour when the rocks are bare. spring: a bar of soap, a lip balm and a jar of your "
        "choosing, 3 pieces, box S of 162 × 122 × 70 mm, spring from 15 February 2027 to 10 May, Hob & Hedge, https://hh.example\n"
    ) in listed(made).listings[0].description


def test_a_template_s_title_is_the_one_that_the_channel_takes() -> None:
    channels = [channel("a", limits={"title": 20}), channel("b")]
    made = shop(folder(), channels=channels, templates={"listing/listing.html": "{{ title }}"})
    assert [one.description.strip() for one in listed(made)] == [
        "Low Tide gift set",
        "Low Tide gift set: bar soap, lip balm &amp; jar for spring, 3 pieces",
    ]


def test_a_fault_in_a_story_is_told_once_and_takes_only_its_own_listings_out() -> None:
    broken = folder(story="It is fine.\n\nIt costs {{ cheapestt | in_currency }}.")
    made = shop(broken, folder(at="high", code="HHS-2"), channels=[channel("a"), channel("b", text="markdown")])
    found = listed(made)
    assert told(found) == [
        ("template-fault", "sets/low-tide/story.md, line 3", 'there is no "cheapestt".', 'Write "cheapest".')
    ]
    assert [(one.channel.key, one.folder) for one in found] == [("a", "high"), ("b", "high")]


def test_an_empty_season_in_a_story_is_a_fault_with_its_remedy() -> None:
    found = listed(shop(folder(story="Until {{ season.off_sale | date }}.", season="")))
    assert told(found) == [
        (
            "template-fault",
            "sets/low-tide/story.md, line 1",
            '"season" is empty here, so there is no "season.off_sale".',
            "Put {% if season %} before it and {% endif %} behind.",
        )
    ]


@pytest.mark.parametrize("line", ["{{ nobody }}", "{% for x in contents %}", "{{ title | shout }}"])
def test_a_fault_in_the_owner_s_template_is_told_once_with_its_file(line: str) -> None:
    made = shop(
        folder(),
        folder(at="high", code="HHS-2"),
        channels=[channel("a"), channel("b"), channel("c", text="plain")],
        templates={"listing/listing.html": f"<p>\n{line}</p>\n"},
    )
    found = listed(made)
    assert [(one.code, one.place.file) for one in found.problems] == [
        ("template-fault", "templates/listing/listing.html")
    ]
    assert [one.channel.key for one in found] == ["c", "c"]


def test_a_template_of_the_owner_s_is_used() -> None:
    own = "<h2>{{ title }}</h2>{% for line in contents %}{{ line.name }}; {% endfor %}{{ story | html }}"
    made = shop(folder(), templates={"listing/listing.html": own})
    assert (
        listed(made)
        .listings[0]
        .description.startswith(
            "<h2>Low Tide gift set: bar soap, lip balm &amp; jar for spring, 3 pieces</h2>Gorse &amp; Salt bar soap; "
        )
    )


def test_a_channel_in_another_language_has_its_words_its_cautions_and_its_figures() -> None:
    """Unicode CLDR, French: a comma in numbers, the currency's sign behind the amount."""
    made = shop(
        with_stories(folder(), fr="De {{ cheapest | in_currency }} à {{ dearest | in_currency }}."),
        channels=[channel(language="fr-CA", text="plain")],
        templates={"words/fr.toml": FRENCH, "cautions/fr.toml": FRENCH_CAUTIONS},
    )
    found = listed(made)
    assert found.problems == ()
    text = found.listings[0].description.replace("\xa0", " ")
    assert "De 27,00 £ à 29,00 £." in text
    assert "Ce que contient le coffret" in text
    assert "4,5 g" in text
    assert "Usage externe." in text
    assert found.listings[0].language == "fr-CA"


def test_a_language_without_words_is_told_where_it_is_asked_for_and_no_listing_is_in_english_instead() -> None:
    channels = [channel("a"), channel("b", language="it")]
    found = listed(shop(folder(), folder(at="high", code="HHS-2"), channels=channels))
    assert [(one.code, one.place.file, one.place.key, one.message, one.hint) for one in found.problems] == [
        (
            "language-missing", "channels/b.toml", ("language",),
            'listkit has no words in "it" to write with; it has "de", "en", "es" and "fr".',
            "Write one of these, or put words of your own into templates/words/it.toml and templates/cautions/it.toml "
            "of the shop folder, after ours.",
        )
    ]  # fmt: skip
    assert "language-missing" in CODES
    assert [one.channel.key for one in found] == ["a", "a"]
    of_the_shop = listed(shop(folder(), channels=[channel("a")], language="it"))
    assert [one.place.file for one in of_the_shop.problems] == ["shop.toml"]


def test_a_language_that_nobody_knows_is_a_problem_even_with_words() -> None:
    templates = {"words/xx.toml": FRENCH, "cautions/xx.toml": FRENCH_CAUTIONS}
    found = listed(shop(folder(), channels=[channel(language="xx")], templates=templates))
    assert [(one.code, one.place.file) for one in found.problems] == [("language-missing", "channels/web.toml")]
    assert found.listings == ()


def test_a_set_without_story_in_a_channel_s_language_is_told_and_left_out() -> None:
    templates = {"words/fr.toml": FRENCH, "cautions/fr.toml": FRENCH_CAUTIONS}
    channels = [channel("a", language="fr"), channel("b", language="fr", text="plain")]
    found = listed(shop(folder(), channels=channels, templates=templates))
    assert [(one.code, one.place.file) for one in found.problems] == [("language-missing", "sets/low-tide/story.fr.md")]
    assert found.listings == ()
    silent = listed(shop(folder(story=""), channels=channels, templates=templates))
    assert (len(silent.listings), silent.problems) == (2, ())


def test_the_nearest_story_is_taken_and_the_shop_s_own_for_its_own_language() -> None:
    made = with_stories(folder(story="Ours."), en_US="Theirs.", en="Anybody's.")
    channels = [channel(key, language=key, text="plain") for key in ("en-US", "en-GB", "en")]
    found = [one.description for one in listed(shop(made, channels=channels))]
    assert [next(word for word in ("Ours.", "Theirs.", "Anybody's.") if word in text) for text in found] == [
        "Theirs.", "Anybody's.", "Anybody's.",
    ]  # fmt: skip
    assert "Ours." in listed(shop(folder(story="Ours."), channels=[channel(language="en-US")])).listings[0].description


def test_photos_and_words_are_those_of_the_listing() -> None:
    stated = photo("b.jpg", "detail", alt="A bar on the sill")
    photos: list[Photo] = [photo("a.jpg", "open box", shows=["HH-U1"]), stated]
    listing = listed(shop(folder(photos=photos))).listings[0]
    assert listing.alts == (
        "Open box with Gorse & Salt bar soap, Quince & Wax lip balm and Meadow body butter",
        "A bar on the sill",
    )
    assert listing.slot_names == ("Jar",)


def claims(text: str) -> list[str]:
    words = ("save", "saving", "instead of", "worth", "cure", "heal", "treat", "guarantee")
    return [word for word in words if f" {word} " in f" {text.lower()} ".replace(".", " ").replace(",", " ")]


def test_the_demo_s_listings_are_whole(demo: Listings) -> None:
    assert demo.problems == ()
    assert len(demo.listings) == 8 * 4 - 1 + 10  # the stall takes all but one, and ten single pieces
    assert [(left.channel, left.facts.code) for left in demo.left_out] == [("stall", "OHS-8")]
    for listing in demo:
        limit = listing.channel.limits.title
        assert limit is None or len(listing.title) <= limit
        assert "{{" not in listing.plain
        assert claims(listing.plain) == []
        assert [choice for offer in listing.offers for choice in offer.choices if choice not in listing.plain] == []
        assert len({alt.casefold() for alt in listing.alts}) == len(listing.alts)
        assert [alt for alt in listing.alts if not 60 <= len(alt) <= 125] == []
        assert len({offer.name for offer in listing.offers}) == len(listing.offers)


def test_the_demo_s_prices_stock_and_names_are_those_worked_by_hand(demo: Listings) -> None:
    """First Nectar: 7.50 + 4.50 + 16.00 and 1.00 uplift is 29.00; 14.00 for the scrub makes 27.00.

    31 jars of Clover & Cream less 2 held back are 29; 9 of Elderflower & Verbena leave 7.
    """
    listing = next(one for one in demo if one.folder == "first-nectar" and one.channel.key == "web_shop")
    assert listing.title == "First Nectar gift set: bar soap, lip balm & jar for spring, 3 pieces"
    assert {one.variant.code: (str(one.variant.prices.price), one.stock) for one in listing.offers} == {
        "OHS-1-S03": ("27.00", 7), "OHS-1-U01": ("29.00", 29), "OHS-1-U02": ("29.00", 16),
    }  # fmt: skip


def test_a_shop_without_channels_or_sets_has_no_listings() -> None:
    made = shop()
    assert listed(Shop(made.root, made.settings)).listings == ()
