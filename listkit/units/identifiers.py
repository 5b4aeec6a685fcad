"""Numbers that name a thing and end with a check digit: GTINs of goods, CAS Registry Numbers; and an owner's codes.

GTIN: GS1 General Specifications, section 7.9 (from memory): from the right of the number without it, weights 3, 1, 3,
1 ...; the digit brings the sum up to a multiple of ten. Two GTINs are the same when they are so right-justified in 14
digits.
CAS number: two to seven digits, two digits, and the check digit: from the right, without it, digits times 1, 2, 3 ...,
their sum modulo 10 (CAS Registry Number verification, as the Chemical Abstracts Service publishes it).
"""

import re
from collections.abc import Mapping
from typing import Final

from listkit.problem import FieldError, quoted

LENGTHS: Final = (8, 12, 13, 14)
# What a number with lost zeros has been, by the digits left of it.
_BEFORE_LOSS: Final = {7: 8, 9: 12, 10: 12, 11: 12}
_EXPONENT: Final = re.compile(r"\d+([.,]\d+)?[eE]\+?\d+", re.ASCII)
_DECIMAL: Final = re.compile(r"(\d+)[.,]0*", re.ASCII)
_CAS: Final = re.compile(r"(\d{2,7})-(\d{2})-(\d)")
_NEARLY: Final = re.compile(r"(\d{2,7})-(\d{2})-(\d)\d+")


def gtin_check_digit(digits: str) -> str:
    """Return the digit that belongs behind `digits`, any number of them from 0 to 9."""
    total = sum(int(digit) * (1 if at % 2 else 3) for at, digit in enumerate(reversed(digits)))
    return str(-total % 10)


def right_digit(gtin: str) -> bool:
    """Whether the last digit follows from the others."""
    return gtin_check_digit(gtin[:-1]) == gtin[-1]


def parse_gtin(text: str) -> str:
    """Return the GTIN that `text` is.

    Raises:
        FieldError: signs other than digits, a wrong length or check digit, and what spreadsheets leave of a GTIN.
    """
    shown = f"{quoted(text[:40])}"
    if _EXPONENT.fullmatch(text):
        raise FieldError(f"{shown} is what a spreadsheet left of a GTIN.", "Type all digits in a column set to text.")
    if match := _DECIMAL.fullmatch(text):
        raise FieldError(f"{shown} is a GTIN made a decimal number.", f"Write {quoted(match[1][:20])}.")
    if not re.fullmatch(r"[0-9]+", text):
        together = re.sub(r"[\s-]+", "", text)
        plain = re.fullmatch(r"[0-9]{8,14}", together) is not None
        raise FieldError(f"{shown} is not all digits.", f"Write {quoted(together)}." if plain else "Write digits only.")
    if len(text) not in LENGTHS:
        raise _wrong_length(text)
    if not text.strip("0"):
        raise FieldError(f"{shown} is nothing but zeros.", "Write the GTIN, or leave the cell empty.")
    if not right_digit(text):
        hint = f"Its last digit would be {gtin_check_digit(text[:-1])} if the others are right; look the number up."
        raise FieldError(f"{shown} has a wrong check digit.", hint)
    return text


def _wrong_length(text: str) -> FieldError:
    length = _BEFORE_LOSS.get(len(text))
    if length and text.strip("0") and right_digit(text):
        zeros = "zero" if length - len(text) == 1 else "zeros"
        return FieldError(f"{quoted(text)} has lost its leading {zeros}.", f"Write {quoted(text.zfill(length))}.")
    counted = "1 digit" if len(text) == 1 else f"{len(text)} digits"
    return FieldError(f"{quoted(text[:40])} has {counted}.", "A GTIN has 8, 12, 13 or 14; look the number up.")


def in_fourteen(gtin: str) -> str:
    """Return a GTIN right-justified in 14 digits, by which two are compared."""
    return gtin.zfill(14)


def parse_cas(text: str) -> str:
    """Return a CAS number without the spaces around it.

    Raises:
        FieldError: it has another form, or its last digit does not follow from the others.
    """
    plain = text.strip()
    if found := _CAS.fullmatch(plain):
        right = cas_check_digit(found[1] + found[2])
        if found[3] == right:
            return plain
        hint = f"If the others are right, it is {found[1]}-{found[2]}-{right}; look at the supplier's document."
        raise FieldError(f"the last digit of the CAS number {quoted(plain)} does not follow from the others.", hint)
    if len(several := list(dict.fromkeys(_CAS.findall(plain)))) > 1:
        numbers = [f"{first}-{second}-{last}" for first, second, last in several]
        hint = f"Write the one of the supplier's document, as {numbers[0]}; two ingredients have a row each."
        raise FieldError(f"{quoted(plain[:40])} is {len(numbers)} CAS numbers: {', '.join(numbers[:4])}.", hint)
    near = _NEARLY.fullmatch(plain)
    if near and near[3] == cas_check_digit(near[1] + near[2]):
        hint = f"A CAS number ends with one digit; it may be {near[1]}-{near[2]}-{near[3]}."
    else:
        hint = 'Write it as in "78-70-6".'
    raise FieldError(f"{quoted(plain[:40])} is not a CAS number.", hint)


def cas_check_digit(digits: str) -> str:
    """Return the check digit that belongs behind `digits`."""
    return str(sum(at * int(digit) for at, digit in enumerate(reversed(digits), 1)) % 10)


# Codes of the owner's own, in the words of a line.

_WORD: Final = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9._/-]*[A-Za-z0-9])?")


def code_words(text: str) -> list[str]:
    """Return the words of a text that could be codes."""
    return _WORD.findall(text)


def with_other_codes(text: str, now: Mapping[str, str]) -> str:
    """Return a text with every word that is a key of `now` replaced by its value.

    >>> with_other_codes("Balm: TT-L01, not TT-L011.", {"TT-L01": "TT-LB1"})
    'Balm: TT-LB1, not TT-L011.'
    """
    return _WORD.sub(lambda word: now.get(word[0], word[0]), text) if now else text
