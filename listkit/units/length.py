"""Lengths and sizes, exact in millimetres."""

import re
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final

from listkit.problem import FieldError
from listkit.units.quantity import Example, Units, in_bounds, parse_quantity, sides_and_unit
from listkit.units.table import UnitKind, sizes_by_word

LENGTH_UNITS: Final[Units] = sizes_by_word(UnitKind.LENGTH)
MM_PER_INCH: Final = LENGTH_UNITS["in"]
EXAMPLE: Final = Example("a length", "3 mm")
SIZE_EXAMPLE: Final = Example("a size", "86 x 58 x 28 mm")


# Words that say of the side beside them that it is a diameter, in English, French, German, Spanish and Italian.
_ROUND: Final = re.compile(
    r"(?<![^\W\d_])(?:round|dia|diam|diameter|diamètre|rond|rund|durchmesser|diámetro|redondo|diametro|tondo)\b[.:]?"
    r"|[Øø⌀]",
    re.IGNORECASE,
)


def without_round(text: str) -> tuple[str, bool]:
    """Return a size without the words that say that it is round, and whether there were any.

    >>> without_round("round 2.75 in x 2.5 in"), without_round("70 mm dia. x 60 mm")
    (('2.75 in x 2.5 in', True), ('70 mm x 60 mm', True))
    """
    rest = " ".join(_ROUND.sub(" ", text).split())
    return (rest, True) if _ROUND.search(text) else (text, False)


@dataclass(frozen=True, slots=True, order=True)
class Length:
    """A length: Length(Decimal("3")) is 3 mm."""

    mm: Decimal

    @classmethod
    def parse(cls, text: str, *, unit: str = "") -> "Length":
        """Read "3 mm", "2 1/2 in"; a bare number only with the heading's `unit`."""
        return cls(parse_quantity(text, LENGTH_UNITS, EXAMPLE, unit=unit))


@dataclass(frozen=True, slots=True)
class Size:
    """Length, width and height of the smallest upright block around a piece; `inches` when it was written in them."""

    length: Length
    width: Length
    height: Length
    inches: bool = field(default=False, compare=False, kw_only=True)

    @classmethod
    def parse(cls, text: str, *, unit: str = "") -> "Size":
        """Read "86 x 58 x 28 mm" or "3in x 2 1/2in x 1in": three sides, all above zero.

        Something round may be given by its diameter and its height: "round 2.75 in x 2.5 in", "dia 70 x 60 mm".
        """
        measures, is_round = without_round(in_bounds(text, SIZE_EXAMPLE))
        sides, word = sides_and_unit(measures, LENGTH_UNITS, SIZE_EXAMPLE, unit=unit)
        if is_round and len(sides) == 2:
            sides = (sides[0], *sides)
        if len(sides) != 3:
            raise FieldError(
                f'"{text.strip()}" has {len(sides)} side{"s" * (len(sides) != 1)}, not three.',
                f'Write length, width and height, as in "{SIZE_EXAMPLE.good}".',
            )
        if min(sides) <= 0:
            raise FieldError(f'"{text.strip()}" has a side of zero.', f'Write it as in "{SIZE_EXAMPLE.good}".')
        length, width, height = (Length(side) for side in sides)
        inches = LENGTH_UNITS.get(word) == MM_PER_INCH
        return cls(length, width, height, inches=inches)

    @property
    def sides(self) -> tuple[Decimal, Decimal, Decimal]:
        """Length, width and height in millimetres."""
        return self.length.mm, self.width.mm, self.height.mm

    @property
    def text(self) -> str:
        """The sides in millimetres with all their digits: "86 × 58 × 28 mm"."""
        return f"{' × '.join(f'{side.normalize():f}' for side in self.sides)} mm"

    @property
    def volume(self) -> Decimal:
        """Cubic millimetres of the block."""
        return self.length.mm * self.width.mm * self.height.mm
