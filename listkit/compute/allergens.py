"""Fragrance allergens that a label names when there is enough of them.

The limits are those of Regulation (EC) 1223/2009, Article 19(1)(g) with Annex III: named when there is more than
0.001 % in what stays on the skin, 0.01 % in what is rinsed off. The table is the first 24 that are still
allowed; Regulation (EU) 2023/1545 names some 56 more for goods placed on the market from 31 July 2026, which
an owner adds as [[allergen]]. Other countries have other rules; those in force where one sells decide.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from listkit.model.shop import Shop

LEAVE_ON_LIMIT: Final = Decimal("0.00001")
RINSE_OFF_LIMIT: Final = Decimal("0.0001")


@dataclass(frozen=True, slots=True)
class Allergen:
    """One fragrance allergen: what a label calls it, and its CAS number, "" where none is known."""

    name: str
    cas: str


# Names of the European glossary of ingredients, with their CAS numbers.
_NAMED: Final = """
Alpha-Isomethyl Ionone 127-51-5; Amyl Cinnamal 122-40-7; Amylcinnamyl Alcohol 101-85-9; Anise Alcohol 105-13-5;
Benzyl Alcohol 100-51-6; Benzyl Benzoate 120-51-4; Benzyl Cinnamate 103-41-3; Benzyl Salicylate 118-58-1;
Cinnamal 104-55-2; Cinnamyl Alcohol 104-54-1; Citral 5392-40-5; Citronellol 106-22-9; Coumarin 91-64-5;
Eugenol 97-53-0; Evernia Furfuracea Extract 90028-67-4; Evernia Prunastri Extract 90028-68-5; Farnesol 4602-84-0;
Geraniol 106-24-1; Hexyl Cinnamal 101-86-0; Hydroxycitronellal 107-75-5; Isoeugenol 97-54-1; Limonene 5989-27-5;
Linalool 78-70-6; Methyl 2-Octynoate 111-12-6
"""
ALLERGENS: Final = tuple(
    Allergen(name, cas)
    for name, _, cas in (" ".join(one.split()).rpartition(" ") for one in _NAMED.replace("\n", " ").split(";"))
)
# Where they are to be named: the European Economic Area and Switzerland, the United Kingdom, and Canada (SOR/2024-63).
_COUNTRIES: Final = """
AT BE BG CY CZ DE DK EE ES FI FR GR HR HU IE IT LT LU LV MT NL PL PT RO SE SI SK IS LI NO CH GB CA
"""
NAMED_IN: Final = frozenset(_COUNTRIES.split())
_BRACKETS: Final = re.compile(r"[(\[{][^)\]}]*[)\]}]|[*†°+]+")


def folded_ingredient(name: str) -> str:
    """Return an ingredient's name as it is compared: small letters, without remarks in brackets and asterisks."""
    return " ".join(_BRACKETS.sub(" ", name).casefold().split())


def by_name(known: Iterable[Allergen]) -> Mapping[str, Allergen]:
    """Return allergens by their names as they are compared, to look many ingredients up in."""
    return {folded_ingredient(one.name): one for one in known}


USUAL: Final = by_name(ALLERGENS)
"""Those of the table."""


def all_allergens(shop: Shop) -> tuple[Allergen, ...]:
    """Return the allergens that a shop looks for: ours and those that its owner adds."""
    return (*ALLERGENS, *(Allergen(one.name, one.cas) for one in shop.settings.allergens))


def must_be_named(share: Decimal, *, rinse_off: bool) -> bool:
    """Whether so much of an allergen in the product is named: more than the limit, not the limit itself."""
    return share > (RINSE_OFF_LIMIT if rinse_off else LEAVE_ON_LIMIT)


def allergen_of(name: str, cas: str, known: tuple[Allergen, ...] = ALLERGENS) -> Allergen | None:
    """Return which allergen an ingredient is: by its CAS number where it has one, else by its name."""
    if cas:
        return next((one for one in known if one.cas == cas), None)
    folded = folded_ingredient(name)
    return next((one for one in known if one.name.casefold() == folded), None)
