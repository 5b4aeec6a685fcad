"""CAS Registry Numbers: two to seven digits, two digits, and one check digit.

The check digit: from the right, without it, digits times 1, 2, 3 ..., their sum modulo 10 (CAS Registry Number
verification, as the Chemical Abstracts Service publishes it).
"""

import re
from typing import Final

from listkit.problem import FieldError

_CAS: Final = re.compile(r"(\d{2,7})-(\d{2})-(\d)")
_NEARLY: Final = re.compile(r"(\d{2,7})-(\d{2})-(\d)\d+")


def parse_cas(text: str) -> str:
    """Return a CAS number without the spaces around it.

    Raises:
        FieldError: it has another form, or its last digit does not follow from the others.
    """
    plain = text.strip()
    if found := _CAS.fullmatch(plain):
        right = check_digit(found[1] + found[2])
        if found[3] == right:
            return plain
        hint = f"If the others are right, it is {found[1]}-{found[2]}-{right}; look at the supplier's document."
        raise FieldError(f'the last digit of the CAS number "{plain}" does not follow from the others.', hint)
    near = _NEARLY.fullmatch(plain)
    if near and near[3] == check_digit(near[1] + near[2]):
        hint = f"A CAS number ends with one digit; it may be {near[1]}-{near[2]}-{near[3]}."
    else:
        hint = 'Write it as in "78-70-6".'
    raise FieldError(f'"{plain[:40]}" is not a CAS number.', hint)


def check_digit(digits: str) -> str:
    """Return the check digit that belongs behind `digits`."""
    return str(sum(at * int(digit) for at, digit in enumerate(reversed(digits), 1)) % 10)
