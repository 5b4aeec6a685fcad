"""Checks of ingredients on small shops."""

from time import process_time
from typing import Any

import pytest

from listkit.model.item import IngredientRow, Item
from listkit.model.shop import Shop
from tests.check.found import found, told
from tests.small_shop import channel, gift_set, item, settings, shop


def rows(*of: tuple[str, str, str, str]) -> tuple[IngredientRow, ...]:
    names = ("item", "ingredient", "cas", "percent")
    return tuple(IngredientRow.model_validate(dict(zip(names, one, strict=True))) for one in of)


def of(items: list[Item], *table: tuple[str, str, str, str], **says: Any) -> Shop:
    sets = says.pop("sets", [gift_set([{"item": one.code} for one in items])])
    return shop(items, sets, ingredients=rows(*table), **says)


OIL = ("A-1", "Hedge oil", "", "0.5"), ("Hedge oil", "Linalool", "78-70-6", "35")


def test_a_bracket_without_its_other_half_is_told() -> None:
    assert told("ingredients-brackets", of([item("A-1", ingredients="Aqua (Water, Mel"), item("A-2")])) == [
        'Must fix · items.csv, row A-1, column ingredients: in the ingredients of A-1 "(" has no other half. '
        "Close the bracket, or take it out."
    ]


def test_an_allergen_above_its_limit_is_told_with_how_much_there_is_and_where_from() -> None:
    one = of([item("A-1", ingredients="Aqua, Hedge oil")], *OIL)
    assert told("allergen-unnamed", one) == [
        "Must fix · items.csv, row A-1, column ingredients: A-1 holds 0.175 % Linalool (entry 84) from Hedge oil, and "
        "its ingredients do not say so. The limit for what is rinsed off is 0.01 %. Write Linalool among them "
        "(Regulation (EC) 1223/2009, Article 19 and Annex III)."
    ]
    assert found("allergen-unnamed", of([item("A-1", ingredients="Aqua, Hedge oil, LINALOOL")], *OIL)) == []


def test_what_has_only_a_number_of_the_annex_is_told_by_the_name_that_a_label_has_and_its_entry() -> None:
    """Annex III to Regulation (EC) 1223/2009: 78-70-6 is entry 84, 8008-57-9 is entry 351."""
    table = ("A-1", "Bois de rose isolate", "78-70-6", "0.05"), ("A-1", "Brazil orange", "8008-57-9", "2")
    one = of([item("A-1", ingredients="Aqua, Brazil orange")], *table, settings=settings(country="FR"))
    first, second = told("allergen-unnamed", one)
    assert "A-1 holds 0.05 % Linalool (entry 84) from Bois de rose isolate" in first
    assert "2 % Citrus Aurantium Peel Oil (entry 351) from Brazil orange" in second
    assert "Write Citrus Aurantium Peel Oil among them" in second
    (line,) = told("ingredient-unlisted", of([item("A-1", ingredients="Aqua")], *table))
    assert 'By its CAS number 8008-57-9 "Brazil orange" is Citrus Aurantium Peel Oil (entry 351) of Annex III.' in line


def test_a_number_that_is_not_its_names_is_told_with_both_entries() -> None:
    """5989-27-5 is entry 88, Limonene; Linalool is entry 84."""
    (line,) = told("allergen-twofold", of([item("A-1", ingredients="Aqua")], ("A-1", "Linalool", "5989-27-5", "1")))
    assert '"Linalool" has the CAS number 5989-27-5, which stands for "Limonene" (entry 88), and the name of' in line
    assert '"Linalool" (entry 84): it is counted by its number.' in line
    alike = ("A-1", "d-Limonene", "5989-27-5", "1"), ("A-1", "Lavender oil", "8000-28-0", "1")
    assert found("allergen-twofold", of([item("A-1", ingredients="Aqua")], *alike)) == []


def test_what_is_forbidden_is_told_with_its_own_entry() -> None:
    """Annex II, entries 1380 and 1666; Annex III, entry 46."""
    names = {"HICC": "Annex II, entry 1380", "Lilial": "Annex II, entry 1666"}
    for name, entry in names.items():
        (line,) = told("ingredient-forbidden", of([item("A-1", ingredients=f"Aqua, {name}")]))
        assert entry in line
    oral = of([item("A-1", ingredients="Aqua")], ("A-1", "Coumarin blend", "92-48-8", "1"))
    (line,) = told("ingredient-forbidden", oral)
    assert "is 6-Methyl Coumarin, which may be in oral goods only" in line
    assert "Annex III, entry 46" in line


def test_where_no_rule_asks_for_it_an_unnamed_allergen_is_only_looked_at() -> None:
    american = settings(country="US")
    items = [item("A-1", ingredients="Aqua, Hedge oil")]
    assert told("allergen-unnamed", of(items, *OIL, settings=american))[0].startswith("Look at")
    sold_in_france = of(items, *OIL, settings=american, channels=(channel(country="FR"),))
    assert told("allergen-unnamed", sold_in_france)[0].startswith("Must fix")


def test_what_stays_on_the_skin_has_the_stricter_limit() -> None:
    table = ("A-1", "Citral", "5392-40-5", "0.006")
    assert found("allergen-unnamed", of([item("A-1", ingredients="Aqua")], table)) == []
    assert found("allergen-unnamed", of([item("A-1", form="lotion", ingredients="Aqua")], table)) != []


def test_an_allergen_that_the_owner_adds_is_looked_for() -> None:
    items, table = [item("A-1", ingredients="Aqua")], ("A-1", "Nerol", "", "1")
    assert found("allergen-unnamed", of(items, table)) == []
    longer = settings(allergen=[{"name": "Nerol", "cas": "106-25-2"}])
    assert len(found("allergen-unnamed", of(items, table, settings=longer))) == 1


# Regulation (EU) 2023/1545: for goods placed on the market from 1 August 2026, in the Union and Northern Ireland.
@pytest.mark.parametrize(
    ("country", "region", "level"),
    [("FR", "", "Must fix"), ("GB", "GB-NIR", "Must fix"), ("GB", "", "Look at"), ("US", "", "")],
)
def test_the_longer_list_is_asked_for_where_it_holds(country: str, region: str, level: str) -> None:
    place = {"country": country, **({"region": region} if region else {})}
    lines = told(
        "allergen-unnamed",
        of([item("A-1", ingredients="Aqua")], ("A-1", "Camphor", "76-22-2", "0.05"), settings=settings(**place)),
    )
    assert [line.partition(" ·")[0] for line in lines] == ([level] if level else [])


# Values of a group are added before they are compared; what stands exactly on the line is not named.
@pytest.mark.parametrize(
    ("rows", "named"),
    [
        ([("Geranial", "141-27-5", "0.006"), ("Neral", "106-26-3", "0.005")], ["Citral"]),
        ([("l-menthol", "2216-51-5", "0.006"), ("Menthol", "89-78-1", "0.005")], ["Menthol"]),
        ([("Linalool", "78-70-6", "0.01")], []),
        ([("Citrus Aurantium Dulcis Peel Oil", "", "0.01")], []),
        ([("Lavandula Angustifolia Oil", "", "3")], ["Lavandula Oil/Extract"]),
    ],
)
def test_members_of_a_group_are_added_up(rows: list[tuple[str, str, str]], named: list[str]) -> None:
    table = [("A-1", *row) for row in rows]
    lines = told("allergen-unnamed", of([item("A-1", ingredients="Aqua")], *table, settings=settings(country="FR")))
    assert [name for name in named if any(f"Write {name} among" in line for line in lines)] == named
    assert len(lines) == len(named)


def test_an_ingredient_of_the_table_that_the_list_lacks_is_told() -> None:
    table = ("A-1", "Glycerin", "56-81-5", "5"), ("A-1", "Mel", "", "1")
    assert told("ingredient-unlisted", of([item("A-1", ingredients="Aqua")], *table)) == [
        'Look at · items.csv, row A-1, column ingredients: ingredients.csv has "Glycerin" and "Mel" in A-1, its list '
        "has not. Write it in both alike, by its INCI name."
    ]
    assert found("ingredient-unlisted", of([item("A-1")], *table)) == []


def test_the_order_is_judged_by_the_country_of_the_shop() -> None:
    """21 CFR 701.3(f), Regulation (EC) 1223/2009, Article 19(1)(g): exactly 1 % is free in one and not in the other."""
    items = [item("A-1", ingredients="Aqua, Tocopherol, Mel")]
    table = ("A-1", "Aqua", "", "60"), ("A-1", "Mel", "", "1"), ("A-1", "Tocopherol", "", "0.4")
    assert told("ingredient-order", of(items, *table)) == [
        'Look at · items.csv, row A-1, column ingredients: in A-1 "Tocopherol" stands before "Mel", of which there is '
        "more. Write what there is most of first; what is under 1 % may follow in any order "
        "(Regulation (EC) 1223/2009, Article 19(1)(g))."
    ]
    assert found("ingredient-order", of(items, *table, settings=settings(country="US"))) == []


def test_a_set_that_says_nothing_at_all_is_told_once_and_a_dish_has_nothing_to_say() -> None:
    bare = of([item("A-1"), item("A-2"), item("A-3", form="soap dish")])
    assert told("ingredients-missing", bare) == [
        "Look at · items.csv, row A-1: nothing in First Set has ingredients or cautions, so its texts and labels have "
        'none. Write them in the items\' rows, in a column "ingredients" of items.csv; buyers and, for cosmetics, the '
        "law ask for them."
    ]
    assert found("ingredients-missing", of([item("A-3", form="soap dish"), item("A-4", form="beeswax candle")])) == []


def test_a_thing_of_which_none_is_stated_is_silent_and_prints_none() -> None:
    some = of([item("A-1", ingredients="Aqua"), item("A-2", form="konjac pad", ingredients="None")])
    assert found("ingredients-missing", some) == []
    assert some.items[1].ingredients == ""


def test_where_others_speak_the_silent_one_is_told() -> None:
    some = of([item("A-1", ingredients="Aqua"), item("A-2"), item("A-3", form="soap dish")])
    assert [one.message for one in found("ingredients-missing", some)] == [
        "A-2 Item A-2 has neither ingredients nor cautions."
    ]


@pytest.mark.parametrize(
    "says",
    [
        {"form": "bowl"}, {"form": "tea bowl"}, {"form": "dish"}, {"form": "flannel"}, {"form": "jug", "name": "Salt"},
        {"form": "candle", "net": "200 g"},
    ],
)  # fmt: skip
def test_what_is_for_no_skin_is_asked_for_no_ingredients(says: dict[str, str]) -> None:
    says = {"net": "118 x 80 mm", **says}
    assert found("ingredients-missing", of([item("A-1", **says), item("A-2", **says)])) == []


@pytest.mark.parametrize("says", [{"form": "hand cream", "net": "118 x 80 mm"}, {"form": "glow", "net": "50 ml"}])
def test_what_has_a_sign_of_being_for_the_skin_is_asked(says: dict[str, str]) -> None:
    assert len(found("ingredients-missing", of([item("A-1", **says)]))) == 1


@pytest.mark.parametrize(
    ("written", "code", "meant"),
    [
        ("Lilial", "ingredient-forbidden", "is Butylphenyl Methylpropional, which is forbidden"),
        ("HICC", "ingredient-forbidden", "is Hydroxyisohexyl 3-Cyclohexene Carboxaldehyde, which is forbidden"),
        ("Butylphenyl Methylproprional", "ingredient-nearly", 'nearly "Butylphenyl Methylpropional"'),
    ],
)
def test_what_is_forbidden_is_known_by_its_short_name_and_when_it_is_misspelt(
    written: str, code: str, meant: str
) -> None:
    """Regulation (EC) 1223/2009, Annex II, entries 1380 and 1666; the short names are from memory."""
    [message] = told(code, of([item("A-1", ingredients=f"Aqua, {written}")], settings=settings(country="DE")))
    assert meant in message


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("Sodium Olivatte", "Sodium Olivate"),
        ("Sodium Olivatee", "Sodium Olivate"),
        ("Butyrospermum Parki Butter", "Butyrospermum Parkii Butter"),
        ("Cocos Nucifera Oli", "Cocos Nucifera Oil"),
        ("Potasium Hydroxide", "Potassium Hydroxide"),
    ],
)
def test_a_slip_in_a_usual_name_is_told_with_the_name(written: str, meant: str) -> None:
    """The names are those of the Union's glossary of common ingredient names, from memory."""
    assert told("ingredient-nearly", of([item("A-1", ingredients=f"Aqua, {written}, Parfum")])) == [
        f'Look at · items.csv, row A-1, column ingredients: "{written}" in A-1 is no ingredient that listkit knows, '
        f'and nearly "{meant}". Did you mean "{meant}"? A label has the INCI name.'
    ]


@pytest.mark.parametrize(
    "name",
    [
        "Sodium Oleate", "Sodium Palmitate", "Sodium Laurate", "Sodium Lactate", "Tocopherol", "Tocopheryl Acetate",
        "Stearic Acid", "Stearyl Alcohol", "Cetyl Alcohol", "Cocos Nucifera (Coconut) Oil", "Olea Europaea Oil",
        "Aroma", "Butyrospermum Parkii (Shea) Butter*", "CI 77491", "CI 77499", "Sodium Chloride", "Mel",
        "Glycine Soja Oil", "Potassium Olivate", "PEG-7 Glyceryl Cocoate", "Beeswax", "Sucrose", "Fructose",
        "Zinc Oxide", "Kaolin", "Maris Sal",
    ],
)  # fmt: skip
def test_names_of_their_own_are_slips_of_no_usual_name(name: str) -> None:
    assert found("ingredient-nearly", of([item("A-1", ingredients=f"Aqua, {name}")])) == []


def test_what_a_list_lacks_is_told_with_the_name_of_the_list_that_it_nearly_is() -> None:
    table = ("A-1", "Sodium Olivatte", "", "40"), ("A-1", "Kaolin", "", "3")
    assert told("ingredient-unlisted", of([item("A-1", ingredients="Sodium Olivate, Aqua")], *table)) == [
        'Look at · items.csv, row A-1, column ingredients: ingredients.csv has "Sodium Olivatte" and "Kaolin" in A-1, '
        'its list has not. Did you mean "Sodium Olivate" by "Sodium Olivatte"? Write it in both alike, by its INCI '
        "name."
    ]


@pytest.mark.parametrize(
    ("ingredients", "is_told"),
    [
        ("Sunflower oil and coconut oil and perfume", True), ("Contains: Aqua, Glycerin", True),
        ("INGREDIENTS: Aqua, Parfum", True), ("Aqua. Glycerin. Parfum.", True), ("Huile de coco et parfum, Aqua", True),
        ("Kokosöl und Parfüm", True), ("Aceite de coco y perfume", True), ("see the label", True),
        ("Caprylic/Capric Triglyceride (and) Tocopherol", True),
        ("Aqua, Honey and Almond Fragrance Oil", False), ("Aqua, Alcohol Denat., Parfum", False),
        ("Aqua, May contain: CI 77891", False), ("Aqua, Parfum (Linalool, Limonene)", False),
        ("Aqua, Aroma*. *from mint", False), ("1,2-Hexanediol, Vitamin E", False),
        ("Aqua, CI 77491. +/- CI 77891", False),
    ],
)  # fmt: skip
def test_a_list_without_commas_is_told_whatever_stands_between_its_names(ingredients: str, is_told: bool) -> None:
    """What is read as one name hides what else is in it: cautions and allergens are chosen by names."""
    assert bool(found("ingredients-prose", of([item("A-1", ingredients=ingredients)]))) is is_told


def test_one_word_as_long_as_a_cell_may_be_is_looked_at_in_step() -> None:
    begun = process_time()
    assert not found("ingredients-prose", of([item("A-1", ingredients=f"Aqua, {'a' * 80_000}")]))
    assert process_time() - begun < 4.0  # was 8 s for the pattern alone, and four times that for twice as long


@pytest.mark.parametrize(
    ("country", "names", "says"),
    [
        ("FR", "Lavandula Angustifolia Oil, Linalool", "names no Linalyl Acetate."),
        ("FR", "Lavandula Angustifolia Oil, Linalool, Linalyl Acetate", ""),
        ("FR", "Lavandula Angustifolia Oil", "names none of it."),
        ("GB", "Lavandula Angustifolia Oil, Linalool", ""), ("GB", "Lavandula Angustifolia Oil", "names none of it."),
        ("GB", "Citrus Aurantium Bergamia Peel Oil, Limonene", "names no Linalool."),
        ("FR", "Citrus Limon Peel Oil, Limonene", ""), ("US", "Lavandula Angustifolia Oil", ""),
    ],
)  # fmt: skip
def test_of_what_an_oil_brings_much_of_each_is_asked_for_that_the_list_in_force_has(
    country: str, names: str, says: str
) -> None:
    """Ph. Eur. 10: lavender has 20 to 45 % linalool and 25 to 47 % linalyl acetate, limonene at most 1 %."""
    of_country = of([item("A-1", form="balm", ingredients=f"Cera Alba, {names}")], settings=settings(country=country))
    lines = told("allergens-unknown", of_country)
    assert [says in line for line in lines] == ([True] if says else [])
