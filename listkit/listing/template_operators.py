"""Comparing and adding in a template: numbers, money and weights; text is only ever compared.

Values of unlike kinds are never equal and never larger or smaller. Results stay below
LARGEST and come from Decimal, so that no calculation takes long or loses a digit of a price.
"""

import operator
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any, Final

from listkit.listing.template_values import is_number, kind_of
from listkit.problem import FieldError
from listkit.units.money import Money
from listkit.units.weight import Weight

LARGEST: Final = 10**15  # far above any price, far below what takes time
_ONE_OF: Final[tuple[type, ...]] = (bool, str, date, Money, Weight, type(None))
_SUMS: Final[dict[str, Callable[[Any, Any], object]]] = {
    "+": operator.add,
    "-": operator.sub,
    "*": operator.mul,
    "/": operator.truediv,
    "//": operator.floordiv,
    "%": operator.mod,
}
_ORDERS: Final[dict[str, Callable[[Any, Any], bool]]] = {
    "lt": operator.lt,
    "lteq": operator.le,
    "gt": operator.gt,
    "gteq": operator.ge,
}


def compare(left: object, sign: str, right: object) -> bool:
    """Return whether `left sign right`; the sign by its name: eq, ne, lt, lteq, gt, gteq, in, notin.

    Raises:
        FieldError: the two are not values that can be compared so.
    """
    if sign in {"in", "notin"}:
        return _within(left, right) is (sign == "in")
    one, other = _comparable(left), _comparable(right)
    if sign in {"eq", "ne"}:
        return (one is other and left == right) is (sign == "eq")
    unlike_money = isinstance(left, Money) and isinstance(right, Money) and left.currency != right.currency
    if one is not other or one in {bool, type(None)} or unlike_money:
        raise FieldError(f"{kind_of(left)} and {kind_of(right)} have no order.", "Compare values of one kind.")
    return _ORDERS[sign](left, right)


def calculate(left: object, sign: str, right: object) -> object:
    """Return `left sign right` of two numbers, or of money or weights where that makes sense.

    Raises:
        FieldError: anything else, a division by zero, a result above LARGEST.
    """
    if is_number(left) and isinstance(right, Money | Weight) and sign == "*":
        left, right = right, left
    if not _can_calculate(left, sign, right):
        raise FieldError(f'"{sign}" cannot be used between {kind_of(left)} and {kind_of(right)}.', "Use it on numbers.")
    if isinstance(left, int) and sign == "/":
        left = Decimal(left)  # so that no float comes of it
    try:
        result = _SUMS[sign](left, right)
        too_large = abs(_figure(result)) > LARGEST
    except ArithmeticError:
        raise FieldError(f'"{sign}" cannot be worked out here.', "Look whether the number behind it is zero.") from None
    if too_large:
        raise FieldError("the result is too large.", "Write smaller numbers.")
    return result


def _can_calculate(left: object, sign: str, right: object) -> bool:
    if is_number(left) and is_number(right):
        return sign in _SUMS
    if isinstance(left, Money) and isinstance(right, Money):
        return sign in {"+", "-"} and left.currency == right.currency
    if isinstance(left, Weight) and isinstance(right, Weight):
        return sign in {"+", "-"}
    signs = {"*", "/"} if isinstance(left, Money) else {"*"} if isinstance(left, Weight) else set()
    return is_number(right) and sign in signs


def _figure(result: object) -> Decimal:
    if isinstance(result, Money):
        return result.amount
    return result.grams if isinstance(result, Weight) else Decimal(result)  # type: ignore[arg-type]


def _within(part: object, whole: object) -> bool:
    if isinstance(part, str) and isinstance(whole, str):
        return str(part) in str(whole)
    if isinstance(whole, tuple):
        scale = _comparable(part)
        return any(type(one) is type(part) and _comparable(one) is scale and one == part for one in whole)
    raise FieldError(f'"in" cannot look for {kind_of(part)} in {kind_of(whole)}.', "Look in a text or among several.")


def _comparable(value: object) -> type:
    """Return the kind that `value` is compared as."""
    if is_number(value):
        return Decimal
    for kind in _ONE_OF:
        if isinstance(value, kind):
            return kind
    raise FieldError(f"{kind_of(value)} cannot be compared as a whole.", "Compare one part of it.")
