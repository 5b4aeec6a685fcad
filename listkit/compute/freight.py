"""What freight counts: volumetric and chargeable weight, girth, and the limits of a small packet.

Exact until the one rounding that practice asks for, always up, with exact multiples left as they are. Divisors,
steps and limits differ between carriers and change; they are settings here, and the owner checks them against
the rate card in force.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from typing import Final

from listkit.units.length import Length, Size
from listkit.units.weight import Weight

CENTIMETRE: Final = Length(Decimal(10))
SIDES: Final = {"as measured": "", "half up": ROUND_HALF_UP, "up": ROUND_CEILING}


@dataclass(frozen=True, slots=True)
class PacketLimits:
    """The largest small packet: sides together, the longest alone, what measuring may be off by, and the weight."""

    together: Length
    longest: Length
    tolerance: Length
    weight: Weight


# Universal Postal Union letter post, as national posts publish it: L + W + H ≤ 900 mm, longest ≤ 600 mm, ± 2 mm, 2 kg.
SMALL_PACKET: Final = PacketLimits(
    Length(Decimal(900)), Length(Decimal(600)), Length(Decimal(2)), Weight(Decimal(2000))
)


@dataclass(frozen=True, slots=True)
class Excess:
    """A limit passed: "sides together", "longest side" or "weight", by how many mm or g.

    `tolerated` when measuring alone may account for it.
    """

    limit: str
    over: Decimal
    tolerated: bool


def volumetric_weight(
    size: Size, divisor: Decimal, *, sides: str = "as measured", whole: Length = CENTIMETRE
) -> Weight:
    """Return the weight that freight makes of a volume: cm³ ÷ `divisor` in kg, unrounded.

    Args:
        size: outside of the carton.
        divisor: cubic centimetres a kilogram, above zero.
        sides: "as measured", or each side first rounded "half up" or "up" to a multiple of `whole`.
        whole: the unit that sides are rounded to; a centimetre, or an inch where inches are used.

    Raises:
        ValueError: a divisor not above zero, or another word for `sides`.
    """
    if divisor <= 0:
        raise ValueError(f"the divisor must be above zero, not {divisor}")
    if sides not in SIDES:
        raise ValueError(f"sides are taken {', '.join(SIDES)}, not {sides!r}")
    length, width, height = (_rounded(side, SIDES[sides], whole.mm) for side in size.sides)
    return Weight(length * width * height / divisor)  # mm³ to cm³ and kg to g are both a thousand


def chargeable_weight(actual: Weight, volumetric: Weight, step: Weight) -> Weight:
    """Return the greater of the two, up to the next whole `step`; exact multiples are not bumped."""
    return max(actual, volumetric).up_to(step)


def girth(size: Size) -> Length:
    """Return the way round across the longest side: twice the two shorter sides."""
    shortest, middle, _ = sorted(size.sides)
    return Length(2 * (shortest + middle))


def length_and_girth(size: Size) -> Length:
    """Return the longest side and the girth together, which parcel rates limit."""
    return Length(max(size.sides) + girth(size).mm)


def packet_excess(size: Size, weight: Weight, limits: PacketLimits = SMALL_PACKET) -> tuple[Excess, ...]:
    """Return every limit of a small packet that this one passes; none when it may go as one."""
    return tuple(_excess(size, weight, limits))


def _excess(size: Size, weight: Weight, limits: PacketLimits) -> Iterator[Excess]:
    together = sum(size.sides) - limits.together.mm
    longest = max(size.sides) - limits.longest.mm
    heavier = weight.grams - limits.weight.grams
    if together > 0:
        yield Excess("sides together", together, tolerated=together <= limits.tolerance.mm)
    if longest > 0:
        yield Excess("longest side", longest, tolerated=longest <= limits.tolerance.mm)
    if heavier > 0:
        yield Excess("weight", heavier, tolerated=False)


def _rounded(side: Decimal, rounding: str, whole: Decimal) -> Decimal:
    return (side / whole).to_integral_value(rounding) * whole if rounding else side
