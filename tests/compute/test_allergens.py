"""Fragrance allergens: the table, and the limits at their edges."""

import datetime
from decimal import Decimal
from itertools import pairwise

import pytest

from listkit.compute.allergens import (
    ALLERGENS,
    FORBIDDEN,
    LAST_OF_OLDER,
    LAST_ON_SHELVES,
    NEWER,
    ORAL_ONLY,
    USUAL,
    candidates,
    list_in_force,
    usually_brings,
)
from listkit.compute.ingredients import (
    LEAVE_ON_LIMIT,
    RINSE_OFF_LIMIT,
    allergen_of,
    allergen_shares,
    composition,
    folded_ingredient,
    must_be_named,
)
from listkit.model.item import IngredientRow, Item
from listkit.units.identifiers import parse_cas


def test_there_are_twenty_four_and_each_cas_number_has_its_check_digit() -> None:
    """The first list of Annex III to Regulation (EC) 1223/2009 without the two that are banned now."""
    assert len(ALLERGENS) == len({one.cas for one in ALLERGENS}) == 24
    assert all(parse_cas(number) == number for one in ALLERGENS for number in one.cas)


def test_the_longer_list_has_fifty_six_more_and_its_numbers_their_check_digits() -> None:
    """Regulation (EU) 2023/1545, annex, by public transcriptions: 80 entries for goods of the bath, 167 numbers."""
    assert len(NEWER) == 56
    every = (*ALLERGENS, *NEWER, *ORAL_ONLY)
    numbers = [number for one in every for number in one.cas]
    assert (len(every), len(numbers), len(set(numbers))) == (81, 169, 167)
    assert all(parse_cas(number) == number for number in numbers)
    assert all(parse_cas(number) == number for one in FORBIDDEN for number in one.cas)


def test_each_has_the_number_of_its_entry() -> None:
    """Regulation (EU) 2023/1545, annex, by public transcriptions: 327 to 371 are added, the others were there."""
    before = {109, 114, 122, 124, 131, 133, 154, 157, 175, 196, 324}
    assert sorted(one.entry for one in NEWER) == sorted({*range(327, 372), *before})
    assert len({one.entry for one in (*ALLERGENS, *NEWER, *ORAL_ONLY)}) == 81
    assert {one.entry for one in ALLERGENS} == {45, *range(67, 93)} - {
        68,
        79,
        83,
    }  # 68 went to 45, 79 and 83 are banned


def test_a_number_of_two_entries_needs_a_name_that_decides() -> None:
    """8028-48-6 and 72968-50-4 stand in entries 350 and 351."""
    both = candidates("citrus oil", "8028-48-6", NEWER)
    assert [one.name for one in both] == ["Citrus Aurantium Flower Oil", "Citrus Aurantium Peel Oil"]
    (peel,) = candidates("Citrus Aurantium Dulcis Peel Oil", "8028-48-6", NEWER)
    assert peel.name == "Citrus Aurantium Peel Oil"


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        ("Lavandula Angustifolia (Lavender) Oil", "Lavandula Oil/Extract"), ("Acetylcedrene", "Acetyl Cedrene"),
        ("lippia citriodora absolute", "Lippia Citriodora Absolute"),
        ("Citrus Limon Peel Oil", "Citrus Limon Peel Oil"),
        ("Rosa Damascena Flower Oil", "Rose Flower Oil/Extract"), ("Lavandula Angustifolia Flower Powder", ""),
        ("Rosa Canina Seed Oil", ""), ("Menthol*", "Menthol"),
    ],
)  # fmt: skip
def test_an_oil_is_known_by_the_name_of_its_plant(name: str, printed: str) -> None:
    assert [one.name for one in candidates(name, "", NEWER)] == ([printed] if printed else [])


@pytest.mark.parametrize(
    ("country", "region", "day", "in_force"),
    [
        ("DE", "", LAST_OF_OLDER, 2003), ("DE", "", datetime.date(2026, 8, 1), 2023), ("US", "", LAST_ON_SHELVES, 0),
        ("GB", "", datetime.date(2027, 1, 1), 2003), ("GB", "GB-NIR", datetime.date(2027, 1, 1), 2023),
        ("CA", "", datetime.date(2026, 8, 1), 2023),
    ],
)  # fmt: skip
def test_which_list_counts_goes_by_place_and_day(country: str, region: str, day: datetime.date, in_force: int) -> None:
    """Regulation (EU) 2023/1545: the older list until 31 July 2026; SOR/2024-63 for Canada, from 1 August 2026."""
    assert list_in_force(country, region, day) == in_force
    assert datetime.date(2028, 7, 31) == LAST_ON_SHELVES


def test_what_an_oil_usually_brings_is_called_as_the_lists_call_it() -> None:
    names = {one.name for one in (*ALLERGENS, *NEWER)}
    assert {name for usual in USUAL for name in usual.names} <= names
    lavender = usually_brings("Lavandula Angustifolia Oil")
    assert lavender is not None
    assert lavender.names == ("Linalool", "Linalyl Acetate", "Limonene")
    assert usually_brings("Olive Oil") is None


@pytest.mark.parametrize(
    ("name", "cas"),
    [
        ("Linalool", "78-70-6"), ("Limonene", "5989-27-5"), ("Citral", "5392-40-5"), ("Geraniol", "106-24-1"),
        ("Alpha-Isomethyl Ionone", "127-51-5"), ("Methyl 2-Octynoate", "111-12-6"),
        ("Evernia Prunastri Extract", "90028-68-5"), ("Evernia Furfuracea Extract", "90028-67-4"),
    ],
)  # fmt: skip
def test_an_allergen_is_known_by_its_number_or_its_name(name: str, cas: str) -> None:
    by_number, by_name = allergen_of("anything", cas), allergen_of(name.upper() + "*", "")
    assert by_number is not None
    assert by_number.name == name
    assert by_number == by_name
    assert allergen_of(name, "7732-18-5") is None  # a number goes before a name
    assert allergen_of("Aqua", "") is None


@pytest.mark.parametrize(
    ("share", "leave_on", "rinse_off"),
    [
        ("0.00001", False, False), ("0.000010001", True, False), ("0.0001", True, False), ("0.000100001", True, True),
        ("0.00006", True, False), ("0.00175", True, True), ("0", False, False),
    ],
)  # fmt: skip
def test_an_allergen_is_named_when_it_exceeds_its_limit_and_not_at_it(
    share: str, leave_on: bool, rinse_off: bool
) -> None:
    """Regulation (EC) 1223/2009, Article 19(1)(g), Annex III: 0.001 % and 0.01 %, "exceeds".

    3 % of a perfume with 0.2 % citral is 0.006 %; 0.5 % of an oil with 35 % linalool is 0.175 %.
    """
    assert must_be_named(Decimal(share), rinse_off=False) is leave_on
    assert must_be_named(Decimal(share), rinse_off=True) is rinse_off


def test_what_stays_on_the_skin_has_the_stricter_limit() -> None:
    assert LEAVE_ON_LIMIT * 10 == RINSE_OFF_LIMIT == Decimal("0.01") / 100


def test_remarks_do_not_hide_an_ingredient() -> None:
    assert folded_ingredient("  Linalool (from oil)** ") == "linalool"


def test_raw_materials_within_each_other_are_followed_however_deep() -> None:
    """Beyond a hundred the rest was passed over, and the allergen at the end of the chain with it.

    Half of the soap is the first material and each is all of the next, so half of it is linalool.
    """
    chain = ["RR-B1", *(f"Base {number}" for number in range(1, 3000)), "Linalool"]
    rows = tuple(
        IngredientRow.model_validate({"item": above, "ingredient": below, "percent": "50 %" if not at else "100 %"})
        for at, (above, below) in enumerate(pairwise(chain))
    )
    row = {"name": "Soap", "retail": "7.50", "cost": "2.00", "weight": "119 g", "size": "86 x 58 x 28 mm"}
    soap = Item.model_validate({"code": "RR-B1", **row}, context={"currency": "GBP"})
    [share] = allergen_shares(soap, composition(rows))
    assert (share.allergen.name, share.share) == ("Linalool", Decimal("0.5"))
