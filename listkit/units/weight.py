"""Weights, exact in grams.

Factors: international avoirdupois pound of 1959, 453.59237 g exactly, and its sixteenth
(NIST Special Publication 811, Appendix B; NIST Handbook 44, Appendix C).
"""

from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import Final

from listkit.problem import FieldError
from listkit.units.quantity import Example, Units, parse_quantity

GRAMS_PER_POUND: Final = Decimal("453.59237")
GRAMS_PER_OUNCE: Final = GRAMS_PER_POUND / 16

_WORDS: Final = {
    "mg": Decimal("0.001"),
    "g gr gram grams": Decimal(1),
    "kg kilogram kilograms": Decimal(1000),
    "oz ozs ounce ounces": GRAMS_PER_OUNCE,
    "lb lbs pound pounds": GRAMS_PER_POUND,
}
WEIGHT_UNITS: Final[Units] = {word: grams for words, grams in _WORDS.items() for word in words.split()}
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
        """Return the number of `unit` ("g", "kg", "oz", "lb"), unrounded."""
        return self.grams / WEIGHT_UNITS[unit]


NO_WEIGHT: Final = Weight(Decimal(0))
