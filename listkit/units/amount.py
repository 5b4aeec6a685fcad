"""Amounts of raw materials as recipes and suppliers' price lists state them: "340 g", "2 l", "24 pieces", "kg".

Exact, in the base unit of the kind: grams, millilitres, millimetres or pieces. Weight and volume go into each other by
a density alone.
"""

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from listkit.problem import FieldError, quoted
from listkit.units.quantity import UNIT_WORD, Example, in_bounds, joined, known_unit, parse_quantity
from listkit.units.table import UNITS, UnitKind, sizes_by_word

EXAMPLE: Final = Example("an amount", "340 g")
_KINDS: Final = (UnitKind.MASS, UnitKind.VOLUME, UnitKind.LENGTH, UnitKind.COUNT)
_BY_KIND: Final = {kind: sizes_by_word(kind) for kind in _KINDS}
_WORDS: Final = re.compile(UNIT_WORD)
_PIECES: Final = re.compile(
    rf"(\d{{1,9}}(?:\.\d{{1,9}})?)?\s*(?:{'|'.join(sizes_by_word(UnitKind.COUNT))})\.?", re.IGNORECASE
)
_BARE: Final = re.compile(r"\d{1,9}(?:\.\d{1,9})?", re.ASCII)


@dataclass(frozen=True, slots=True)
class Amount:
    """So much of something: `size` base units of its kind; `text` as it was written.

    `bare` says that it was written without a unit, and so counts pieces, or packs of whatever unit is known for it.
    """

    kind: UnitKind
    size: Decimal
    text: str
    bare: bool = False

    @classmethod
    def parse(cls, text: str) -> "Amount":
        """Read "340 g", "1 lb 2 oz", "24 pieces", a bare "24", or a unit alone: "kg" is one of it.

        >>> Amount.parse("5 kg"), Amount.parse("piece").size, Amount.parse("24").bare
        (Amount(kind=<UnitKind.MASS: 'mass'>, size=Decimal('5000'), text='5 kg', bare=False), Decimal('1'), True)

        Raises:
            FieldError: it is none, or of two kinds at once.
        """
        text = in_bounds(" ".join(text.split()), EXAMPLE)
        if _BARE.fullmatch(text):
            return cls(UnitKind.COUNT, Decimal(text), text, bare=True)
        if pieces := _PIECES.fullmatch(text):
            return cls(UnitKind.COUNT, Decimal(pieces[1] or 1), text)
        plain = joined(text)
        numbered = plain if any(map(str.isnumeric, plain)) else f"1 {plain}"
        named = _WORDS.findall(plain)
        for kind, units in _BY_KIND.items():
            if named and all(known_unit(word, units) for word in named):
                return cls(kind, parse_quantity(numbered, units, EXAMPLE), text)
        every = {word: size for units in _BY_KIND.values() for word, size in units.items()}
        parse_quantity(numbered, every, EXAMPLE)  # raises where a word is no unit at all, or no number stands before it
        raise FieldError(f"{quoted(text)} is of two kinds.", f"Write it as in {quoted(EXAMPLE.good)}.")


def decimal_of(exact: Fraction) -> Decimal:
    """Return a fraction as a decimal, to the digits of the context.

    >>> decimal_of(Fraction(1, 8))
    Decimal('0.125')
    """
    return Decimal(exact.numerator) / exact.denominator


def rounded_at(exact: Fraction, places: int) -> Decimal:
    """Return a fraction, zero or more, with so many digits behind the point, half up; however large it is.

    >>> rounded_at(Fraction(1, 8), 2), rounded_at(Fraction(10) ** 30, 2)
    (Decimal('0.13'), Decimal('1.000000000000000000000000000E+30'))
    """
    return Decimal((exact * 10**places * 2 + 1) // 2).scaleb(-places)


def amount_text(kind: UnitKind, size: Decimal | Fraction) -> str:
    """Return an amount in the metric unit that reads best: to a tenth of a gram, a thousandth of a kilogram.

    >>> amount_text(UnitKind.MASS, Decimal("12840")), amount_text(UnitKind.COUNT, Decimal(24))
    ('12.84 kg', '24')
    """
    signs = [unit for unit in UNITS if unit.kind is kind and unit.sign in ("g", "kg", "ml", "l", "mm", "m")]
    unit = next((unit for unit in reversed(signs) if size >= unit.size), signs[0] if signs else None)
    exact = Fraction(size) / Fraction(unit.size if unit else 1)
    number = decimal_of(round(exact, 1 if unit and unit.size == 1 else 3)).normalize()
    return f"{number:f} {unit.sign}" if unit else f"{number:f}"
