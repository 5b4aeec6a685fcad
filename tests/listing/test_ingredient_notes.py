"""What is said beneath the ingredients."""

from dataclasses import replace
from typing import Any

import pytest

from listkit.compute.ingredients import USUAL_ALLERGENS
from listkit.listing.declared import ingredient_notes
from listkit.listing.words import parse_words
from listkit.read.templates import own_templates
from tests.listing.shops import BALM, BAR, DISH, JAR, channel, folder, item, listed, shop

ENGLISH = dict(own_templates())["words/en.toml"]


def notes(*rows: dict[str, Any], template: str = ENGLISH) -> tuple[str, ...]:
    words, _ = parse_words("en", (("words/en.toml", template),))
    assert words is not None
    return ingredient_notes(words, tuple(item(**row) for row in rows), USUAL_ALLERGENS)


def test_what_all_hold_is_told_and_a_dish_without_ingredients_does_not_count() -> None:
    bar, balm = BAR | {"ingredients": "Aqua, Linalool, Citral"}, BALM | {"ingredients": "Citral, Linalool"}
    assert notes(bar, balm, DISH | {"ingredients": ""}) == ("Every piece listed contains Linalool and Citral.",)


def test_what_people_ask_for_is_told_by_product() -> None:
    rows = (
        BAR | {"ingredients": "Sodium Cocoate, Mel"},
        BALM | {"ingredients": "Cera Alba, Butyrospermum Parkii Butter, Lanolin"},
        JAR | {"ingredients": "Whole Dry Milk, Avena Sativa Kernel Oil"},
    )
    assert notes(*rows) == (
        "Oils or butters of nuts, coconut or shea are in the bar soap and lip balm.",
        "Beeswax, honey or propolis is in the bar soap and lip balm.",
        "Milk is in the body butter.",
        "Wool fat is in the lip balm.",
        "Oats or other cereals are in the body butter.",
    )


def test_what_all_are_made_with_names_none() -> None:
    rows = BAR | {"ingredients": "Mel"}, BALM | {"ingredients": "Cera Alba"}
    assert notes(*rows) == ("Beeswax, honey or propolis is in the pieces listed.",)


def test_an_owner_leaves_a_note_out_by_an_empty_sentence() -> None:
    template = ENGLISH.replace('bees = "Beeswax, honey or propolis is in the {items}."', 'bees = ""')
    assert notes(BAR | {"ingredients": "Mel"}, template=template) == ()


def test_the_text_holds_the_notes_beneath_the_ingredients() -> None:
    honey = BAR | {"ingredients": "Aqua, Mel"}
    made = listed(shop(folder(contents=[{"item": "HH-B1"}]), items=(honey,)))
    text = made.listings[0].description
    assert text.index("Aqua, Mel") < text.index("Beeswax, honey or propolis is in the bar soap.")


@pytest.mark.parametrize(
    ("blocks", "own", "says"),
    [
        ([], {}, 0),  # the note tells of them
        (["cautions", "ingredients"], {}, 1),  # a place without notes
        ([], {"cautions/en.toml": ("Made with oils or", "Of oils or")}, 1),  # the owner's own words
        (
            [],
            {"words/en.toml": ('nuts = "Oils or butters of nuts, coconut or shea are in the {items}."', 'nuts = ""')},
            1,
        ),
    ],
)
def test_nuts_are_told_of_once_in_a_text_by_the_note_or_by_the_caution(
    blocks: list[str], own: dict[str, tuple[str, str]], says: int
) -> None:
    bar = BAR | {"ingredients": "Sodium Olivate, Prunus Amygdalus Dulcis Oil", "cautions": ["nut-oils"]}
    texts = {path: dict(own_templates())[path].replace(*change) for path, change in own.items()}
    one = shop(folder(contents=[{"item": "HH-B1"}]), items=(bar,), channels=[channel(blocks=blocks)], templates=texts)
    one = replace(one, templates=replace(one.templates, owners=frozenset(own)))
    (listing,) = listed(one).listings
    assert listing.description.count("oils or butters from nuts") == says
    assert ("of nuts, coconut or shea" in listing.description) is (not blocks and "words/en.toml" not in own)
    assert "nuts" in str(listing.offers[0].cautions)
