"""The table of materials: one ingredient under all its names, and what only sounds like one."""

import pytest

from listkit.compute.cautions import due
from listkit.compute.ingredients import origins_in
from listkit.compute.materials import ESSENTIAL, FOAMING, LANGUAGES, MATERIALS, MILK, NUTS, PERFUME, kinds_of
from listkit.units.identifiers import parse_cas
from tests.listing.shops import item


def test_every_cas_number_has_its_check_digit_and_stands_once() -> None:
    """The check digit is that of the Chemical Abstracts Service; the numbers' sources stand above the table."""
    numbers = [number for material in MATERIALS for number in material.cas]
    assert len(numbers) > 80
    assert [parse_cas(number) for number in numbers] == numbers
    assert len(set(numbers)) == len(numbers)


def test_every_row_has_a_column_of_names_for_each_language() -> None:
    assert {len(material.names) for material in MATERIALS} == {len(LANGUAGES)}


# Names in each language: words of the trade, from memory.
@pytest.mark.parametrize(
    ("ingredient", "kind"),
    [
        *((name, NUTS) for name in ("Sweet Almond Oil", "Peanut Oil", "Shea Butter", "Mandelöl")),
        *(
            (name, NUTS)
            for name in (
                "Huile d’amande",
                "Beurre de karité",
                "Aceite de cacahuete",
                "Olio di nocciole",
                "Kokosöl",
                "NOIX",
            )
        ),
        *((name, NUTS) for name in ("Oil (sweet almond)", "Sodium Cocoate", "8007-69-0", "Süßmandelöl bio", "coco")),
        *((name, ESSENTIAL) for name in ("Lavender Essential Oil", "Lavender Oil", "Lavendelöl", "Rose Absolute")),
        *((name, ESSENTIAL) for name in ("huile essentielle de lavande", "aceite esencial de limón", "olio di menta")),
        *((name, ESSENTIAL) for name in ("Ätherisches Öl", "Lavandula Angustifolia (Lavender) Oil", "oil 8000-28-0")),
        *((name, FOAMING) for name in ("SLES", "SLSA", "Sodium Laureth Sulphate", "Coco-Glucoside", "tensioactif")),
        *((name, FOAMING) for name in ("Sodium Lauryl Sulfoacetate", "Natriumlaurylsulfat")),
        *((name, MILK) for name in ("Goat Milk", "Caprae Lac", "lait de chèvre", "Ziegenmilch", "leche de cabra")),
    ],
)
def test_a_material_is_known_by_each_of_its_names(ingredient: str, kind: str) -> None:
    assert kind in kinds_of(ingredient)


@pytest.mark.parametrize(
    ("ingredient", "kind"),
    [
        *((name, NUTS) for name in ("Cocoa Butter", "Nutmeg", "Noix de muscade", "Coco-Glucoside", "Coco-Caprylate")),
        *((name, ESSENTIAL) for name in ("Rosehip Oil", "Rosa Canina Seed Oil", "Lavender Flowers", "Olive Oil")),
        *((name, ESSENTIAL) for name in ("Tocopherol", "Menthol", "Linalool", "Lavender Fragrance Oil", "Lemon Juice")),
        *((name, MILK) for name in ("Coconut Milk", "Lait d’amande", "Hafermilch", "Lactic Acid", "Milk Thistle Oil")),
        *((name, FOAMING) for name in ("Sodium Bicarbonate", "Citric Acid", "Magnesium Sulfate", "Sodium Olivate")),
    ],
)
def test_what_only_sounds_like_a_material_is_none(ingredient: str, kind: str) -> None:
    assert kind not in kinds_of(ingredient)


def test_a_perfume_is_called_by_what_it_smells_of_and_holds_none_of_it() -> None:
    assert kinds_of("Honey & Almond Fragrance Oil") == {PERFUME}
    assert kinds_of("Parfum (lavender essential oil)") == {PERFUME, ESSENTIAL}


@pytest.mark.parametrize("material", [material for material in MATERIALS if NUTS in material.kinds])
def test_the_note_beneath_ingredients_and_the_caution_agree_on_every_name_of_a_nut(material: object) -> None:
    """Both go by one table, so a text cannot name nuts where its label does not."""
    assert isinstance(material, type(MATERIALS[0]))
    for name in (name.strip("*") for names in material.names for name in names):
        keys = {caution.key for caution in due(item(form="balm", ingredients=f"Aqua, {name}", cautions=[]))}
        assert ("nut-oils" in keys) is (NUTS in origins_in(f"Aqua, {name}")) is True, name
