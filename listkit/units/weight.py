"""Weights, exact in grams."""

from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import Final

from listkit.problem import FieldError
from listkit.units.quantity import Example, Units, parse_quantity
from listkit.units.table import UnitKind, sizes_by_word, units_of

WEIGHT_UNITS: Final[Units] = sizes_by_word(UnitKind.MASS)
_BY_SIGN: Final = {unit.sign: unit.size for unit in units_of(UnitKind.MASS)}
EXAMPLE: Final = Example("a weight", "340 g")


@dataclass(frozen=True, slots=True, order=True)
class Weight:
    """A weight: Weight(Decimal("119")) is 119 g."""

    grams: Decimal

    @classmethod
    def parse(cls, text: str, *, unit: str = "") -> "Weight":
        """Read "340 g", "12 oz" or "1 lb 2 oz"; a bare number only with the heading's `unit`."""
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


NO_WEIGHT: Final = Weight(Decimal(0))
