"""Net contents as an item states them: "110 g", "100 ml", "4 x 25 g", "118 x 80 mm", "6 pieces".

One authoritative quantity in one unit, as written; nothing is converted here. Fluid ounces are
volume and never become grams.
"""

import re
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Final

from listkit.problem import FieldError, quoted
from listkit.units.length import LENGTH_UNITS, plain_size
from listkit.units.quantity import (
    UNIT_WORD,
    Example,
    Units,
    in_both,
    in_bounds,
    joined,
    known_unit,
    metric_of,
    parse_quantity,
    parse_sides,
)
from listkit.units.table import UnitKind, sizes_by_word
from listkit.units.weight import WEIGHT_UNITS

VOLUME_UNITS: Final[Units] = sizes_by_word(UnitKind.VOLUME)
EXAMPLE: Final = Example("a net content", "110 g")
_MOST_SIDES: Final = 3
# "4 x 25 g" is a count of amounts, "4 x 25 mm" a size.
_COUNT: Final = re.compile(
    rf"(\d{{1,4}})\s*[x×X]\s*(?=\d+(?:\.\d+)?\s*(?!(?:{'|'.join(LENGTH_UNITS)})\b)[^\W\d_]+\s*$)"
)
_AROUND: Final = re.compile(
    r"^(?:net(?:t?o)?\b\.?(?:\s*(?:wt|weight)\b\.?)?:?|℮)\s*|\s*(?:℮|(?<=[^\W\d_])\s+e)$", re.IGNORECASE
)
_TIMES: Final = re.compile(r"(?<=\d)\s*([x×X])\s*(?=\d)")
_NO_SPACE: Final = re.compile(r"(\d)(?=[^\W\d_])")
_PIECES: Final = re.compile(rf"(\d{{1,6}})\s*(?:{'|'.join(sizes_by_word(UnitKind.COUNT))})\.?", re.IGNORECASE)


def _spaced(text: str) -> str:
    """Return a quantity with a space between its parts, so that all of them read alike.

    >>> _spaced("110g"), _spaced("4x25 g"), _spaced("118x80mm"), _spaced("1.5 fl oz")
    ('110 g', '4 x 25 g', '118 x 80 mm', '1.5 fl oz')
    """
    return _NO_SPACE.sub(r"\1 ", _TIMES.sub(r" \1 ", text))


class Measure(StrEnum):
    """What a net content counts."""

    MASS = "mass"
    VOLUME = "volume"
    SIZE = "size"
    COUNT = "count"


@dataclass(frozen=True, slots=True)
class NetContent:
    """`count` units of `each` base units (g, ml, mm² of face, or pieces); `text` as written, with its spaces.

    For a size (a soap dish) `each` is 0 and only the text speaks.
    """

    measure: Measure
    count: int
    each: Decimal
    text: str

    @property
    def total(self) -> Decimal:
        """All of it in grams or millilitres; the number of pieces for a count."""
        return self.each * self.count

    @classmethod
    def parse(cls, text: str) -> "NetContent":
        """Read one net content.

        Of "3.4 fl oz / 100 ml" the metric amount is read. The sign ℮ is passed over: the law says who may set it.
        """
        text = _AROUND.sub("", in_bounds(" ".join(text.split()), EXAMPLE))
        if both := in_both(joined(text)):
            text = metric_of(both, {**WEIGHT_UNITS, **VOLUME_UNITS}, EXAMPLE)[0]
        text = _spaced(" ".join(text.split()))
        if pieces := _PIECES.fullmatch(text):
            return cls(Measure.COUNT, int(pieces[1]), Decimal(1), text)
        plain = joined(text)
        count, rest = 1, plain
        if match := _COUNT.match(plain):
            count, rest = int(match[1]), plain[match.end() :]
        elif re.search(r"[x×X]", plain):
            sides = parse_sides(plain_size(plain), LENGTH_UNITS, EXAMPLE)
            if min(sides) <= 0 or len(sides) > _MOST_SIDES:
                what = "has a side of zero" if min(sides) <= 0 else f"has {len(sides)} sides"
                raise FieldError(f"{quoted(text)} {what}.", 'Write it as in "100 x 140 mm".')
            return cls(Measure.SIZE, 1, Decimal(0), text)
        return cls._quantity(rest, count, text)

    @classmethod
    def _quantity(cls, rest: str, count: int, text: str) -> "NetContent":
        each = parse_quantity(rest, {**WEIGHT_UNITS, **VOLUME_UNITS}, EXAMPLE)
        if each <= 0 or count <= 0:
            raise FieldError(f"{quoted(text)} is nothing at all.", f"Write it as in {quoted(EXAMPLE.good)}.")
        volumes = {known_unit(word, VOLUME_UNITS) for word in re.findall(UNIT_WORD, rest)}
        if len(volumes) > 1:
            raise FieldError(f"{quoted(text)} is of two kinds.", f"Write it as in {quoted(EXAMPLE.good)}.")
        return cls(Measure.VOLUME if volumes == {True} else Measure.MASS, count, each, text)
