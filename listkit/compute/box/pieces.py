"""What goes into a box and what comes of it: pieces and the inside in millimetres, the verdict, whole units within.

The searches count in whole units, so that nothing is lost: one unit is a tenth of a millimetre, or finer where a
side is given finer.
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from itertools import permutations
from typing import Final, Literal

from listkit.model.fields import Shape
from listkit.model.item import Item

# What the box searches speak of, in whole units: blocks that may be turned, and the spots where they lie.

Size = tuple[int, ...]  # one whole number an axis: length, width, and height where there are three


@dataclass(frozen=True, slots=True)
class Block:
    """What has to be placed: the sizes it may take, the preferred first, and its rules.

    `margin` keeps it off both walls of each axis. On the last of three axes no `heavy` block may lie above a
    `fragile` one whose footprint it overlaps.
    """

    poses: tuple[Size, ...]
    margin: Size = ()
    fragile: bool = False
    heavy: bool = False


@dataclass(frozen=True, slots=True)
class Spot:
    """Where one block lies: its corner nearest the origin and the size it takes there."""

    corner: Size
    size: Size


@dataclass(frozen=True, slots=True)
class Outcome:
    """The spots in block order, or None. Without spots, `sure` says that everything was tried."""

    spots: tuple[Spot, ...] | None
    sure: bool


PieceShape = Literal["box", "cylinder", "ball"]
Sides = tuple[Decimal, Decimal, Decimal]  # length, width, height in mm
Proof = Literal["found", "none as boxes", "not found"]


@dataclass(frozen=True, slots=True)
class BoxPiece:
    """One piece to lay: sides in mm as it stands, weight in g, price in the shop's currency.

    A cylinder stands on its round side, its height is the axis. What is `upright` keeps its height vertical.
    """

    code: str
    length: Decimal
    width: Decimal
    height: Decimal
    shape: PieceShape = "box"
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
    shape: PieceShape
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


# How a piece lies in its box: which way a round one points, and the words for it.
#
# A cylinder's height is its axis; where its height equals its diameter it is taken to stand.

LENGTH, WIDTH, HEIGHT = 0, 1, 2
_FLAT, _EDGE, _END = "flat", "on edge", "on end"
_POINTS: Final = {LENGTH: "lying lengthwise", WIDTH: "lying across", HEIGHT: "standing"}


def true_round(item: Item) -> bool:
    """Whether a round piece has the sides of one: a cylinder's length is its width, a ball's sides are all alike."""
    length, width, height = item.size.sides
    if item.shape is Shape.CYLINDER:
        return length == width
    return item.shape is Shape.BALL and length == width == height


def axis_of(item: Item, laid: Laid) -> int | None:
    """Return which way a cylinder's axis points: LENGTH, WIDTH or HEIGHT of the box; None for anything else."""
    if item.shape is not Shape.CYLINDER or not true_round(item):
        return None
    across, _, along = item.size.sides
    taken = (laid.length, laid.width, laid.height)
    for axis in (HEIGHT, LENGTH, WIDTH):
        if taken[axis] == along and all(side == across for at, side in enumerate(taken) if at != axis):
            return axis
    return None


def circle_seen(item: Item, laid: Laid, axis: int) -> bool:
    """Whether it is a circle to one who looks along `axis`."""
    ball = item.shape is Shape.BALL and true_round(item)
    return ball or axis_of(item, laid) == axis


def pose(item: Item, laid: Laid) -> str:
    """Return how it lies, in a word or two: "flat", "on edge", "on end", "standing", "lying across"."""
    if item.shape is Shape.BALL:
        return "as it rolls"
    if item.upright:
        return "standing"
    if (axis := axis_of(item, laid)) is not None:
        return _FLAT if axis == HEIGHT and laid.height < laid.length else _POINTS[axis]
    lowest, _, highest = sorted(item.size.sides)
    if laid.height == lowest:
        return _FLAT
    return _END if laid.height == highest else _EDGE


def lies_at(item: Item, laid: Laid) -> str:
    """Return where and how a piece lies: "86 × 28 × 58 mm, on edge; 38 mm from the left, 7.8 mm from the front"."""
    sides = " × ".join(mm_text(side) for side in (laid.length, laid.width, laid.height))
    above = f", {mm_text(laid.z)} mm up" if laid.z else ""
    left, front = mm_text(laid.x), mm_text(laid.y)
    return f"{sides} mm, {pose(item, laid)}; {left} mm from the left, {front} mm from the front{above}"


def mm_text(side: Decimal) -> str:
    """Return millimetres to a tenth at most, half up: "28", "11.3"."""
    return f"{side.quantize(Decimal('0.1'), ROUND_HALF_UP).normalize():f}"
