"""Lengths and sizes, exact in millimetres."""

import re
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final

from listkit.problem import FieldError, quoted
from listkit.units.quantity import (
    MARKS,
    Example,
    Units,
    in_bounds,
    known_unit,
    meant,
    parse_quantity,
    sides_and_unit,
    with_fractions,
)
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


# What a side is called, in English, French, German, Spanish and Italian: length, width and height as a piece stands,
# and depth, which is the side that no other name has.
_SIDES: Final = {
    name: side
    for side, names in {
        "length": "l length long länge longueur long. largo lunghezza",
        "width": "w width wide b breite breit largeur larg ancho anch larghezza",
        "depth": "d depth deep t tiefe tief p profondeur prof fondo profundidad profondità",
        "height": "h height high tall höhe hoch hauteur haut alto altura altezza",
    }.items()
    for name in names.split()
}
_HIGH: Final = re.compile(
    rf"(?<![^\W\d_])(?:{'|'.join(name for name, side in _SIDES.items() if side == 'height')})(?![^\W\d_])[.:]?",
    re.IGNORECASE,
)
_TOKEN: Final = re.compile(
    rf"(?P<number>\d+\s+\d+\s*/\s*\d+|\d+\s*/\s*\d+|\d*\.?\d+)|(?P<word>[^\W\d_]+)|(?P<mark>[{re.escape(''.join(MARKS))}])"
)
_BETWEEN: Final = re.compile(r"[\s,;:.()×*]*")
_BY: Final = re.compile(r"(?<=[\w\s\"″”'′])\s*(?<![^\W\d_])(?:by|par|mal|per|por|[xх])(?![^\W\d_])\s*", re.IGNORECASE)
_LEGEND: Final = re.compile(r"(?<![^\W\d_])([lwhdbtp])[x×*]([lwhdbtp])[x×*]([lwhdbtp])(?![^\W\d_])", re.IGNORECASE)
_DECIMAL_COMMA: Final = re.compile(r"(?<=\d),(?=\d{1,2}(?!\d))")


def plain_size(text: str) -> str:
    """Return a size as sides between "x" and in the order length, width, height, where it is written otherwise.

    Sides may be called by names or letters, or by a legend before or behind them; a comma with a digit or two behind it
    is a decimal one, since thousands have three. Whatever else is written stays as it is.

    >>> plain_size("8,6 x 5,8 x 2,8"), plain_size("H 28 x W 86 x D 58 mm"), plain_size("28 x 58 x 86 (HxWxL)")
    ('8.6 x 5.8 x 2.8', '86 mm x 58 mm x 28 mm', '86 x 58 x 28')
    >>> plain_size("(HxWxD) 28 x 58 x 86 mm")
    '58 mm x 86 mm x 28 mm'
    >>> plain_size("86 by 58 by 28 mm"), plain_size("1,250 x 58 x 28 mm")
    ('86 x 58 x 28 mm', '1,250 x 58 x 28 mm')
    """
    if "," in text and not re.search(r"\.\d|,\d{3}", text):
        text = _DECIMAL_COMMA.sub(".", text)
    text = _BY.sub(" x ", with_fractions(text)).strip()
    return _in_order(text) or text


def _in_order(text: str) -> str:
    """Return sides that are called by names, in order and without the names; "" where there are none."""
    text = _LEGEND.sub(r"\1 \2 \3", text)
    numbers: list[str] = []
    units: dict[int, str] = {}
    names: list[tuple[int, str]] = []  # with how many numbers stand before it
    both = {"L", "l"} <= set(re.findall(r"[^\W\d_]+", text))  # in French length and width
    for token in _TOKEN.finditer(text if _BETWEEN.fullmatch(_TOKEN.sub("", text)) else ""):
        word = token["word"] or token["mark"] or ""
        if token["number"]:
            numbers.append(token["number"])
        elif known_unit(word, LENGTH_UNITS) and numbers:
            units[len(numbers) - 1] = word
        elif word.lower() in _SIDES:
            names.append((len(numbers), "width" if both and word == "l" else _SIDES[word.lower()]))
        elif word.lower() != "x":
            return ""
    sides, common = [name for _, name in names], next(iter(units.values()), "")
    mixed = len(units) < len(numbers) and len(set(units.values())) > 1
    in_turn = [number for number, _ in names] in ([0, 1, 2], [1, 2, 3], [0, 0, 0], [3, 3, 3])
    if len(numbers) != 3 or len(set(sides)) != 3 or mixed or not in_turn:
        return ""
    by_name = {name: f"{numbers[place]} {units.get(place, common)}".strip() for place, name in enumerate(sides)}
    return " x ".join(by_name[name] for name in ("length", "width", "depth", "height") if name in by_name)


@dataclass(frozen=True, slots=True, order=True)
class Length:
    """A length: Length(Decimal("3")) is 3 mm."""

    mm: Decimal

    @classmethod
    def parse(cls, text: str, *, unit: str = "") -> "Length":
        """Read "3 mm", "2 1/2 in"; a bare number only with the heading's `unit`."""
        return cls(parse_quantity(text, LENGTH_UNITS, EXAMPLE, unit=unit))


_USUAL: Final = re.compile(r"(N) x (N) x (N) ?([a-z]*)".replace("N", r"\d{1,9}(?:\.\d{1,9})?"), re.ASCII)
"""Three sides and their unit, as nearly all are written: read without looking for anything else."""


def _sides(text: str, unit: str) -> tuple[tuple[Decimal, ...], str]:
    """Return the sides that a text states in millimetres, and the word of their unit."""
    if (usual := _USUAL.fullmatch(text)) and (millimetres := LENGTH_UNITS.get(usual[4] or unit)) is not None:
        stated = (Decimal(side) * millimetres for side in usual.groups()[:3])
        return tuple(meant(side, text, SIZE_EXAMPLE) for side in stated), usual[4] or unit
    measures, is_round = without_round(in_bounds(text, SIZE_EXAMPLE))
    measures = plain_size(measures)
    if is_round and " x " in measures:
        across, _, high = measures.rpartition(" x ")
        measures = f"{across} x {_HIGH.sub('', high)}"
    sides, word = sides_and_unit(measures, LENGTH_UNITS, SIZE_EXAMPLE, unit=unit)
    return ((sides[0], *sides) if is_round and len(sides) == 2 else sides), word


@dataclass(frozen=True, slots=True)
class Size:
    """Length, width and height of the smallest upright block around a piece; `inches` when it was written in them."""

    length: Length
    width: Length
    height: Length
    inches: bool = field(default=False, compare=False, kw_only=True)

    @classmethod
    def parse(cls, text: str, *, unit: str = "") -> "Size":
        """Read "86 x 58 x 28 mm", "3in x 2 1/2in x 1in" or "H 28 x W 86 x D 58 mm": three sides, all above zero.

        Something round may be given by its diameter and its height: "round 2.75 in x 2.5 in", "dia 70 x 60 mm".
        """
        sides, word = _sides(text, unit)
        if len(sides) != 3:
            raise FieldError(
                f"{quoted(text.strip())} has {len(sides)} side{'s' * (len(sides) != 1)}, not three.",
                f"Write length, width and height, as in {quoted(SIZE_EXAMPLE.good)}.",
            )
        if min(sides) <= 0:
            raise FieldError(
                f"{quoted(text.strip())} has a side of zero.", f"Write it as in {quoted(SIZE_EXAMPLE.good)}."
            )
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
