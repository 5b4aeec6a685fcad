"""Weights, lengths, sizes and volumes as people read them: in grams and millimetres, or in ounces and inches.

The one place that words them for screens, messages, papers and drawings. Feeds have the units of their dialect, JSON
has grams and millimetres, a declared quantity (units/declared.py) what the law of a country wants.

Factors are the exact ones of the table of units. Figures are rounded half up, once, here; what is the least or the most
that will do is rounded so that it does:

- As stated, in messages that name what an owner wrote: metric figures with all their digits; customary ones that end
  within four places ("5.0625 in") whole, others to hundredths ("6.38 in").
- Rounded, where figures were computed: tenths of a gram and of a millimetre; tenths of an ounce from one ounce on, as
  parcel scales show them, hundredths below; hundredths of an inch.

Closing zeros are left out, and what is not nothing is never shown as 0. From 16 ounces on a weight is in pounds and
ounces, as the trade writes parcels (common practice, no source).
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from typing import Final, Literal

from listkit.units.table import UNITS, WIDE
from listkit.units.weight import Weight

UnitSystem = Literal["metric", "customary"]

_SIZE: Final = {unit.sign: unit.size for unit in UNITS}
_OUNCE, _INCH, _FLUID_OUNCE = _SIZE["oz"], _SIZE["in"], _SIZE["fl oz"]
_CUBIC_INCH: Final = (_INCH / 10) ** 3  # in cm³
_SQUARE_FOOT: Final = (12 * _INCH / 1000) ** 2  # in m²
_OUNCES_A_POUND: Final = _SIZE["lb"] / _OUNCE
_AMOUNT: Final = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?(?: x \d+(?:\.\d+)?)*) (g|mm)(?![\w/])")
_WHOLE: Final = 4  # places within which a figure is taken for one that somebody wrote
# What stands in hints as an example, in either measure.
_EXAMPLES: Final = {
    "1 g": "0.1 oz",
    "10 g": "0.4 oz",
    "14 g": "0.5 oz",
    "58 g": "2 oz",
    "60 g": "2 oz",
    "88 g": "3 oz",
    "110 g": "4.5 oz",
    "119 g": "4.2 oz",
    "150 g": "5.3 oz",
    "340 g": "12 oz",
    "420 g": "15 oz",
    "500 g": "1 lb 2 oz",
    "600 g": "1 lb 5 oz",
    "1.2 kg": "2 lb 10 oz",
    "2 kg": "4 lb 6 oz",
    "2 mm": "1/16 in",
    "3 mm": "1/8 in",
    "8 mm": "5/16 in",
    "13 mm": "1/2 in",
    "20 mm": "3/4 in",
    "102 mm": "4 in",
    "142 mm": "5 1/2 in",
    "600 mm": "24 in",
    "900 mm": "36 in",
    "80 x 55 x 25 mm": "3 x 2 x 1 in",
    "86 x 58 x 28 mm": "3 1/4 x 2 1/4 x 1 in",
    "162 x 122 x 70 mm": "6 1/2 x 5 x 2 3/4 in",
    "166 x 126 x 74 mm": "6 5/8 x 5 1/8 x 2 7/8 in",
    "400 x 300 x 240 mm": "16 x 12 x 9 1/2 in",
    "410 x 310 x 255 mm": "16 1/2 x 12 1/2 x 10 in",
    "190 x 150 x 100 mm": "7 1/2 x 6 x 4 in",
    "100 x 140 mm": "4 x 5 1/2 in",
}
_EXAMPLE: Final = re.compile(rf'(?:(?<=as in ")|(?<= = "))({"|".join(_EXAMPLES)})(?=")')
_HEADING: Final = re.compile(r'(?<=as in ")([a-z ]+) \((g|mm)\)(?=")')


@dataclass(frozen=True, slots=True)
class Measures:
    """Words amounts in one system of units.

    >>> CUSTOMARY.weight(Weight(Decimal(612))), METRIC.weight(Weight(Decimal(612)))
    ('1 lb 5.59 oz', '612 g')
    >>> CUSTOMARY.sides((Decimal(162), Decimal("127"), Decimal("68.3"))), METRIC.sides((Decimal(162), Decimal(127)))
    ('6.38 × 5 × 2.69 in', '162 × 127 mm')
    """

    system: UnitSystem = "metric"

    @property
    def customary(self) -> bool:
        """Whether weights are in ounces, lengths in inches."""
        return self.system == "customary"

    @property
    def length_sign(self) -> str:
        """The unit of lengths."""
        return "in" if self.customary else "mm"

    @property
    def weight_sign(self) -> str:
        """The unit of weights, below a pound."""
        return "oz" if self.customary else "g"

    def weight(self, weight: Weight, *, rounded: bool = False, least: bool = False) -> str:
        """Return a weight with its unit, "119.5 g", "4.22 oz", "1 lb 5.6 oz"; `least` rounds ounces up."""
        if not self.customary:
            return f"{_shown(weight.grams, 1 if rounded else None)} g"
        pounds, ounces = pounds_and_ounces(weight, rounded=rounded, rounding=ROUND_CEILING if least else ROUND_HALF_UP)
        parts = ([f"{pounds} lb"] if pounds else []) + ([f"{_plain(ounces)} oz"] if ounces or not pounds else [])
        return " ".join(parts)

    def tolerance(self, weight: Weight) -> str:
        """Return by how much a weight may differ: of ounces no finer than a tenth, as weights are shown."""
        if not self.customary:
            return self.weight(weight, rounded=True)
        return f"{_plain(_cut(WIDE.divide(weight.grams, _OUNCE), 1, ROUND_CEILING))} oz"

    def number(self, millimetres: Decimal, *, rounded: bool = False) -> str:
        """Return a length without its unit: "162", "6.38"."""
        if not self.customary:
            return _shown(millimetres, 1 if rounded else None)
        return _plain(_as_stated(WIDE.divide(millimetres, _INCH), whole=not rounded))

    def length(self, millimetres: Decimal, *, rounded: bool = False) -> str:
        """Return a length with its unit: "162 mm", "6.38 in"."""
        return f"{self.number(millimetres, rounded=rounded)} {self.length_sign}"

    def at_least(self, millimetres: Decimal) -> str:
        """Return a length that is no shorter, with its unit."""
        return self._bound(millimetres, ROUND_CEILING)

    def at_most(self, millimetres: Decimal) -> str:
        """Return a length that is no longer, with its unit."""
        return self._bound(millimetres, ROUND_FLOOR)

    def _bound(self, millimetres: Decimal, rounding: str) -> str:
        if not self.customary:
            return self.length(millimetres)
        return f"{_plain(_as_stated(WIDE.divide(millimetres, _INCH), whole=True, rounding=rounding))} in"

    def sides(self, sides: Iterable[Decimal], *, times: str = "×", rounded: bool = False) -> str:
        """Return the sides of a size, given in mm, with their unit: "162 × 122 × 68 mm"."""
        return f"{f' {times} '.join(self.number(side, rounded=rounded) for side in sides)} {self.length_sign}"

    def volume(self, millilitres: Decimal) -> str:
        """Return a volume with three digits that count: "134 ml", "4.53 fl oz"."""
        if not self.customary:
            return f"{_three(millilitres)} ml"
        return f"{_three(WIDE.divide(millilitres, _FLUID_OUNCE))} fl oz"

    def density(self, grams: Decimal) -> str:
        """Return what each cm³ weighs, with three digits that count: "2.4 g in each cm³", "1.39 oz in each in³"."""
        if not self.customary:
            return f"{_three(grams)} g in each cm³"
        return f"{_three(WIDE.divide(grams * _CUBIC_INCH, _OUNCE))} oz in each in³"

    def surface(self, grams: Decimal, *, large: bool = False) -> str:
        """Return what each m² weighs, in g or oz, `large` in kg or lb: "450 g in each m²", "1.47 oz in each ft²"."""
        if not self.customary:
            return f"{_three(grams / 1000)} kg in each m²" if large else f"{_three(grams)} g in each m²"
        sign = "lb" if large else "oz"
        return f"{_three(WIDE.divide(grams * _SQUARE_FOOT, _SIZE[sign]))} {sign} in each ft²"

    def facts(self, text: str) -> str:
        """Return a text of ours with its amounts of g and mm in these units.

        >>> CUSTOMARY.facts("outside 190.5 x 152.4 x 101.6 mm, weight 85.048569375 g, cost 0.95")
        'outside 7.5 x 6 x 4 in, weight 3 oz, cost 0.95'
        """
        return _AMOUNT.sub(self._fact, text) if self.customary else text

    def _fact(self, amount: re.Match[str]) -> str:
        numbers = [Decimal(number) for number in amount[1].split(" x ")]
        return self.sides(numbers, times="x") if amount[2] == "mm" else self.weight(Weight(numbers[-1]))

    def example(self, hint: str) -> str:
        """Return a hint with its examples in these units.

        >>> CUSTOMARY.example('Write it as in "340 g".')
        'Write it as in "12 oz".'
        >>> CUSTOMARY.example('Write the unit in the heading, as in "weight (g)".')
        'Write the unit in the heading, as in "weight (oz)".'
        """
        if not self.customary:
            return hint
        hint = _EXAMPLE.sub(lambda example: _EXAMPLES[example[1]], hint)
        return _HEADING.sub(lambda heading: f"{heading[1]} ({'oz' if heading[2] == 'g' else 'in'})", hint)


METRIC: Final = Measures()
CUSTOMARY: Final = Measures("customary")


def pounds_and_ounces(weight: Weight, *, rounded: bool = True, rounding: str = ROUND_HALF_UP) -> tuple[int, Decimal]:
    """Return a weight in whole pounds and what is over in ounces, rounded as it is shown.

    >>> pounds_and_ounces(Weight(Decimal("453.5")))
    (1, Decimal('0.0'))
    """
    exact = WIDE.divide(weight.grams, _OUNCE)
    ounces = _as_stated(exact, whole=not rounded, places=1 if rounded and exact >= 1 else 2, rounding=rounding)
    pounds = int(ounces // _OUNCES_A_POUND)
    return pounds, ounces - pounds * _OUNCES_A_POUND


def _as_stated(exact: Decimal, *, whole: bool, places: int = 2, rounding: str = ROUND_HALF_UP) -> Decimal:
    """Return a figure as it is where `whole` is wanted and it ends within four places, else rounded to `places`."""
    if whole and exact == _half_up(exact, _WHOLE):
        return _half_up(exact, _WHOLE)
    figure = _cut(exact, places, rounding)
    return figure if figure or not exact else _cut(exact, -exact.adjusted(), rounding)


def _shown(exact: Decimal, places: int | None) -> str:
    """Return a metric figure with all its digits, or half up to so many places."""
    return _plain(exact if places is None else _half_up(exact, places))


def _half_up(exact: Decimal, places: int) -> Decimal:
    return _cut(exact, places, ROUND_HALF_UP)


def _cut(exact: Decimal, places: int, rounding: str) -> Decimal:
    return exact.quantize(Decimal(1).scaleb(-places), rounding, WIDE)


def _three(number: Decimal) -> str:
    """Return three digits that count."""
    return _plain(Decimal(f"{number:.3g}"))


def _plain(number: Decimal) -> str:
    return f"{number.normalize():f}"
