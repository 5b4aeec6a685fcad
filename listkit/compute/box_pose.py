"""How a piece lies in its box: which way a round one points, and the words for it.

A cylinder's height is its axis; where its height equals its diameter it is taken to stand.
"""

from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from listkit.compute.box_pieces import Laid
from listkit.model.fields import Shape
from listkit.model.item import Item

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
