"""Shares of a whole: "12.5 %" is Decimal("0.125"), exact."""

import re
from decimal import Decimal
from typing import Final

from listkit.problem import FieldError
from listkit.units.quantity import Example, parse_decimal

EXAMPLE: Final = Example("a share", "12.5 %")
_SHARE: Final = re.compile(r"(.*?)[\s\u00a0\u202f]*%", re.DOTALL)


def share_text(share: Decimal) -> str:
    """Return "15 %": all digits that the share has, and none more."""
    return f"{(share * 100).normalize():f} %"


def parse_share(text: str) -> Decimal:
    """Return the fraction that "12.5 %" names; the sign % is required and the share is 0 % or more."""
    match = _SHARE.fullmatch(text.strip())
    if match is None:
        raise FieldError(f'"{text.strip()}" has no per cent sign.', f'Write a share as in "{EXAMPLE.good}".')
    share = parse_decimal(match[1], EXAMPLE) / 100
    if share < 0:
        raise FieldError(f'"{text.strip()}" is negative.', f'Write a share as in "{EXAMPLE.good}".')
    return share
