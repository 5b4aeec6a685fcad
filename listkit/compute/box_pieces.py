"""What goes into a box and what comes of it: pieces and the inside in millimetres, the verdict, whole units within.

The searches count in whole units, so that nothing is lost: one unit is a tenth of a millimetre, or finer where a
side is given finer.
"""

from dataclasses import dataclass
from decimal import Decimal
from itertools import permutations
from typing import Literal

from listkit.compute.box_blocks import Size

Shape = Literal["box", "cylinder", "ball"]
Sides = tuple[Decimal, Decimal, Decimal]  # length, width, height in mm
Proof = Literal["found", "none as boxes", "not found"]


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece to lay: sides in mm as it stands, weight in g, price in the shop's currency.

    A cylinder stands on its round side, its height is the axis. What is `upright` keeps its height vertical.
    """

    code: str
    length: Decimal
    width: Decimal
    height: Decimal
    shape: Shape = "box"
    upright: bool = False
    fragile: bool = False
    weight: Decimal = Decimal(0)
    price: Decimal = Decimal(0)

    @property
    def sides(self) -> Sides:
        """Length, width and height as it stands."""
        return self.length, self.width, self.height

    @property
    def volume(self) -> Decimal:
        """Cubic millimetres of its bounding block."""
        return self.length * self.width * self.height


@dataclass(frozen=True, slots=True)
class Inside:
    """The inside of a box in mm; `clearance` is taken once from length, width and height."""

    length: Decimal
    width: Decimal
    height: Decimal
    clearance: Decimal = Decimal(0)

    @property
    def sides(self) -> Sides:
        """Length, width and height of the inside."""
        return self.length, self.width, self.height

    @property
    def volume(self) -> Decimal:
        """Cubic millimetres of the whole inside."""
        return self.length * self.width * self.height

    @property
    def free(self) -> Sides:
        """What the pieces may take: the sides less the clearance."""
        return self.length - self.clearance, self.width - self.clearance, self.height - self.clearance


@dataclass(frozen=True, slots=True)
class Laid:
    """Where a piece lies, in mm from the inside's left-front-bottom corner, and the sides it takes there."""

    code: str
    x: Decimal
    y: Decimal
    z: Decimal
    length: Decimal
    width: Decimal
    height: Decimal


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether the pieces fit, how that is known, and how to lay them (in the order of the pieces).

    `proof` is "found" with a layout; "none as boxes" when every way to lay the bounding boxes was tried, and a
    search with true circles found nothing either; "not found" when there are too many pieces, or too many ways to lay
    them, to try each.
    `fill_share` is the bounding volumes by the volume of the inside. `spare` is what length, width and height of
    the inside have over the pieces pushed together, in mm, clearance included; zero when they do not fit.
    """

    fits: bool
    proof: Proof
    layout: tuple[Laid, ...]
    fill_share: Decimal
    spare: Sides


@dataclass(frozen=True, slots=True, order=True)
class Solid:
    """A piece in whole units with nothing left but what decides how it may lie."""

    sides: tuple[int, int, int]
    shape: Shape
    upright: bool
    fragile: bool = False
    heavy: bool = False
    dearest: bool = False

    @property
    def round_standing(self) -> bool:
        """Whether it is a true circle seen from above while its height is vertical."""
        length, width, height = self.sides
        return length == width and (self.shape == "cylinder" or (self.shape == "ball" and height == width))

    @property
    def ball(self) -> bool:
        """Whether it is a true ball."""
        return self.shape == "ball" and self.round_standing


def poses(solid: Solid, tallest: int) -> tuple[Size, ...]:
    """Return every way it may lie, no higher than `tallest`: the flattest first, then as the sides were given."""
    length, width, height = solid.sides
    ways = [(length, width, height), (width, length, height)] if solid.upright else list(permutations(solid.sides))
    return tuple(sorted({way: None for way in ways if way[2] <= tallest}, key=lambda way: way[2]))


def decimals(*values: Decimal) -> int:
    """Return how many decimals hold all of `values` exactly, at least one."""
    return max(1, *(-int(value.as_tuple().exponent) for value in values))
