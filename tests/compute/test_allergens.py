"""Fragrance allergens: the table, and the limits at their edges."""

from decimal import Decimal

import pytest

from listkit.compute.ingredients import (
    ALLERGENS,
    LEAVE_ON_LIMIT,
    RINSE_OFF_LIMIT,
    allergen_of,
    folded_ingredient,
    must_be_named,
)
from listkit.units.identifiers import parse_cas


def test_there_are_twenty_four_and_each_cas_number_has_its_check_digit() -> None:
    """The first list of Annex III to Regulation (EC) 1223/2009 without the two that are banned now."""
    assert len(ALLERGENS) == len({one.cas for one in ALLERGENS}) == 24
    assert all(parse_cas(one.cas) == one.cas for one in ALLERGENS)


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
