"""A shop in another language: names of the owner's, figures and order of the language."""

from dataclasses import replace
from typing import Any

from listkit.listing.listings import Listing
from listkit.listing.translate import file_of, is_foreign, translation_of
from listkit.model.shop import SetFolder, Shop, Story
from listkit.model.translation import Translation
from tests.listing.shops import channel, folder, listed, photo, shop

FRENCH: dict[str, Any] = {
    "forms": {
        "bar soap": "savon", "lip balm": {"name": "baume à lèvres", "many": "baumes à lèvres"},
        "body butter": "beurre corporel", "sugar scrub": "gommage au sucre",
    },
    "scents": {"gorse": "ajonc", "quince": "coing", "hay": "foin", "kelp": "varech"},
    "containers": {"tube": "tube", "glass jar": "pot en verre", "paper band": "bandeau"},
    "seasons": {"spring": "de printemps"},
    "cautions": {"Keep out of reach.": "Tenir hors de portée."},
    "items": {
        "HH-B1": "Savon Ajonc & Sel", "HH-L1": "Baume à lèvres Coing & Cire", "HH-U1": "Beurre corporel Prairie",
        "HH-S1": "Gommage au sucre Rivage",
    },
    "sets": {
        "HHS-1": {
            "name": "Marée basse", "theme": "Pour l'heure où les rochers sont nus.", "keywords": ["cadeau de mer"],
            "slots": {"Jar": "Pot"}, "photos": {"a.jpg": "Un savon sur le rebord"},
        }
    },
}  # fmt: skip


def french(**changes: Any) -> Shop:
    """The small shop with French names and a story, on one channel that reads French and one that reads English."""
    own: SetFolder = folder(photos=[photo("a.jpg", "detail", alt="A bar on the sill")])
    stories = (*own.stories, Story("sets/low-tide/story.fr.md", "fr", "{{ set.name }} : {{ items }}."))
    own = SetFolder(own.folder, own.gift_set, stories, own.photos)
    made = shop(own, channels=[channel("a", language="fr", text="plain"), channel("b")])
    words = Translation.model_validate(FRENCH | changes, context={"currency": "GBP"})
    return replace(made, translations=(("fr", words),))


def both(**changes: Any) -> tuple[Listing, Listing]:
    found = listed(french(**changes))
    assert found.problems == ()
    one, other = found.listings
    return one, other


def test_titles_names_and_choices_are_in_the_channel_s_language() -> None:
    listing, english = both()
    assert listing.title == (
        "Coffret cadeau Marée basse\u00a0: savon, baume à lèvres & pot, collection de printemps, 3 pièces"
    )
    assert [offer.name for offer in listing.offers] == [
        "Coffret cadeau Marée basse, Beurre corporel Prairie",
        "Coffret cadeau Marée basse, Gommage au sucre Rivage",
    ]
    assert [offer.choices for offer in listing.offers] == [("Beurre corporel Prairie",), ("Gommage au sucre Rivage",)]
    assert (listing.slot_names, listing.theme, listing.keywords) == (
        ("Pot",), "Pour l'heure où les rochers sont nus.", ("cadeau de mer",),
    )  # fmt: skip
    assert english.title.startswith("Low Tide gift set")
    assert english.keywords == ("spring gift", "sea gift")


def test_contents_cautions_and_story_are_in_it_and_codes_and_prices_are_the_same() -> None:
    listing, english = both()
    assert listing.offers[0].contents == (
        "1 × Savon Ajonc & Sel, 110 g", "1 × Baume à lèvres Coing & Cire, 4,5 g", "1 × Beurre corporel Prairie, 100 ml",
    )  # fmt: skip
    assert "Tenir hors de portée." in listing.offers[0].cautions
    assert "Usage externe uniquement." in listing.offers[0].cautions
    assert "Marée basse : un savon, un baume à lèvres et un pot au choix." in listing.plain
    assert [one.variant.code for one in listing.offers] == [one.variant.code for one in english.offers]
    assert [one.price for one in listing.offers] == [one.price for one in english.offers]


def test_stated_words_for_a_photo_are_translated_or_made_anew() -> None:
    listing, english = both()
    assert (listing.alts, english.alts) == (("Un savon sur le rebord",), ("A bar on the sill",))
    sets = {"HHS-1": {**FRENCH["sets"]["HHS-1"], "photos": {}}}
    assert both(sets=sets)[0].alts == ("Vue de près\u00a0: Marée basse, préparé par Hob & Hedge",)


def test_a_form_goes_as_the_owner_says() -> None:
    feminine = FRENCH["forms"] | {"bar soap": {"name": "barre", "one": "une barre", "many": "barres"}}
    assert "une barre, un baume" in both(forms=feminine)[0].plain


def test_what_has_no_name_keeps_its_own_and_nothing_breaks() -> None:
    listing, _ = both(items={}, forms={}, sets={})
    assert listing.offers[0].contents[0] == "1 × Bar soap Gorse & Salt, 110 g"  # the order is that of the language
    assert listing.facts.name == "Low Tide"


def test_a_country_s_file_goes_over_that_of_its_language() -> None:
    made = french()
    canada = Translation.model_validate({"items": {"HH-B1": "Barre Ajonc"}})
    of = replace(made, translations=(*made.translations, ("fr-CA", canada)))
    words = translation_of(of, "fr-CA")
    assert words is not None
    assert (words.items["HH-B1"], words.items["HH-L1"]) == ("Barre Ajonc", "Baume à lèvres Coing & Cire")
    assert (file_of(of, "fr-CA"), file_of(of, "fr-BE"), file_of(of, "de")) == (
        "languages/fr-CA.toml", "languages/fr.toml", "languages/de.toml",
    )  # fmt: skip
    assert translation_of(of, "de") is None
    assert (is_foreign(of, "fr"), is_foreign(of, "en-US")) == (True, False)


def test_a_title_that_is_too_long_is_told_where_its_words_stand() -> None:
    listing, english = both()
    assert listing.place("name").file == "languages/fr.toml"
    assert listing.place("contents", 0).file == english.place("name").file == "sets/low-tide/set.toml"


def test_a_slot_of_unlike_forms_is_called_by_the_word_they_share() -> None:
    scrubs = FRENCH["forms"] | {"body butter": "gommage au sel"}
    assert "un pot de gommage au choix" in both(forms=scrubs)[0].plain
