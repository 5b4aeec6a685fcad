"""Cautions chosen by form, ingredient and age. Sources stand beside each check; the rest is common practice."""

from typing import Any

import pytest

from listkit.compute.cautions import RULES, due, entries_of, foam_unknown, is_for_the_skin, silences_of, too_young
from listkit.listing.declared import parse_cautions
from listkit.model.labels import Silenced
from listkit.read.templates import own_templates
from tests.listing.shops import item

SLES = "Aqua, Sodium Laureth Sulfate, Parfum"


def keys(**row: Any) -> set[str]:
    return {one.key for one in due(item(**{"ingredients": "", "cautions": [], **row}))}


def printed(**row: Any) -> tuple[str, ...]:
    return entries_of(item(**{"ingredients": "", "cautions": [], **row}))


@pytest.mark.parametrize(
    ("row", "key", "asked"),
    [
        # 21 CFR 740.17(a): a bath product with a surface-active agent that foams; plain fizz is none.
        ({"form": "bubble bath", "ingredients": SLES}, "foaming-bath", True),
        ({"form": "bath bomb", "ingredients": "Sodium Bicarbonate, Citric Acid"}, "foaming-bath", False),
        ({"form": "bath bomb", "ingredients": "Sodium Bicarbonate, Sodium Lauryl Sulfoacetate"}, "foaming-bath", True),
        ({"form": "bath bomb", "ingredients": SLES, "foams": "no"}, "foaming-bath", False),
        ({"form": "bath melt", "foams": "yes"}, "foaming-bath", True),
        ({"form": "shower gel", "ingredients": SLES}, "foaming-bath", False),
        ({"form": "shampoo bar", "ingredients": "Sodium Cocoyl Isethionate"}, "foaming-bath", False),
        # ASTM F2058-07(2021) and EN 15494:2019 speak of candles, not of what holds them.
        ({"form": "tea lights"}, "candle", True),
        ({"form": "beeswax candle"}, "candle", True),
        ({"form": "candle holder"}, "candle", False),
        ({"form": "bougies chauffe-plat"}, "candle", True),
        # 16 CFR 1501.4: articles with small parts.
        ({"form": "bath toy"}, "small-parts", True),
        ({"form": "bar soap"}, "small-parts", False),
        # US Food and Drug Administration, Aromatherapy: distilled oils, not those pressed for frying.
        ({"ingredients": "Lavandula Angustifolia (Lavender) Oil"}, "essential-oils", True),
        ({"ingredients": "Citrus Aurantium Dulcis Peel Oil"}, "essential-oils", True),
        ({"ingredients": "Olea Europaea Fruit Oil, Helianthus Annuus Seed Oil"}, "essential-oils", False),
        ({"ingredients": "Rosmarinus Officinalis Leaf Powder, Ricinus Communis Seed Oil"}, "essential-oils", False),
        ({"ingredients": "Prunus Amygdalus Dulcis Oil"}, "nut-oils", True),
        ({"ingredients": "Butyrospermum Parkii Butter"}, "nut-oils", True),
        ({"ingredients": "Cocamidopropyl Betaine"}, "nut-oils", False),
        ({"form": "lip balm"}, "lip-use", True),
        ({"form": "baume à lèvres"}, "lip-use", True),
        ({"form": "lip balm"}, "external-use", False),
        ({"form": "Lippenbalsam"}, "lip-use", True),
        ({"form": "bath oil"}, "slippery-tub", True),
        ({"form": "sugar scrub"}, "slippery-tub", True),
        ({"form": "bar soap"}, "slippery-tub", False),
        ({"form": "soap dish"}, "external-use", False),
        ({"form": "Zuckerpeeling mit Orangenschale"}, "external-use", True),
        ({"form": "miniexfoliante"}, "external-use", True),  # Spanish writes "mini" in one word with what it is
        ({"form": "minimanteca corporal", "ingredients": "Parfum"}, "patch-test", True),
        ({"form": "minibalsamo labbra"}, "external-use", False),
        ({"form": "room spray", "ingredients": "Alcohol Denat., Aqua"}, "flammable", True),
        ({"form": "face mist", "ingredients": "Aqua, Benzyl Alcohol"}, "flammable", False),
        ({"name": "Raspberry Cupcake", "form": "bath bomb"}, "not-food", True),
        ({"form": "bath bomb", "ingredients": "Sodium Bicarbonate, CI 77491"}, "stains", True),
        # 21 CFR 740.17(a) again: plain names of detergents, what is sold to foam, and the owner's own word.
        ({"form": "bubble bath", "ingredients": "Aqua, SLES, Parfum"}, "foaming-bath", True),
        ({"form": "bubble bath", "ingredients": "Aqua, something else"}, "foaming-bath", True),
        ({"form": "bain moussant", "ingredients": "Aqua"}, "foaming-bath", True),
        ({"form": "Schaumbad", "ingredients": "Aqua"}, "foaming-bath", True),
        ({"form": "", "name": "Bubble bath of the marsh", "ingredients": "Aqua"}, "foaming-bath", True),
        ({"form": "soap flakes", "foams": "yes"}, "foaming-bath", True),
        ({"form": "bubble bath", "ingredients": "Aqua", "foams": "no"}, "foaming-bath", False),
        # Things that are burned, and what is like food (Regulation (EU) 2023/988): common practice but for that.
        ({"form": "wax melts"}, "wax-melt", True),
        ({"form": "wax melts"}, "room-only", True),
        ({"form": "wax melts"}, "candle", False),
        ({"form": "wax melt warmer"}, "wax-melt", False),
        ({"form": "incense sticks"}, "incense", True),
        ({"form": "Räucherstäbchen"}, "incense", True),
        ({"form": "incense holder"}, "incense", False),
        ({"form": "safety matches"}, "matches", True),
        ({"form": "allumettes"}, "matches", True),
        ({"form": "set of matching bars"}, "matches", False),
        ({"name": "Rose Macaron", "form": "bar soap"}, "not-food", True),
        ({"form": "bath truffle"}, "not-food", True),
        ({"form": "Trüffel für das Bad"}, "not-food", True),
        ({"form": "bar soap", "name": "Plain"}, "not-food", False),
        # German writes a thing in one word.
        ({"form": "Zuckerpeeling"}, "slippery-tub", True),
        ({"form": "Duftkerze"}, "candle", True),
        ({"form": "Handcreme", "ingredients": "Parfum"}, "patch-test", True),
        ({"form": "Olivenseife"}, "avoid-eyes", True),
        ({"form": "Fußbad", "ingredients": SLES}, "foaming-bath", True),
        ({"form": "tanning oil"}, "no-sunscreen", True),  # 21 CFR 740.19
        ({"name": "Sun-kissed", "form": "body oil"}, "no-sunscreen", True),
        ({"name": "Sun-kissed Plum", "form": "bar soap"}, "no-sunscreen", False),
        ({"form": "bath bomb", "ingredients": SLES, "from_age": "5 years"}, "keep-from-children", False),
        ({"form": "bath bomb", "ingredients": "Sodium Bicarbonate"}, "keep-from-children", True),
        ({"form": "henna"}, "hair-dye", True),  # 21 CFR 73.2190
        ({"form": "tinted lip balm"}, "hair-dye", False),
        ({"form": "tinted moisturiser"}, "hair-dye", False),
        ({"form": "Tinte für das Haar"}, "hair-dye", True),
        ({"form": "aerosol hair mist"}, "aerosol", True),  # 21 CFR 740.11(a), from memory
        ({"form": "hair mist"}, "aerosol", False),
        ({"form": "balm", "ingredients": "Peanut Oil"}, "nut-oils", True),
        ({"form": "balm", "ingredients": "Beeswax, Lavender Essential Oil"}, "essential-oils", True),
    ],
)
def test_form_and_ingredients_choose_the_caution(row: dict[str, Any], key: str, asked: bool) -> None:
    assert (key in keys(**row)) is asked


@pytest.mark.parametrize(
    "form",
    [
        *("soap dish", "soap saver bag", "bath mat", "shower cap", "exfoliating scrub glove"),
        *("Seifenschale", "Seifenablage aus Holz", "Badebürste", "Badeschwamm", "Duschhaube", "Peelinghandschuh"),
        *("porte-savon", "boîte à savon", "gant de gommage", "tapis de bain", "bonnet de douche", "sortie de bain"),
        *("jabonera", "jabonera de madera", "esponja de baño", "guante exfoliante", "toalla de baño"),
        *("portasapone", "spugna da bagno", "spazzola da bagno"),
    ],
)
def test_what_lies_beside_a_soap_is_no_cosmetic(form: str) -> None:
    """Regulation (EC) No 1223/2009, article 2(1)(a): cosmetics are substances and mixtures; a dish is neither."""
    assert not keys(form=form)
    assert not is_for_the_skin(item(form=form, ingredients="", cautions=[]))


@pytest.mark.parametrize(
    ("age", "key"),
    [
        ("8 years", "foaming-bath-child"), ("12 years", "foaming-bath-child"), ("13 years", "foaming-bath"),
        ("17 years", "foaming-bath"), ("18 years", "adults-only"), ("", "foaming-bath"),
    ],
)  # fmt: skip
def test_foam_has_other_words_for_children_and_none_where_it_is_for_adults(age: str, key: str) -> None:
    """21 CFR 740.17(a) and (c); children's are goods for twelve years or younger, 16 CFR 1200.2, from memory."""
    found = keys(form="bubble bath", ingredients=SLES, **({"from_age": age} if age else {}))
    assert found & {"foaming-bath", "foaming-bath-child", "adults-only"} == {key}


def test_what_the_owner_names_comes_first_and_nothing_stands_twice() -> None:
    row = printed(form="tea lights", cautions=["keep-cool", "Mind the cat."])
    assert row == ("keep-cool", "Mind the cat.", "candle")


@pytest.mark.parametrize("row", [{"form": "tea lights"}, {"form": "wax melts"}, {"form": "incense sticks"}])
@pytest.mark.parametrize("named", [[], ["keep-from-children"]])
def test_children_are_kept_away_in_one_sentence(row: dict[str, Any], named: list[str]) -> None:
    """The words of what burns say it themselves; where the owner silences these, the short ones stand."""
    silent = [{"caution": key, "reason": "It is printed on the lid."} for key in keys(**row) - {"keep-from-children"}]
    silences = silences_of(map(Silenced.model_validate, silent))
    assert "keep-from-children" not in printed(**row, cautions=named)
    if named:
        assert "keep-from-children" in entries_of(item(**row, cautions=named), silences)


@pytest.mark.parametrize("form", ["wax melts", "fondants parfumés", "Duftwachs", "incense cones"])
def test_what_is_melted_or_smoked_says_once_to_keep_children_and_pets_away(form: str) -> None:
    assert "room-only" in keys(form=form)
    sentences, _ = parse_cautions((("cautions/en.toml", dict(own_templates())["cautions/en.toml"]),))
    assert sentences is not None
    lines = sentences.worded(printed(form=form))
    assert sum("children" in line for line in lines) == 1
    silent = [Silenced.model_validate({"caution": key, "reason": "On the lid."}) for key in ("wax-melt", "incense")]
    assert "room-only" in entries_of(item(form=form, cautions=[], ingredients=""), silences_of(silent))


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"from_age": "3 years"}, {"en": "For ages 3 and over.", "de": "Ab 3 Jahren."}),
        ({"from_age": "6 months"}, {"en": "For ages 6+ months.", "es": "Para edades de 6 o más meses."}),
        ({"from_age": "1 month"}, {"en": "For ages 1+ months.", "de": "Nach dem vollendeten 1. Lebensmonat."}),
        ({"from_age": "30 months"}, {"fr": "À partir de 30 mois."}),
        ({"from_age": "18 years"}, {"es": "A partir de 18 años.", "fr": "À partir de 18 ans."}),
        # What another sentence says is not said again.
        ({"from_age": "3 years", "form": "bath toy"}, {"en": "Small parts. Not for children under three years."}),
        ({"from_age": "18 years", "form": "bubble bath"}, {"en": "For adults only. Keep out of reach of children."}),
    ],
)
def test_the_age_that_a_row_states_is_said_once(row: dict[str, Any], said: dict[str, str]) -> None:
    texts = dict(own_templates())
    for language, sentence in said.items():
        path = f"cautions/{language}.toml"
        read, _ = parse_cautions(((path, texts[path]),))
        assert read is not None
        lines = read.worded(printed(**{"form": "bar soap", **row}))
        assert sentence in lines
        assert sum(" 3 " in line or " 18 " in line or "under three" in line for line in lines) <= 1
    silent = silences_of([Silenced.model_validate({"caution": "from-years", "reason": "On the lid."})])
    quiet = item(form="bar soap", from_age="3 years", cautions=[], ingredients="")
    assert not any(entry.startswith("from-years") for entry in entries_of(quiet, silent))
    assert not any(entry.startswith("from-") for entry in printed(form="bar soap", from_age="0 months"))


@pytest.mark.parametrize(("files", "kept"), [((), False), (("words/en.toml",), False), (("cautions/en.toml",), True)])
def test_beside_sentences_of_the_owners_own_children_are_named_whatever_these_say(
    files: tuple[str, ...], kept: bool
) -> None:
    candle = item(form="candle", cautions=["keep-from-children"])
    assert ("keep-from-children" in entries_of(candle, silences_of((), files))) is kept


def test_what_foams_in_the_bath_is_kept_out_of_the_eyes() -> None:
    """The prescribed words of 21 CFR 740.17 do not speak of eyes; common practice, no source."""
    assert {"foaming-bath", "avoid-eyes"} <= keys(form="bubble bath", ingredients=SLES)
    assert {"foaming-bath", "avoid-eyes"} <= keys(form="bath milk", foams="yes")
    assert "avoid-eyes" not in keys(form="bath milk")


def test_the_owner_s_own_choice_of_the_words_for_foam_stands() -> None:
    row = printed(form="bubble bath", ingredients=SLES, cautions=["foaming-bath-child"])
    assert "foaming-bath" not in row


def test_a_caution_is_silenced_only_with_a_reason_and_only_where_it_is_said() -> None:
    lights = item(form="tea lights", cautions=[], ingredients="")
    silence = {"caution": "candle", "items": [lights.code]}

    def printed_with(**more: object) -> tuple[str, ...]:
        return entries_of(lights, silences_of([Silenced.model_validate({**silence, **more})]))

    assert "candle" not in printed_with(reason="They are lamps with a battery.")
    assert "candle" in printed_with()
    assert "candle" in printed_with(reason="  ")
    assert "candle" in printed_with(items=["X-1"], reason="x")
    assert "candle" not in printed_with(items=[], reason="x")


def test_where_nothing_tells_whether_a_bath_good_foams_that_is_known() -> None:
    assert foam_unknown(item(form="bath bomb", ingredients=""))
    assert not foam_unknown(item(form="bath bomb", ingredients="Sodium Bicarbonate"))
    assert not foam_unknown(item(form="bath bomb", ingredients="", foams="no"))
    assert not foam_unknown(item(form="bath salts", ingredients=""))


def test_small_parts_are_for_no_child_under_three() -> None:
    """16 CFR 1501.2, from memory: under three years; the day of the third birthday is not under it."""
    assert too_young(item(form="bath toy", from_age="2 years"), ("small-parts",)) == "small-parts"
    assert too_young(item(form="bath toy", from_age="3 years"), ("small-parts",)) == ""
    assert too_young(item(form="bath toy"), ("small-parts",)) == ""


def test_what_is_called_for_babies_is_for_children_under_three_unless_its_row_says_more() -> None:
    assert too_young(item(name="Baby Sedge", form="balm"), ("essential-oils",)) == "essential-oils"
    assert too_young(item(name="Baby Sedge", form="balm", from_age="3 years"), ("essential-oils",)) == ""
    assert too_young(item(name="Sedge", form="baume pour bébé"), ("essential-oils",)) == "essential-oils"


def test_every_rule_has_a_sentence_in_every_language_we_ship() -> None:
    texts = dict(own_templates())
    files = [path for path in texts if path.startswith("cautions/")]
    assert files
    for path in files:
        read, _ = parse_cautions(((path, texts[path]),))
        assert read is not None
        asked = {rule.key for rule in RULES} | {"foaming-bath", "foaming-bath-child", "adults-only"}
        assert asked - dict(read.sentences).keys() == set(), path


def test_prescribed_words_stand_as_the_rule_prints_them() -> None:
    """21 CFR 740.17(b): the whole warning, and for children's products four words more behind its last sentence."""
    read, _ = parse_cautions((("cautions/en.toml", dict(own_templates())["cautions/en.toml"]),))
    assert read is not None
    words = dict(read.sentences)
    assert words["foaming-bath"] == (
        "Caution—Use only as directed. Excessive use or prolonged exposure may cause irritation to skin and urinary "
        "tract. Discontinue use if rash, redness, or itching occurs. Consult your physician if irritation persists. "
        "Keep out of reach of children."
    )
    assert words["foaming-bath-child"] == words["foaming-bath"].removesuffix(".") + " except under adult supervision."
