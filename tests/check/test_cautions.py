"""Checks of cautions on small shops.

Each caution's source stands in compute/cautions.py; that rows name them is common practice, no source.
"""

import tomllib
from typing import Any

import pytest

from listkit import bounds
from listkit.compute.cautions import USUAL
from listkit.read.templates import own_templates
from tests.check.found import all_found, found, told
from tests.check.test_claims import clean
from tests.small_shop import channel, gift_set, item, settings, shop

FULL = item("A-2", cautions=["external-use", "avoid-eyes"])
SILENCE = [{"caution": "keep-cool", "items": ["A-1"], "reason": "It is a resin that does not melt."}]


def test_a_grave_one_is_printed_and_must_be_named_where_the_row_names_others() -> None:
    of = clean(items=[item("A-1", form="tea lights", cautions=["keep-from-children"]), FULL])
    [line] = told("caution-missing", of)
    assert line.startswith('Must fix · items.csv, row A-1, column cautions: its form "tea lights" asks for the caution')
    assert '[[silenced]] caution = "candle", items = ["A-1"], reason = "..."' in line


def test_rows_without_cautions_leave_them_to_the_rules_which_is_told_once_and_grave_ones_apart() -> None:
    lights = {"form": "tea lights", "ingredients": "Cera Alba"}
    of = clean(items=[FULL, item("A-1", **lights), item("A-3", **lights)])
    assert told("caution-missing", of) == [
        'Look at · items.csv, row A-1, column cautions: "candle" is printed though their rows do not name it: A-1 and '
        'A-3 (A-1: its form "tea lights" asks for "candle"). Write candle;keep-cool in A-1 and A-3, or say in '
        'shop.toml why it does not apply: [[silenced]] caution = "candle", items = ["A-1"], reason = "...".',
        "Look at · items.csv, row A-1, column cautions: 2 rows name no cautions, so what form and ingredients ask for "
        "is printed: keep-cool (A-1 and A-3). Write candle;keep-cool in A-1 and A-3, so that you have looked at it.",
    ]


def test_the_finished_cell_is_offered_at_once_with_all_that_asks_for_it() -> None:
    oils = "Butyrospermum Parkii Butter, Lavandula Angustifolia Oil"
    butter = {"form": "body butter", "ingredients": oils}
    [line] = told(
        "caution-missing", clean(items=[FULL, item("A-1", **butter, cautions=["external-use", "My own one."])])
    )
    assert line.count(" asks for ") == 2
    assert "Write external-use;My own one.;patch-test;keep-cool;essential-oils;nut-oils in A-1, or say" in line
    cell = ["external-use", "My own one.", "patch-test", "keep-cool", "essential-oils", "nut-oils"]
    assert told("caution-missing", clean(items=[FULL, item("A-1", **butter, cautions=cell)])) == []


def test_a_shop_that_names_no_cautions_at_all_is_told_of_grave_ones_alone() -> None:
    assert told("caution-missing", clean()) == []
    assert [
        "candle" in line for line in told("caution-missing", clean(items=[item("A-1", form="candle"), item("A-2")]))
    ] == [True]


def test_a_silence_is_heard_and_one_for_nothing_is_told() -> None:
    candle = item("A-1", form="tea lights", cautions=["candle", "keep-from-children"], ingredients="Cera Alba")
    assert "keep-cool" in told("caution-missing", clean(items=[candle, FULL]))[0]
    assert told("caution-missing", clean(items=[candle, FULL], settings=settings(silenced=SILENCE))) == []
    full = item("A-1", cautions=["external-use", "avoid-eyes"])
    assert told("caution-missing", clean(items=[full, FULL], settings=settings(silenced=SILENCE))) == [
        'Look at · shop.toml: "keep-cool" is silenced where nothing asks for it. Take it out.'
    ]


def test_a_slip_in_a_key_is_told_with_the_key_that_is_meant() -> None:
    lines = told("caution-missing", clean(items=[item("A-1", cautions=["Candel", "kepdry", "zzz"]), item("A-2")]))
    assert [line.rpartition(": ")[2] for line in lines[:2]] == [
        'there is no caution "Candel". Write "candle".',
        'there is no caution "kepdry". Write "keep-dry".',
    ]
    assert "Write one of adults-only, aerosol, " in lines[2]


def test_oils_for_babies_are_looked_at() -> None:
    """US Food and Drug Administration, Aromatherapy: not for infants without advice."""
    oil = item("A-1", from_age="6 months", ingredients="Lavandula Angustifolia Oil", cautions=["essential-oils"])
    assert any(
        line.startswith("Look at · items.csv, row A-1, column from age: it holds essential oils")
        for line in told("caution-missing", clean(items=[oil, item("A-2")]))
    )


@pytest.mark.parametrize(
    ("row", "told_of"),
    [
        ({"name": "Baby Chest Balm", "ingredients": "Cera Alba, Menthol"}, "Menthol"),
        ({"name": "Toddler balm", "ingredients": "Cera Alba, Kampfer"}, "Kampfer"),
        ({"from_age": "1 year", "ingredients": "Aqua, Eucalyptus Globulus Leaf Oil"}, "Eucalyptus Globulus Leaf Oil"),
        ({"from_age": "3 years", "ingredients": "Cera Alba, Menthol"}, ""),
        ({"name": "Chest Balm", "ingredients": "Cera Alba, Menthol"}, ""),
        ({"name": "Baby Balm", "ingredients": "Cera Alba, Eucalyptus fragrance"}, ""),  # what only smells of it
    ],
)
def test_menthol_camphor_and_eucalyptus_for_the_youngest_are_looked_at_once(row: dict[str, Any], told_of: str) -> None:
    """Monographs on such oils keep them from children under 30 months or so; from memory, and common practice."""
    of = clean(items=[item("A-1", cautions=["external-use"], form="balm", **row), item("A-2")])
    lines = [line for line in told("caution-missing", of) if "column from age" in line]
    assert len(lines) == bool(told_of)
    assert all(f'it holds "{told_of}": menthol' in line and line.startswith("Look at") for line in lines)


@pytest.mark.parametrize(
    ("row", "asked"),
    [
        ({"form": "hair dye", "ingredients": "Aqua, Toluene-2,5-Diamine"}, True),
        ({"form": "Haarfarbe", "ingredients": ""}, True),
        ({"form": "hair colour", "ingredients": "Lawsonia Inermis Leaf Powder"}, False),
        ({"form": "henna", "ingredients": ""}, False),
        ({"form": "tinted lip balm", "ingredients": ""}, False),
        ({"form": "hair dye", "ingredients": "", "cautions": ["It can cause severe allergic reactions."]}, False),
    ],
)
def test_a_hair_dye_other_than_henna_is_told_to_have_warnings_of_its_own(row: dict[str, Any], asked: bool) -> None:
    """Regulation (EC) 1223/2009, Annex III: conditions of use and warnings of oxidative hair dyes; from memory."""
    lines = told("caution-missing", clean(items=[item("A-1", **{"cautions": ["hair-dye"], **row}), item("A-2")]))
    assert any("it dyes hair and is no henna" in line for line in lines) is asked


def test_a_closed_item_is_not_looked_at() -> None:
    of = shop([item("A-1"), item("A-2", form="tea lights", status="closed")], [gift_set([{"item": "A-1"}])])
    assert not [one for one in all_found(of) if one.code.startswith("caution")]


_FOAM, _BURN = "does it foam in the bath", "is it burned or melted"
_SKIN, _FOOD = "does it go on the skin", "could a child take it for food"


@pytest.mark.parametrize(
    ("says", "asked"),
    [
        ({}, (_FOAM, _BURN, _SKIN, _FOOD)),
        ({"cautions": ("keep-dry",)}, (_FOAM, _BURN, _SKIN, _FOOD)),
        ({"cautions": ("external-use", "avoid-eyes")}, (_FOAM, _FOOD)),
        ({"cautions": ("external-use",), "ingredients": "Mel, Aqua"}, (_FOOD,)),
        ({"cautions": ("external-use",), "ingredients": "Aqua, Sodium Laureth Sulfate"}, (_FOAM, _FOOD)),
        ({"cautions": ("not-food",), "foams": False}, (_BURN, _SKIN)),
        ({"foams": True}, (_FOOD,)),
    ],
)
def test_a_form_that_nobody_knows_is_asked_once_what_its_row_leaves_open(
    says: dict[str, Any], asked: tuple[str, ...]
) -> None:
    """What a caution says of its use answers the rest: what goes on the skin is not burned. Common practice."""
    [problem] = found("form-unknown", shop([item("A-1", form="glow", **says)], [gift_set([{"item": "A-1"}])]))
    assert problem.message.endswith(f"by it: {', '.join(asked)}?")


@pytest.mark.parametrize(
    "says",
    [{"cautions": ("candle",)}, {"cautions": ("external-use", "not-food"), "foams": False}, {"form": "bar soap"}],
)
def test_a_form_whose_row_answers_all_is_asked_nothing(says: dict[str, Any]) -> None:
    assert found("form-unknown", shop([item("A-1", **{"form": "glow", **says})], [gift_set([{"item": "A-1"}])])) == []


SENTENCES = "".join(f'[{key}]\ntext = "{key} it."\n' for key in sorted(USUAL))


def lacking(language: str, sentences: str) -> list[str]:
    """What is told of a clean shop with a channel in French and a file of cautions of the owner's own."""
    items = [item("A-1", cautions=["external-use", "avoid-eyes"]), FULL]
    own = {f"cautions/{language}.toml": sentences}
    lines = told("caution-missing", clean(items=items, channels=(channel(name="fr", language="fr"),), templates=own))
    return [line for line in lines if "there is no" in line]


@pytest.mark.parametrize(("language", "spoken"), [("en", "en-GB"), ("fr", "fr")])
def test_a_file_of_cautions_that_lacks_some_is_told_once_where_they_belong(language: str, spoken: str) -> None:
    """Nothing goes out with a warning less: an empty file lacks all that is printed."""
    assert lacking(language, SENTENCES) == []
    place = f'Must fix · templates/cautions/{language}.toml: there is no sentence in "{spoken}" for'
    without = SENTENCES.replace('[external-use]\ntext = "external-use it."\n', "")
    [line] = lacking(language, without)
    assert line.startswith(f"{place} external-use.")
    [line] = lacking(language, "# nothing yet")
    assert line.startswith(f"{place} avoid-eyes and external-use.")


def test_the_usual_cautions_are_those_of_the_files_that_we_ship() -> None:
    texts = dict(own_templates())
    for language in ("en", "fr", "de", "es"):
        assert tomllib.loads(texts[f"cautions/{language}.toml"]).keys() == USUAL


@pytest.mark.parametrize(
    ("entry", "hint"),
    [
        ("external use", "Write external-use."), ("External Use", "Write external-use."),
        ("avoid-eyes external-use", "Write avoid-eyes;external-use."),
        ("avoid-eyes, external-use", "Write avoid-eyes;external-use."),
        ("For external use", ""), ("Keep candle away.", ""),
    ],
)  # fmt: skip
def test_keys_that_were_typed_without_their_hyphen_or_semicolon_are_no_sentence(entry: str, hint: str) -> None:
    told_of = found("caution-missing", clean(items=[item("A-1", cautions=[entry]), FULL]))
    hints = [problem.hint for problem in told_of if problem.code == "unknown-code"]
    assert hints == ([hint] if hint else [])


@pytest.mark.parametrize(("most", "is_told"), [(2, False), (1, True)])
def test_forms_beyond_those_looked_at_are_told_and_the_same_forms_again_are_none(
    most: int, is_told: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounds, "NEAR_FORMS", most)
    rows = [item("A-1", form="bar soap"), item("A-2", form="lip balm"), item("A-3", form="bar soap")]
    remarks = [one for one in found("form-nearly", clean(items=rows)) if one.code == "not-looked-for"]
    assert bool(remarks) is is_told
