"""GTINs: how the digits hang together, and who in the shop carries which number.

Check digit: GS1 General Specifications, section 7.9: from the right of the number without it, weights 3, 1, 3, 1 ...;
the digit brings the sum up to a multiple of ten. Two GTINs are the same when they are so right-justified in 14 digits.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from listkit.check.places import item_place, note_finder, set_place
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.model.item import Item
from listkit.problem import FieldError, Place

LENGTHS: Final = (8, 12, 13, 14)
# What a number with lost zeros has been, by the digits left of it.
_BEFORE_LOSS: Final = {7: 8, 9: 12, 10: 12, 11: 12}
_EXPONENT: Final = re.compile(r"\d+([.,]\d+)?[eE]\+?\d+", re.ASCII)
_DECIMAL: Final = re.compile(r"(\d+)[.,]0*", re.ASCII)
# Restricted circulation numbers by the GS1 prefix they begin with (GS1 General Specifications, section 1.4): 020-029
# and 200-299 within a region, 040-049 within a company; in a GTIN-8 all that begin with 0 or 2.
_INTERNAL: Final = (("020", "029"), ("040", "049"), ("200", "299"))


def check_digit(digits: str) -> str:
    """Return the digit that belongs behind `digits`, any number of them from 0 to 9."""
    total = sum(int(digit) * (1 if at % 2 else 3) for at, digit in enumerate(reversed(digits)))
    return str(-total % 10)


def right_digit(gtin: str) -> bool:
    """Whether the last digit follows from the others."""
    return check_digit(gtin[:-1]) == gtin[-1]


def parse_gtin(text: str) -> str:
    """Return the GTIN that `text` is.

    Raises:
        FieldError: signs other than digits, a wrong length or check digit, and what spreadsheets leave of a GTIN.
    """
    shown = f'"{text[:40]}"'
    if _EXPONENT.fullmatch(text):
        raise FieldError(f"{shown} is what a spreadsheet left of a GTIN.", "Type all digits in a column set to text.")
    if match := _DECIMAL.fullmatch(text):
        raise FieldError(f"{shown} is a GTIN made a decimal number.", f'Write "{match[1][:20]}".')
    if not re.fullmatch(r"[0-9]+", text):
        together = re.sub(r"[\s-]+", "", text)
        plain = re.fullmatch(r"[0-9]{8,14}", together) is not None
        raise FieldError(f"{shown} is not all digits.", f'Write "{together}".' if plain else "Write digits only.")
    if len(text) not in LENGTHS:
        raise _wrong_length(text)
    if not text.strip("0"):
        raise FieldError(f"{shown} is nothing but zeros.", "Write the GTIN, or leave the cell empty.")
    if not right_digit(text):
        hint = f"Its last digit would be {check_digit(text[:-1])} if the others are right; look the number up."
        raise FieldError(f"{shown} has a wrong check digit.", hint)
    return text


def _wrong_length(text: str) -> FieldError:
    length = _BEFORE_LOSS.get(len(text))
    if length and text.strip("0") and right_digit(text):
        zeros = "zero" if length - len(text) == 1 else "zeros"
        return FieldError(f'"{text}" has lost its leading {zeros}.', f'Write "{text.zfill(length)}".')
    counted = "1 digit" if len(text) == 1 else f"{len(text)} digits"
    return FieldError(f'"{text[:40]}" has {counted}.', "A GTIN has 8, 12, 13 or 14; look the number up.")


def in_fourteen(gtin: str) -> str:
    """Return a GTIN right-justified in 14 digits, by which two are compared."""
    return gtin.zfill(14)


def internal(gtin: str) -> bool:
    """Whether a number is for use within one company or region only."""
    number = in_fourteen(gtin)
    if number.startswith("000000"):  # a GTIN-8, whose prefix stands further right
        return number[6] in "02"
    return any(low <= number[1:4] <= high for low, high in _INTERNAL)


@dataclass(frozen=True, slots=True)
class Labelled:
    """A GTIN as it stands in a file, what carries it, and where.

    A set without box and of one piece is that piece, and has the item as its owner; `item` says that the number stands
    in the items table.
    """

    gtin: str
    owner: str
    place: Place
    item: bool


def labelled(catalog: Catalog) -> Iterator[Labelled]:
    """Yield every GTIN that the files state, of items first, then of variants; none twice that is inherited."""
    for item in catalog.shop.items:
        if item.gtin:
            yield Labelled(item.gtin, item.code, item_place(catalog.shop, item, "gtin"), item=True)
    for facts in catalog.sets:
        key_of = note_finder(facts.source.gift_set)
        for one in facts.variants:
            if one.gtin and (key := key_of(one)) and facts.source.gift_set.variants[int(key[1])].gtin:
                alone = only_piece(facts, one)
                owner = alone.code if alone else one.code
                yield Labelled(one.gtin, owner, set_place(facts, *key, "gtin"), item=False)


def only_piece(facts: SetFacts, one: Variant) -> Item | None:
    """Return the item that a variant of one piece without box is."""
    if facts.source.gift_set.boxed or len(one.pieces) != 1 or one.pieces[0].quantity != 1:
        return None
    return one.pieces[0].item
