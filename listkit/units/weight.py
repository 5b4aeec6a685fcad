"""Weights, exact in grams."""

from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import Final

from listkit.problem import FieldError
from listkit.units.length import MM_PER_INCH
from listkit.units.quantity import Example, Units, in_both, in_bounds, metric_of, parse_decimal, parse_quantity
from listkit.units.table import UnitKind, sizes_by_word, units_of

WEIGHT_UNITS: Final[Units] = sizes_by_word(UnitKind.MASS)
_BY_SIGN: Final = {unit.sign: unit.size for unit in units_of(UnitKind.MASS)}
EXAMPLE: Final = Example("a weight", "340 g")


@dataclass(frozen=True, slots=True, order=True)
class Weight:
    """A weight: Weight(Decimal("119")) is 119 g."""

    grams: Decimal

    @classmethod
    def parse(cls, text: str, *, unit: str = "", customary: bool = False) -> "Weight":
        """Read "340 g", "12 oz" or "1 lb 2 oz"; a bare number only with the heading's `unit`.

        Of "12 oz / 340 g" and "12 oz (340 g)" the ounces are read where `customary`, else the grams.

        Raises:
            FieldError: no weight, or two that are not the same, rounded as they stand there.
        """
        if both := in_both(in_bounds(text, EXAMPLE)):
            text = metric_of(both, WEIGHT_UNITS, EXAMPLE)[customary]
        return cls(parse_quantity(text, WEIGHT_UNITS, EXAMPLE, unit=unit))

    @property
    def text(self) -> str:
        """The weight in grams with all its digits: "119 g"."""
        return f"{self.grams.normalize():f} g"

    def __add__(self, other: "Weight") -> "Weight":
        return Weight(self.grams + other.grams)

    def __sub__(self, other: "Weight") -> "Weight":
        return Weight(self.grams - other.grams)

    def __mul__(self, times: int | Decimal) -> "Weight":
        return Weight(self.grams * times)

    def up_to(self, step: "Weight") -> "Weight":
        """Return the smallest whole multiple of `step` that is not below; exact multiples stay."""
        if step.grams <= 0:
            raise FieldError("a step must be above zero.", 'Write it as in "1 g".')
        return Weight((self.grams / step.grams).to_integral_value(ROUND_CEILING) * step.grams)

    def in_unit(self, unit: str) -> Decimal:
        """Return the number of `unit` ("g", "kg", any sign of the table), unrounded."""
        return self.grams / _BY_SIGN[unit]


@dataclass(frozen=True, slots=True)
class Divisor:
    """What freight divides a volume by: so many cubic centimetres a kilogram, or cubic inches a pound.

    >>> Divisor.parse("139 in³/lb").weight_of(Decimal("12000") * MM_PER_INCH**3).in_unit("lb").quantize(Decimal("0.01"))
    Decimal('86.33')
    """

    number: Decimal
    inches: bool = False

    @classmethod
    def parse(cls, text: str) -> "Divisor":
        """Read "5000", "5000 cm³/kg" or "139 in³/lb"; above zero.

        Raises:
            FieldError: no such number, or not above zero.
        """
        number, inches = text.strip(), False
        for unit, in_inches in _DIVISOR_UNITS.items():
            if number.casefold().endswith(unit):
                number, inches = number[: -len(unit)].strip(), in_inches
                break
        amount = parse_decimal(number, DIVISOR_EXAMPLE)
        if amount <= 0:
            raise FieldError(f"{text.strip()} is not above zero.", "Write a number above zero.")
        return cls(amount, inches)

    @property
    def text(self) -> str:
        """As an owner may write it: "5000" or "139 in³/lb"."""
        return f"{self.number.normalize():f}{' in³/lb' if self.inches else ''}"

    def weight_of(self, cubic_mm: Decimal) -> Weight:
        """Return the weight that a volume counts as, unrounded: multiplied first, divided once."""
        if self.inches:
            return Weight(cubic_mm * _BY_SIGN["lb"] / (self.number * MM_PER_INCH**3))
        return Weight(cubic_mm / self.number)  # mm³ to cm³ and kg to g are both a thousand


_DIVISOR_UNITS: Final = {"cm³/kg": False, "cm3/kg": False, "in³/lb": True, "in3/lb": True}
DIVISOR_EXAMPLE: Final = Example("a divisor", "5000")
NO_WEIGHT: Final = Weight(Decimal(0))
