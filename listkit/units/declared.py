"""Quantities as a label declares them: the figure as stated, and the other system's, derived once.

The factors are those that a label in the United States must use, six digits and "none others"
(16 CFR 500.19(a) as amended, 80 FR 71686, 2015). A metric figure has three digits, two when it is below
100; a customary one at most two places; a final zero behind the point is dropped (16 CFR 500.19(b)).
Nothing is rounded but here, down unless the caller says otherwise: a declaration may never overstate.
"""

import re
from dataclasses import dataclass, replace
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Context, Decimal
from typing import Final, Literal

from listkit.units.length import LENGTH_UNITS
from listkit.units.net import VOLUME_UNITS, Measure, NetContent
from listkit.units.weight import WEIGHT_UNITS

Rounding = Literal["down", "half up"]
MODES: Final = {"down": ROUND_FLOOR, "half up": ROUND_HALF_UP}
_WIDE: Final = Context(prec=60)

# 16 CFR 500.19(a): how many of the metric unit one customary unit is, and the other way.
TO_METRIC: Final = {
    "oz": ("g", Decimal("28.3495")),
    "lb": ("g", Decimal("453.592")),
    "fl oz": ("ml", Decimal("29.5735")),
    "in": ("cm", Decimal("2.54")),
}
TO_CUSTOMARY: Final = {
    "g": ("oz", Decimal("0.0352740")),
    "kg": ("lb", Decimal("2.20462")),
    "ml": ("fl oz", Decimal("0.0338140")),
}
CENTIMETRES_AN_INCH: Final = Decimal("2.54")
OUNCES_A_POUND: Final = 16
# Every unit of ours under the sign that a label has for it; those missing here are told in a larger or smaller one.
_SIGNS: Final = {
    **dict.fromkeys(("g", "gr", "gram", "grams", "mg"), "g"),
    **dict.fromkeys(("kg", "kilogram", "kilograms"), "kg"),
    **dict.fromkeys(("oz", "ozs", "ounce", "ounces"), "oz"),
    **dict.fromkeys(("lb", "lbs", "pound", "pounds"), "lb"),
    **dict.fromkeys(("l", "litre", "litres", "liter", "liters"), "l"),
    **{word: "ml" for word in VOLUME_UNITS if word.startswith(("ml", "millil"))},
    **{word: "cl" for word in VOLUME_UNITS if word.startswith(("cl", "centil"))},
    "floz": "fl oz",
    **{word: "mm" for word in LENGTH_UNITS if word.startswith(("mm", "millim"))},
    **{word: "cm" for word in LENGTH_UNITS if word.startswith(("cm", "centim"))},
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), "m"),
    **dict.fromkeys(("in", "inch", "inches"), "in"),
}  # fmt: skip
METRIC: Final = frozenset({"g", "kg", "ml", "cl", "l", "mm", "cm", "m"})
# Exact sizes in base units (g, ml, mm): from one unit of a system to another nothing is lost.
_EXACT: Final = {
    "g": Decimal(1), "kg": Decimal(1000), "oz": WEIGHT_UNITS["oz"], "lb": WEIGHT_UNITS["lb"],
    "ml": Decimal(1), "cl": Decimal(10), "l": Decimal(1000), "fl oz": VOLUME_UNITS["floz"],
    "mm": Decimal(1), "cm": Decimal(10), "m": Decimal(1000), "in": LENGTH_UNITS["in"],
}  # fmt: skip
_PLAIN: Final = re.compile(r"(\d+(?:\.\d+)?|\.\d+)\s*([^\W\d_]+)\.?")
_FLUID: Final = re.compile(r"fl\.?\s*ozs?\.?", re.IGNORECASE)
_COUNTED: Final = re.compile(r"^\d{1,4}\s*[x×X]\s*(?=.*[^\W\d_])")
_WORD: Final = re.compile(r"[^\W\d_]+")
_TIMES: Final = re.compile(r"\s*[x×X*]\s*")


@dataclass(frozen=True, slots=True)
class Figure:
    """Numbers in one unit: one for a weight, volume or count, two or three for a size.

    `unit` is a sign of g kg ml cl l oz lb "fl oz" mm cm m in, or "" for pieces. The digits of a number are those
    to be printed: Decimal("5.0") is 5.0.
    """

    numbers: tuple[Decimal, ...]
    unit: str

    @property
    def metric(self) -> bool:
        """Whether the unit is of the metric system; a count is of neither."""
        return self.unit in METRIC


def stated(net: NetContent) -> Figure:
    """Return one piece's quantity in the owner's own unit and with her own digits; "4 x 25 g" gives 25 g."""
    if net.measure is Measure.COUNT:
        return Figure((Decimal(net.count),), "")
    text = _FLUID.sub("floz", net.text)
    if net.measure is Measure.SIZE:
        return _sides(text)
    text = _COUNTED.sub("", text) if net.count > 1 else text
    if (plain := _PLAIN.fullmatch(text.strip())) and plain[2].lower() != "mg":
        return Figure((Decimal(plain[1]),), _SIGNS[plain[2].lower()])
    sign = _SIGNS[_WORD.findall(text.lower())[-1]]
    return Figure((Decimal(f"{(net.each / _EXACT[sign]).normalize():f}"),), sign)


def _sides(text: str) -> Figure:
    sign = _SIGNS[_WORD.findall(_TIMES.sub(" ", text).lower())[-1]]
    numbers = []
    for side in _TIMES.split(text):
        parts = re.findall(r"\d+(?:\.\d+)?(?:\s+\d+)?\s*/\s*\d+|\d+(?:\.\d+)?", side)
        numbers.append(_fraction(parts[0]) if parts else Decimal(0))
    return Figure(tuple(numbers), sign)


def _fraction(text: str) -> Decimal:
    """Return "2 1/2" as 2.5."""
    *whole, last = text.split() if "/" in text else (text,)
    if "/" not in text:
        return Decimal(text)
    above, below = last.split("/")
    return sum((Decimal(one) for one in whole), Decimal(0)) + Decimal(above) / Decimal(below)


def other(figure: Figure, rounding: Rounding = "down") -> Figure | None:
    """Return the figure in the other system; None for a count, which has none."""
    if not figure.unit:
        return None
    if figure.metric:
        return _customary(figure, rounding)
    unit, factor = TO_METRIC[figure.unit]
    return shortened(Figure(tuple(number * factor for number in figure.numbers), unit), rounding)


def _customary(figure: Figure, rounding: Rounding) -> Figure:
    base = _in_base(figure)
    if base.unit == "mm":
        inches = tuple(number / 10 / CENTIMETRES_AN_INCH for number in base.numbers)
        return shortened(Figure(inches, "in"), rounding)
    unit, factor = TO_CUSTOMARY[base.unit]
    turned = Figure(tuple(number * factor for number in base.numbers), unit)
    if unit == "oz" and turned.numbers[0] >= OUNCES_A_POUND:
        unit, factor = TO_CUSTOMARY["kg"]
        turned = Figure(tuple(number / 1000 * factor for number in base.numbers), unit)
    return shortened(turned, rounding)


def _in_base(figure: Figure) -> Figure:
    """Return a metric figure in g, ml or mm, exactly."""
    unit = {"kg": "g", "cl": "ml", "l": "ml", "cm": "mm", "m": "mm"}.get(figure.unit, figure.unit)
    return Figure(tuple(number * _EXACT[figure.unit] / _EXACT[unit] for number in figure.numbers), unit)


def shortened(figure: Figure, rounding: Rounding = "down") -> Figure:
    """Return a computed figure with as many digits as a declaration has; 1,000 g and more in kg, likewise ml in l."""
    if figure.unit in {"g", "ml"} and figure.numbers[0] >= 1000:
        figure = replace(figure, unit={"g": "kg", "ml": "l"}[figure.unit], numbers=(figure.numbers[0] / 1000,))
        return replace(figure, numbers=(_digits(figure.numbers[0], 3, rounding),))
    if figure.unit in {"g", "kg", "ml", "l"}:
        return replace(figure, numbers=tuple(_digits(one, 3 if one >= 100 else 2, rounding) for one in figure.numbers))
    places = 1 if figure.unit == "cm" else 2
    return replace(figure, numbers=tuple(_places(one, places, rounding) for one in figure.numbers))


def in_large_units(figure: Figure) -> Figure:
    """Return a metric weight or volume of a thousand and more in kg or l, exactly; anything else as it is."""
    larger = {"g": "kg", "ml": "l"}.get(figure.unit)
    if larger is None or figure.numbers[0] < 1000:
        return figure
    return Figure((Decimal(f"{(figure.numbers[0] / 1000).normalize():f}"),), larger)


def three_digits(figure: Figure, rounding: Rounding = "down") -> Figure:
    """Return a computed figure with three digits throughout, the finer of the two ways that 16 CFR 500.19(b) has."""
    return replace(figure, numbers=tuple(_digits(one, 3, rounding) for one in figure.numbers))


def _digits(number: Decimal, digits: int, rounding: Rounding) -> Decimal:
    if not number:
        return number
    return _places(number, max(digits - 1 - number.adjusted(), 0), rounding)


def _places(number: Decimal, places: int, rounding: Rounding) -> Decimal:
    cut = number.quantize(Decimal(1).scaleb(-places), MODES[rounding], _WIDE)
    if not cut and number:
        return _places(number, -number.adjusted(), rounding)
    return Decimal(f"{cut.normalize():f}")


def summed(figures: tuple[tuple[int, Figure], ...]) -> Figure | None:
    """Return counts times figures as one, in their own unit with their finest digits; None where nothing adds up.

    Unlike units of one kind (ounces with grams) are added exactly and told in the first one's, two places, cut.
    """
    first = figures[0][1] if figures else None
    if first is None or len({len(one.numbers) for _, one in figures}) != 1 or len(first.numbers) != 1:
        return None
    if all(one.unit == first.unit for _, one in figures):
        return Figure((sum((count * one.numbers[0] for count, one in figures), Decimal(0)),), first.unit)
    kinds = {_kind(one.unit) for _, one in figures}
    if len(kinds) != 1 or "" in kinds or "length" in kinds:
        return None
    total = sum((count * one.numbers[0] * _EXACT[one.unit] for count, one in figures), Decimal(0))
    return Figure((_places(total / _EXACT[first.unit], 2, "down"),), first.unit)


def _kind(unit: str) -> str:
    kinds = {"mass": ("g", "kg", "oz", "lb"), "volume": ("ml", "cl", "l", "fl oz"), "length": ("mm", "cm", "m", "in")}
    return next((kind for kind, units in kinds.items() if unit in units), "")


def base_amount(figure: Figure) -> Decimal:
    """Return a weight in grams or a volume in millilitres, exactly."""
    return figure.numbers[0] * _EXACT[figure.unit]
