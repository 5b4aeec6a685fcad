"""Quantities as a label declares them: the figure as stated, and the other system's, derived once.

The factors are those that a label in the United States must use, six digits and "none others"
(16 CFR 500.19(a) as amended, 80 FR 71686, 2015). A metric figure has three digits, two when it is below
100; a customary one at most two places; a final zero behind the point is dropped (16 CFR 500.19(b)).
Nothing is rounded but here, down unless the caller says otherwise: a declaration may never overstate.
"""

import re
from dataclasses import dataclass, replace
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal
from typing import Final, Literal

from listkit.units.length import LENGTH_UNITS, plain_size
from listkit.units.net import EXAMPLE, Measure, NetContent
from listkit.units.quantity import UNIT_WORD, joined, sides_as_written
from listkit.units.table import UNITS, WIDE, LegalFactor, UnitKind, units_of

Rounding = Literal["down", "half up"]
MODES: Final = {"down": ROUND_FLOOR, "half up": ROUND_HALF_UP}

# A unit without a legal factor is stated in these, by its exact size.
_METRIC_OF: Final = {UnitKind.MASS: "g", UnitKind.VOLUME: "ml", UnitKind.LENGTH: "cm"}
_BY_SIGN: Final = {unit.sign: unit for unit in UNITS}
_BY_WORD: Final = {word: unit for unit in UNITS for word in (*unit.words.split(), *unit.marks)}
_BASE: Final = {unit.kind: unit.sign for unit in UNITS if unit.size == 1}
# What a thousand of a base unit are.
_LARGE: Final = {
    _BASE[unit.kind]: unit.sign for kind in (UnitKind.MASS, UnitKind.VOLUME) for unit in units_of(kind)
    if unit.metric and unit.size == 1000
}  # fmt: skip
_PLAIN: Final = re.compile(rf"(\d+(?:\.\d+)?|\.\d+)\s*({UNIT_WORD})\.?")
_COUNTED: Final = re.compile(r"^\d{1,4}\s*[x×X]\s*(?=.*[^\W\d_])")
_WORD: Final = re.compile(UNIT_WORD)


@dataclass(frozen=True, slots=True)
class Figure:
    """Numbers in one unit: one for a weight, volume or count, two or three for a size.

    `unit` is a sign of the table, "" for pieces. The digits of a number are those to be printed: Decimal("5.0")
    is 5.0.
    """

    numbers: tuple[Decimal, ...]
    unit: str

    @property
    def metric(self) -> bool:
        """Whether the unit is of the metric system; a count is of neither."""
        return _BY_SIGN[self.unit].metric


def stated(net: NetContent) -> Figure:
    """Return one piece's quantity in the owner's own unit and with her own digits; "4 x 25 g" gives 25 g."""
    if net.measure is Measure.COUNT:
        return Figure((Decimal(net.count),), "")
    text = joined(net.text)
    if net.measure is Measure.SIZE:
        numbers, word = sides_as_written(plain_size(text), LENGTH_UNITS, EXAMPLE)
        return Figure(numbers, _BY_WORD[word].printed)
    text = _COUNTED.sub("", text) if net.count > 1 else text
    if (plain := _PLAIN.fullmatch(text.strip())) and not _BY_WORD[plain[2].lower()].label:
        return Figure((Decimal(plain[1]),), _BY_WORD[plain[2].lower()].sign)
    sign = _last_unit(text)
    return Figure((Decimal(f"{(net.each / _BY_SIGN[sign].size).normalize():f}"),), sign)


def _last_unit(text: str) -> str:
    return _BY_WORD[_WORD.findall(text.lower())[-1]].printed


def other(figure: Figure, rounding: Rounding = "down") -> Figure | None:
    """Return the figure in the other system; None for a count, which has none."""
    if not figure.unit:
        return None
    if figure.metric:
        return _customary(figure, rounding)
    factor = _legal(figure.unit)
    return shortened(Figure(tuple(number * factor.factor for number in figure.numbers), factor.sign), rounding)


def _legal(sign: str) -> LegalFactor:
    """Return what a label makes of a customary unit: as the law prescribes, else exactly."""
    unit = _BY_SIGN[sign]
    metric = _METRIC_OF[unit.kind]
    return unit.legal or LegalFactor(metric, unit.size / _BY_SIGN[metric].size)


def _customary(figure: Figure, rounding: Rounding) -> Figure:
    base = _in_base(figure)
    legal = _BY_SIGN[base.unit].legal
    if legal is None:  # 16 CFR 500.19(a) has one factor for lengths, centimetres in an inch
        inch = _legal("in")
        centimetres = (number / _BY_SIGN[inch.sign].size for number in base.numbers)
        return shortened(Figure(tuple(number / inch.factor for number in centimetres), "in"), rounding)
    turned = Figure(tuple(number * legal.factor for number in base.numbers), legal.sign)
    large = _BY_SIGN[_LARGE[base.unit]].legal
    if large and turned.numbers[0] * _BY_SIGN[legal.sign].size >= _BY_SIGN[large.sign].size:
        turned = Figure(tuple(number / 1000 * large.factor for number in base.numbers), large.sign)
    return shortened(turned, rounding)


def _in_base(figure: Figure) -> Figure:
    """Return a metric figure in g, ml or mm, exactly."""
    unit = _BY_SIGN[figure.unit]
    return Figure(tuple(number * unit.size for number in figure.numbers), _BASE[unit.kind])


def shortened(figure: Figure, rounding: Rounding = "down") -> Figure:
    """Return a computed figure with as many digits as a declaration has; 1,000 g and more in kg, likewise ml in l."""
    if figure.unit in _LARGE and figure.numbers[0] >= 1000:
        figure = replace(figure, unit=_LARGE[figure.unit], numbers=(figure.numbers[0] / 1000,))
        return replace(figure, numbers=(_digits(figure.numbers[0], 3, rounding),))
    if figure.unit in {*_LARGE, *_LARGE.values()}:
        return replace(figure, numbers=tuple(_digits(one, 3 if one >= 100 else 2, rounding) for one in figure.numbers))
    places = 1 if figure.unit == "cm" else 2
    return replace(figure, numbers=tuple(_places(one, places, rounding) for one in figure.numbers))


def in_large_units(figure: Figure) -> Figure:
    """Return a metric weight or volume of a thousand and more in kg or l, exactly; anything else as it is."""
    if figure.unit not in _LARGE or figure.numbers[0] < 1000:
        return figure
    return Figure((Decimal(f"{(figure.numbers[0] / 1000).normalize():f}"),), _LARGE[figure.unit])


def three_digits(figure: Figure, rounding: Rounding = "down") -> Figure:
    """Return a computed figure with three digits throughout, the finer of the two ways that 16 CFR 500.19(b) has."""
    return replace(figure, numbers=tuple(_digits(one, 3, rounding) for one in figure.numbers))


def _digits(number: Decimal, digits: int, rounding: Rounding) -> Decimal:
    if not number:
        return number
    return _places(number, max(digits - 1 - number.adjusted(), 0), rounding)


def _places(number: Decimal, places: int, rounding: Rounding) -> Decimal:
    cut = number.quantize(Decimal(1).scaleb(-places), MODES[rounding], WIDE)
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
    kinds = {_BY_SIGN[one.unit].kind for _, one in figures}
    if kinds not in ({UnitKind.MASS}, {UnitKind.VOLUME}):
        return None
    total = sum((count * base_amount(one) for count, one in figures), Decimal(0))
    return Figure((_places(total / _BY_SIGN[first.unit].size, 2, "down"),), first.unit)


def base_amount(figure: Figure) -> Decimal:
    """Return a weight in grams or a volume in millilitres, exactly."""
    return figure.numbers[0] * _BY_SIGN[figure.unit].size
