"""Headings folded into words, and units parted from them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.learn.folding import parted, unit_of, words_of


@pytest.mark.parametrize(
    "heading", ["Shelf life", "SHELF-LIFE", "shelf_life", "  shelf   life: ", "shelfLife", "Shelf\nlife"]
)
def test_case_punctuation_and_spaces_do_not_matter(heading: str) -> None:
    assert words_of(heading) == ("shelf", "life")


@pytest.mark.parametrize(
    ("heading", "words"),
    [
        ("Größe", ("grosse",)),
        ("Maße", ("masse",)),
        ("Prix d'achat", ("prix", "d", "achat")),
        ("N° article", ("n", "article")),
        ("№ 7", ("no", "7")),
        ("Œufs", ("oeuf",)),
        ("Prices", ("price",)),
        ("Glass", ("glass",)),
        ("Maker's name", ("maker", "name")),
        ("Maker’s NAME", ("maker", "name")),
        ("inkl. MwSt.", ("inkl", "mwst")),
        ("#", ()),
    ],
)
def test_accents_plurals_and_old_letters_fold(heading: str, words: tuple[str, ...]) -> None:
    assert words_of(heading) == words


@pytest.mark.parametrize(
    ("heading", "words", "unit"),
    [
        ("Weight (g)", ("weight",), "g"),
        ("weight in oz", ("weight",), "oz"),
        ("Gewicht in Gramm", ("gewicht",), "g"),
        ("Maße [mm]", ("masse",), "mm"),
        ("retail £", ("retail",), "£"),
        ("€ Verkaufspreis", ("verkaufsprei",), "€"),
        ("Price EUR", ("price",), "EUR"),
        ("Precio (eur)", ("precio",), "EUR"),
        ("Haltbarkeit, Monate", ("haltbarkeit",), "months"),
        ("Durée de conservation (mois)", ("duree", "de", "conservation"), "months"),
        ("Net fl. oz", ("net",), "fl oz"),
        ("weight_g", ("weight",), "g"),
        ("Dims/inches", ("dim",), "in"),
    ],
)
def test_a_unit_is_parted_from_its_heading(heading: str, words: tuple[str, ...], unit: str) -> None:
    first = parted(heading)[0]
    assert (first.words, first.unit) == (words, unit)


def test_words_that_are_currency_letters_by_chance_are_none() -> None:
    assert unit_of("all", plain=True) == ("", "")
    assert parted("Price of all")[-1].words == ("price", "of", "all")
    assert [way.kind for way in parted("In the top row")] == [""]


@given(st.text(max_size=300))
def test_any_text_can_be_folded_and_parted(text: str) -> None:
    assert parted(text)[-1].words == words_of(text)
    assert all(word == word.casefold() for word in words_of(text))
