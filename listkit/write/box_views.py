"""The two views of a laid box in pixels: shapes, what of them is hidden, and where a number can be read.

Looking down, what lies higher is in front; looking from the front, what lies nearer. Pure figures, rounded to a
tenth of a pixel where they become text.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from itertools import pairwise
from textwrap import wrap
from typing import Final

from listkit.compute.box_pieces import Laid
from listkit.compute.box_pose import HEIGHT, LENGTH, WIDTH, axis_of, circle_seen, true_round
from listkit.model.item import Item

LETTER: Final = Decimal("0.57")  # of the font size: how wide a letter is at most on average
NAME_SIZE, MARK_SIZE = 11, 14  # pixels
_LEADING: Final = 12
_READABLE: Final = Decimal(15)  # a number needs as much room each way
_GROUNDS: Final = {False: "#f6f6f6", True: "#e3e3e3"}  # what is round is a shade darker
_ROUND_ROOM: Final = Decimal("0.8")  # of a circle's width, for words in it


@dataclass(frozen=True, slots=True)
class Block:
    """A piece with where it lies."""

    mark: str
    item: Item
    laid: Laid


@dataclass(frozen=True, slots=True)
class Rect:
    """A rectangle in pixels."""

    x: Decimal
    y: Decimal
    width: Decimal
    height: Decimal

    @property
    def middle(self) -> tuple[Decimal, Decimal]:
        """Its centre."""
        return self.x + self.width / 2, self.y + self.height / 2

    def holds(self, x: Decimal, y: Decimal) -> bool:
        """Whether a point lies within."""
        return self.x < x < self.x + self.width and self.y < y < self.y + self.height


@dataclass(frozen=True, slots=True)
class Word:
    """A line of words, its middle or beginning at x, its foot at y."""

    x: str
    y: str
    text: str


@dataclass(frozen=True, slots=True)
class Shape:
    """One piece in one view, as text of pixels: a circle where `radius` is not "", else a rectangle.

    `axis` is the line along a lying cylinder, "" for others.
    """

    x: str
    y: str
    width: str
    height: str
    middle_x: str
    middle_y: str
    ground: str
    radius: str
    axis: str
    behind: bool
    mark: tuple[Word, ...]
    name: tuple[Word, ...]


@dataclass(frozen=True, slots=True)
class Frame:
    """The inside of the box in one view: what is looked along, its rectangle in pixels, pixels a millimetre."""

    along: int
    rect: Rect
    scale: Decimal

    def seen(self, laid: Laid) -> Rect:
        """Return a piece's rectangle; the front is below, and so is the bottom."""
        scale, rect = self.scale, self.rect
        up, high = (laid.y, laid.width) if self.along == HEIGHT else (laid.z, laid.height)
        top = rect.y + rect.height - (up + high) * scale
        return Rect(rect.x + laid.x * scale, top, laid.length * scale, high * scale)

    def depth(self, laid: Laid) -> Decimal:
        """Return how near it is to the one who looks; the nearest has most."""
        return laid.z + laid.height if self.along == HEIGHT else -laid.y


def shapes(blocks: tuple[Block, ...], frame: Frame, *, named: bool) -> tuple[Shape, ...]:
    """Return the pieces in one view, the farthest first; `named` puts names where they have room."""
    order = sorted(blocks, key=lambda block: frame.depth(block.laid))
    seen = [frame.seen(block.laid) for block in order]
    return tuple(_shape(block, frame, seen[at], tuple(seen[at + 1 :]), named=named) for at, block in enumerate(order))


def _shape(block: Block, frame: Frame, rect: Rect, before: tuple[Rect, ...], *, named: bool) -> Shape:
    middle_x, middle_y = rect.middle
    circle = circle_seen(block.item, block.laid, frame.along)
    hidden = any(_overlap(rect, other) for other in before)
    mark: tuple[Word, ...] = ()
    name: tuple[Word, ...] = ()
    if named and not hidden and (lines := _lines(block.item.name, rect, circle=circle)):
        top = middle_y - Decimal(_LEADING * len(lines)) / 2
        mark = (_word(middle_x, top + 3, block.mark),)
        name = tuple(_word(middle_x, top + 5 + _LEADING * at, line) for at, line in enumerate(lines, 1))
    elif (spot := _clear_spot(rect, before)) is not None:
        mark = (_word(spot[0], spot[1] + 5, block.mark),)
    return Shape(
        x=pixels(rect.x),
        y=pixels(rect.y),
        width=pixels(rect.width),
        height=pixels(rect.height),
        middle_x=pixels(middle_x),
        middle_y=pixels(middle_y),
        ground=_GROUNDS[true_round(block.item)],
        radius=pixels(rect.width / 2) if circle else "",
        axis=_axis(block, frame, rect),
        behind=hidden,
        mark=mark,
        name=name,
    )


def _axis(block: Block, frame: Frame, rect: Rect) -> str:
    """Return the centre line of a cylinder that is seen from its side, as a path."""
    axis = axis_of(block.item, block.laid)
    if axis is None or axis == frame.along:
        return ""
    (x, y), over = rect.middle, 4
    if axis == LENGTH:
        return f"M{pixels(rect.x - over)} {pixels(y)}H{pixels(rect.x + rect.width + over)}"
    assert axis in (WIDTH, HEIGHT)
    return f"M{pixels(x)} {pixels(rect.y - over)}V{pixels(rect.y + rect.height + over)}"


def _lines(name: str, rect: Rect, *, circle: bool) -> list[str]:
    """Return a name broken to go into a shape below its number, [] when it does not."""
    room = _ROUND_ROOM if circle else Decimal(1)
    letters = int((rect.width * room - 6) / (NAME_SIZE * LETTER))
    most = int((rect.height * room - 6 - MARK_SIZE) / _LEADING)
    if letters < 1 or most < 1:
        return []
    lines = wrap(name, letters, break_long_words=False)
    return lines if len(lines) <= most and max(map(len, lines), default=0) <= letters else []


def _clear_spot(rect: Rect, before: tuple[Rect, ...]) -> tuple[Decimal, Decimal] | None:
    """Return the middle of the largest part that nothing covers, None where no number could be read."""
    best: tuple[Decimal, Rect] | None = None
    for part in _parts(rect, before):
        if min(part.width, part.height) >= min(_READABLE, rect.width, rect.height) and not any(
            other.holds(*part.middle) for other in before
        ):
            area = part.width * part.height
            best = max(best, (area, part), key=lambda one: one[0]) if best else (area, part)
    return best[1].middle if best else None


def _parts(rect: Rect, before: tuple[Rect, ...]) -> Iterator[Rect]:
    """Yield the fields into which the edges of what is in front cut a rectangle."""
    if not any(_overlap(rect, other) for other in before):
        yield rect
        return
    across = _cuts(rect.x, rect.width, [(other.x, other.x + other.width) for other in before])
    down = _cuts(rect.y, rect.height, [(other.y, other.y + other.height) for other in before])
    for left, right in pairwise(across):
        for top, foot in pairwise(down):
            yield Rect(left, top, right - left, foot - top)


def _cuts(start: Decimal, length: Decimal, edges: list[tuple[Decimal, Decimal]]) -> list[Decimal]:
    end = start + length
    return sorted({start, end, *(edge for pair in edges for edge in pair if start < edge < end)})


def _overlap(one: Rect, other: Rect) -> bool:
    return (
        one.x < other.x + other.width
        and other.x < one.x + one.width
        and one.y < other.y + other.height
        and other.y < one.y + one.height
    )


def _word(x: Decimal, y: Decimal, text: str) -> Word:
    return Word(pixels(x), pixels(y), text)


def pixels(exact: Decimal) -> str:
    """Return pixels as text, to a tenth."""
    return f"{exact.quantize(Decimal('0.1'), ROUND_HALF_UP):f}"
