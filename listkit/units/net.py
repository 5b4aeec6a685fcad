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
    MARKS,
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
_AMOUNTS: Final[Units] = {**WEIGHT_UNITS, **VOLUME_UNITS}
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


def _is_size(text: str) -> bool:
    """Whether one of two amounts has sides, or says in which order they are: "118 x 80 mm", "HxWxD"."""
    return bool(re.search(r"[x×X]", text)) and not _COUNT.match(text)


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

        Of "3.4 fl oz / 100 ml" the metric amount is read, of "4 x 25 g (3.5 oz)" the packs. The sign
        ℮ is passed over: the law says who may set it.
        """
        text = _AROUND.sub("", in_bounds(" ".join(text.split()), EXAMPLE))
        if both := in_both(joined(text)):
            text = _of_both(both, text)
        text = _spaced(" ".join(text.split()))
        if pieces := _PIECES.fullmatch(text):
            return cls(Measure.COUNT, int(pieces[1]), Decimal(1), text)
        plain = joined(text)
        count, rest = 1, plain
        if match := _COUNT.match(plain):
            count, rest = int(match[1]), plain[match.end() :]
        elif re.search(r"[x×X]", plain):
            size = plain_size(plain)
            words = [word for word in re.findall(UNIT_WORD, size) if word not in ("x", "X")]
            if not words and not MARKS.keys() & set(size):
                raise FieldError(f"{quoted(text)} has no unit.", "Write it behind the last number: 4 x 25 g.")
            if any(known_unit(word, _AMOUNTS) for word in words[-1:]):
                raise FieldError(
                    f"{quoted(text)} is not {EXAMPLE.kind}.", "Write one count and what one holds: 4 x 25 g."
                )
            sides = parse_sides(size, LENGTH_UNITS, EXAMPLE)
            if min(sides) <= 0 or len(sides) > _MOST_SIDES:
                what = "has a side of zero" if min(sides) <= 0 else f"has {len(sides)} sides"
                raise FieldError(f"{quoted(text)} {what}.", 'Write it as in "100 x 140 mm".')
            return cls(Measure.SIZE, 1, Decimal(0), text)
        return cls._quantity(rest, count, text)

    @classmethod
    def _quantity(cls, rest: str, count: int, text: str) -> "NetContent":
        each = parse_quantity(rest, _AMOUNTS, EXAMPLE)
        if each <= 0 or count <= 0:
            raise FieldError(f"{quoted(text)} is nothing at all.", f"Write it as in {quoted(EXAMPLE.good)}.")
        volumes = {known_unit(word, VOLUME_UNITS) for word in re.findall(UNIT_WORD, rest)}
        if len(volumes) > 1:
            raise FieldError(f"{quoted(text)} is of two kinds.", f"Write it as in {quoted(EXAMPLE.good)}.")
        return cls(Measure.VOLUME if volumes == {True} else Measure.MASS, count, each, text)


def _of_both(both: tuple[str, str], text: str) -> str:
    """Return the metric words of a content in two measures; of a size with what is said of it behind, all of them."""
    if not any(map(_is_size, both)):
        return _metric_of_packs(both)
    if all(re.search(r"\d", part) for part in both):
        raise FieldError(f"{quoted(text)} is a size in two measures.", 'Write one, as in "100 x 140 mm".')
    return text


def _metric_of_packs(both: tuple[str, str]) -> str:
    """Return the metric words of one content in two measures, of packs with their count.

    Beside "4 x 25 g" the other amount is that of all of them or of one.

    >>> _metric_of_packs(("4 x 25 g", "3.5 oz")), _metric_of_packs(("0.88 oz", "4 x 25 g"))
    ('4 x 25 g', '4 x 25 g')
    """
    packs = [_COUNT.match(text) for text in both]
    first, second = (int(pack[1]) if pack else 1 for pack in packs)
    left, right = (text[pack.end() :] if pack else text for text, pack in zip(both, packs, strict=True))
    one_is_bare = min(first, second) == 1 < max(first, second)
    of_one = False
    try:
        metric, _ = metric_of((left, right), _AMOUNTS, EXAMPLE, counts=(first, second))
    except FieldError as fault:
        unlike = FieldError(fault.message.replace(left, both[0]).replace(right, both[1]), fault.hint)
        if not one_is_bare:
            raise unlike from None
        try:
            metric, _ = metric_of((left, right), _AMOUNTS, EXAMPLE)
        except FieldError:
            raise unlike from None
        of_one = True
    if max(first, second) == 1:
        return metric
    if one_is_bare and not of_one and metric == (left, right)[first > 1]:
        what = f"{quoted(both[0])} and {quoted(both[1])} do not say how much is in one"
        raise FieldError(f"{what}, in grams or millilitres.", "Write what one holds: 4 x 25 g.")
    return f"{max(first, second)} x {metric}"
