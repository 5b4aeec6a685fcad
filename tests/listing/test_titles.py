"""Titles, variants' names and keywords."""

import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.build import build_catalog
from listkit.compute.catalog import SetFacts
from listkit.listing.formats import MEASURES
from listkit.listing.titles import cut_words, fitting_title, fold, head_of, keywords_of, titles_of
from listkit.listing.words import parse_words
from listkit.read.templates import own_templates
from tests.listing.shops import BALM, BAR, DISH, ITEMS, channel, folder, listed, shop
from tests.listing.test_words import english

HAND = BALM | {"code": "HH-T1", "name": "Tideline", "form": "hand balm", "net": "50 g"}
JAR_SLOT = {"slot": "Jar", "choose": ["HH-U1", "HH-S1"]}
WORDS = (
    st.lists(
        st.sampled_from(["Low", "Tide", "Garden", "bar", "Gift", "set", "Spring", "Été", "of", "&", "gulls'"]),
        min_size=1,
        max_size=6,
        unique_by=str.lower,
    )
    .map(" ".join)
    .filter(lambda name: name[0] != "&")
)


def facts(*contents: dict[str, Any], items: tuple[dict[str, Any], ...] = (), **changes: Any) -> SetFacts:
    of = changes | ({"contents": contents} if contents else {})
    return build_catalog(shop(folder(**of), items=(*ITEMS, HAND, *items))).sets[0]


def title(of: SetFacts, limit: int | None = None) -> str:
    return fitting_title(titles_of(english(), of), of.source.gift_set, limit)


def test_a_title_says_what_it_is_what_is_in_it_for_when_and_how_many() -> None:
    assert title(facts()) == "Low Tide gift set: bar soap, lip balm & jar for spring, 3 pieces"


@pytest.mark.parametrize(
    ("limit", "told"),
    [
        (63, "Low Tide gift set: bar soap, lip balm & jar for spring"),
        (52, "Low Tide gift set: bar soap, lip balm & jar"),
        (42, "Low Tide gift set"),
        (16, "Low Tide"),
        (7, "Low"),
        (2, "Lo"),
    ],
)
def test_the_last_part_goes_first_until_the_title_fits(limit: int, told: str) -> None:
    assert title(facts(), limit) == told


def test_a_set_without_box_is_not_called_a_gift_set() -> None:
    assert title(facts(box="none")) == "Low Tide: bar soap, lip balm & jar for spring, 3 pieces"
    alone = facts({"slot": "Bar", "choose": ["HH-B1"]}, box="none", name="The Sundial Bar", season="")
    assert title(alone) == "The Sundial Bar soap, gorse scent"


def test_forms_with_one_last_word_share_it() -> None:
    of = facts({"item": "HH-B1"}, {"item": "HH-L1"}, {"item": "HH-T1"}, {"item": "HH-D1"}, season="")
    assert title(of) == "Low Tide gift set: bar soap, lip & hand balm, dish, 4 pieces"


def test_in_a_language_that_names_the_thing_first_the_first_word_is_shared() -> None:
    text = dict(own_templates())["words/en.toml"].replace('shared = "last"', 'shared = "first"')
    french, _ = parse_words("fr", (("words/fr.toml", text),))
    assert french is not None
    forms = (("HH-B1", "savon doux"), ("HH-L1", "baume à lèvres"), ("HH-T1", "baume à mains"))
    items = tuple(BAR | {"code": code, "form": form} for code, form in forms)
    made = shop(folder(contents=[{"item": code} for code, _ in forms], season=""), items=items)
    titles = titles_of(french, build_catalog(made).sets[0])
    assert titles[2] == "Low Tide gift set: savon doux, baume à lèvres & mains"


@pytest.mark.parametrize(
    ("language", "name", "forms", "told"),
    [
        (
            "fr", "Table de rempotage", ("savon", "pot de gommage", "sels de bain"),
            "Coffret cadeau Table de rempotage\u00a0: savon, pot de gommage & sels de bain, 3 pièces",
        ),
        (
            "fr", "Voile", ("savon", "baume", "porte-savon"),
            "Coffret cadeau Voile\u00a0: savon, baume & porte-savon, 3 pièces",
        ),
        (
            "es", "Hora de lámparas", ("sales de baño", "velas de té", "bomba de baño"),
            "Estuche de regalo Hora de lámparas: sales de baño, velas de té y bomba, 3 piezas",
        ),
        (
            "de", "Aus dem Garten", ("Seife aus dem Moor", "Kerze"),
            "Geschenkset Aus dem Garten: Seife aus dem Moor & Kerze, 2 Stück",
        ),
    ],
)  # fmt: skip
def test_what_only_joins_words_is_kept_however_often_it_is_in_a_title(
    language: str, name: str, forms: tuple[str, ...], told: str
) -> None:
    text = dict(own_templates())[f"words/{language}.toml"]
    wording, _ = parse_words(language, ((f"words/{language}.toml", text),))
    assert wording is not None
    items = tuple(BAR | {"code": f"HH-{at}", "form": form, "scent": f"scent {at}"} for at, form in enumerate(forms))
    made = shop(folder(contents=[{"item": item["code"]} for item in items], name=name, season=""), items=items)
    assert titles_of(wording, build_catalog(made).sets[0])[-1] == told


def test_a_scent_that_all_pieces_share_is_named_instead_of_the_season() -> None:
    balm = BALM | {"code": "HH-L2", "scent": "gorse"}
    assert title(facts({"item": "HH-B1"}, {"item": "HH-L2"}, items=(balm,))) == (
        "Low Tide gift set: bar soap & lip balm, gorse scent, 2 pieces"
    )


def test_a_season_of_a_whole_year_is_none_to_name() -> None:
    year = [{"name": "spring", "on_sale": "2026-11-02", "off_sale": "2027-10-31"}]
    made = shop(folder(), season=year)
    assert title(build_catalog(made).sets[0]) == "Low Tide gift set: bar soap, lip balm & jar, 3 pieces"


def test_the_owner_s_own_title_is_taken_as_it_is_however_long() -> None:
    own = "Everything we carry up from the shore before the tide turns"
    assert title(facts(title=own), 20) == own


@given(name=WORDS, limit=st.integers(1, 100), box=st.sampled_from(["S", "none"]))
def test_a_title_fits_repeats_no_word_and_begins_with_the_name(name: str, limit: int, box: str) -> None:
    told = title(facts(name=name, box=box), limit)
    assert len(told) <= limit
    said = re.findall(r"[\w'’]+", fold(told))
    assert len(said) == len(set(said))
    assert told.startswith(name) or name.startswith(told)
    assert told == name or told == told.rstrip(" ,;:&")


@given(name=WORDS)
def test_the_first_60_characters_make_sense_alone(name: str) -> None:
    of = facts(name=name)
    assert cut_words(title(of), 60).startswith(head_of(english(), of))


@given(text=st.text(st.sampled_from("ab ,&–"), max_size=40), most=st.integers(0, 40))
def test_cutting_keeps_whole_words_from_the_front(text: str, most: int) -> None:
    cut = cut_words(text, most)
    assert len(cut) <= most
    assert cut in text
    if text[: most + 1].rpartition(" ")[0].strip(" ,&–"):  # a word has room, so none is cut within
        assert not text.partition(cut)[2][:1].isalpha()


@pytest.mark.parametrize(
    ("limit", "names"),
    [
        (None, ["Low Tide gift set, Meadow body butter", "Low Tide gift set, Shoreline sugar scrub"]),
        (40, ["Low Tide gift set, Meadow body butter", "Low Tide gift set, Shoreline sugar scrub"]),
        (39, ["Low Tide, Meadow body butter", "Low Tide, Shoreline sugar scrub"]),
        (30, ["Low Tide gift set, Meadow", "Low Tide gift set, Shoreline"]),
        (27, ["Low Tide, Meadow", "Low Tide, Shoreline"]),
    ],
)
def test_a_variant_s_name_tells_what_was_chosen_with_its_form_while_there_is_room(
    limit: int | None, names: list[str]
) -> None:
    limits = {} if limit is None else {"title": limit}
    listing = listed(shop(channels=[channel(limits=limits)])).listings[0]
    assert [offer.name for offer in listing.offers] == names


def test_of_a_set_that_is_one_piece_the_name_says_its_form_once() -> None:
    made = folder(box="none", contents=[{"slot": "Jar", "choose": ["HH-U1", "HH-S1"]}])
    names = [offer.name for offer in listed(shop(made)).listings[0].offers]
    assert [name.rpartition(", ")[2] for name in names] == ["Meadow", "Shoreline"]


def test_a_variant_of_a_set_without_slots_is_named_by_the_title() -> None:
    listing = listed(shop(folder(contents=[{"item": "HH-B1"}, {"item": "HH-L1"}]))).listings[0]
    assert [offer.name for offer in listing.offers] == [listing.title]


def test_options_of_one_name_or_with_words_of_their_own_are_named_as_the_buyer_reads_them() -> None:
    slot = {"slot": "Jar", "choose": ["HH-U1", "HH-M1"]}  # both are called Meadow
    listing = listed(shop(folder(contents=[slot]))).listings[0]
    assert [offer.name for offer in listing.offers] == [
        "Low Tide gift set, Meadow body butter",
        "Low Tide gift set, Meadow mini butter",
    ]
    said = {"slot": "Jar", "choose": [{"item": "HH-U1", "says": "Hay meadow"}, "HH-S1"]}
    listing = listed(shop(folder(contents=[said]))).listings[0]
    assert [offer.name for offer in listing.offers] == [
        "Low Tide gift set, Hay meadow",
        "Low Tide gift set, Shoreline sugar scrub",
    ]


@pytest.mark.parametrize("limit", [60, 26, 20, 17, 12, 4])
def test_names_fit_the_channel_and_keep_the_choice_whole_while_there_is_room(limit: int) -> None:
    own = "Everything we carry up from the shore before the tide turns"
    for made in (folder(), folder(title=own)):
        listing = listed(shop(made, channels=[channel(limits={"title": limit})])).listings[0]
        names = [offer.name for offer in listing.offers]
        assert max(map(len, names)) <= limit
        if limit >= len("Shoreline"):
            ends = ("Meadow body butter", "Shoreline sugar scrub") if limit == 60 else ("Meadow", "Shoreline")
            assert all(name.endswith(end) for name, end in zip(names, ends, strict=True))


def test_keywords_are_trimmed_and_stand_once_as_first_written() -> None:
    gift_set = folder(keywords=[" Spring  gift", "sea gift", "SPRING GIFT", "sea gift"]).gift_set
    assert keywords_of(gift_set) == ("Spring gift", "sea gift")


def test_folding_leaves_neither_capitals_nor_accents() -> None:
    assert fold("Fête ÉTÉ") == "fete ete"
    assert BAR["name"] == "Gorse & Salt"
    assert DISH["form"] == "soap dish"


@given(st.text(alphabet="aé 🐝", max_size=30), st.integers(0, 40), st.sampled_from(sorted(MEASURES)))
def test_cut_words_fit_however_they_are_measured(text: str, most: int, count: str) -> None:
    assert MEASURES[count](cut_words(text, most, MEASURES[count])) <= most
