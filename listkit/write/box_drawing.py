"""A box with its pieces, drawn from above and from the front, to scale: how one would lay it by hand.

One SVG of 400 pixels width in greys, so that it prints on anything and is read on a phone. Numbers stand in the pieces
and names where they have room; below, each is named with its sides, where it lies and how. What stays free is
hatched. A title and a description say the same to those who do not see it.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from itertools import pairwise
from textwrap import wrap
from typing import Final

from listkit.compute.box.fit import (
    HEIGHT,
    LENGTH,
    WIDTH,
    Laid,
    Verdict,
    axis_of,
    circle_seen,
    lies_at,
    true_round,
)
from listkit.compute.catalog import SetFacts, Variant
from listkit.listing.templates import Formats, Kind, compile_template
from listkit.model.item import Item
from listkit.model.packaging import GiftBox
from listkit.model.shop import Shop
from listkit.units.shown import Measures

# The two views of a laid box in pixels: shapes, what of them is hidden, and where a number can be read.
#
# Looking down, what lies higher is in front; looking from the front, what lies nearer. Pure figures, rounded to a
# tenth of a pixel where they become text.

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
    called: str
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
    mark_size: int = MARK_SIZE

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
    whole = _lines(block.called, rect, circle=circle)
    if named and not hidden and (lines := whole or _lines(block.item.name, rect, circle=circle)):
        top = middle_y - Decimal(_LEADING * len(lines)) / 2
        mark = (_word(middle_x, top + 3, block.mark),)
        name = tuple(_word(middle_x, top + 5 + _LEADING * at, line) for at, line in enumerate(lines, 1))
    elif (spot := _clear_spot(rect, before)) is not None:
        mark = (_word(spot[0], spot[1] + Decimal(frame.mark_size) * 5 / 14, block.mark),)
    return Shape(
        x=pixels(rect.x),
        y=pixels(rect.y),
        width=pixels(rect.width),
        height=pixels(rect.height),
        middle_x=pixels(middle_x),
        middle_y=pixels(middle_y),
        ground=_GROUNDS[true_round(block.item)],
        radius=pixels(rect.width / 2) if circle else "",
        axis=_axis(block, frame, rect, (*mark, *name)),
        behind=hidden,
        mark=mark,
        name=name,
    )


def _axis(block: Block, frame: Frame, rect: Rect, name: tuple[Word, ...]) -> str:
    """Return the centre line of a cylinder seen from its side, as a path that leaves room for its number and name."""
    axis = axis_of(block.item, block.laid)
    if axis is None or axis == frame.along:
        return ""
    (x, y), over = rect.middle, Decimal(4)
    longest = max((len(word.text) for word in name), default=0)
    if axis == LENGTH:
        gap = min(rect.width / 2, (longest * NAME_SIZE * LETTER + frame.mark_size) / 2 if name else Decimal(0))
        first, last = rect.x - over, rect.x + rect.width + over
        return f"M{pixels(first)} {pixels(y)}H{pixels(x - gap)}M{pixels(x + gap)} {pixels(y)}H{pixels(last)}"
    assert axis in (WIDTH, HEIGHT)
    gap = min(
        rect.height / 2, Decimal(frame.mark_size + _LEADING * (len(name) - 1)) * Decimal("0.7") if name else Decimal(0)
    )
    first, last = rect.y - over, rect.y + rect.height + over
    return f"M{pixels(x)} {pixels(first)}V{pixels(y - gap)}M{pixels(x)} {pixels(y + gap)}V{pixels(last)}"


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


def _overlap(first: Rect, second: Rect) -> bool:
    return (
        first.x < second.x + second.width
        and second.x < first.x + first.width
        and first.y < second.y + second.height
        and second.y < first.y + first.height
    )


def _word(x: Decimal, y: Decimal, text: str) -> Word:
    return Word(pixels(x), pixels(y), text)


def pixels(exact: Decimal) -> str:
    """Return pixels as text, to a tenth."""
    return f"{exact.quantize(Decimal('0.1'), ROUND_HALF_UP):f}"


TEMPLATE: Final = "drawing/box.svg"
WIDE: Final = 400  # pixels
_LEFT, _RIGHT, _TOP, _INSIDE, _TALLEST = 16, 56, 66, 328, 420
_TOP_ON_CARD, _MARK_ON_CARD = 20, 30
_LEGEND, _LINE = 12, 17
_INDENT: Final = 20
_LETTER: Final = Decimal("0.52")  # of the font size: how wide a letter is on average in a line of words
# What XML 1.0 (W3C, fifth edition, 2.2) does not take as a character.
_NOT_XML: Final = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclass(frozen=True, slots=True)
class View:
    """The inside of the box from one side, with how long its sides are."""

    caption: Word
    x: str
    y: str
    width: str
    height: str
    along: Word
    along_y: str
    end_x: str
    up: Word
    up_x: str
    end_y: str
    shapes: tuple[Shape, ...]


@dataclass(frozen=True, slots=True)
class Page:
    """The whole drawing."""

    title: str
    heading: tuple[Word, ...]
    described: str
    height: int
    mark_size: int
    views: tuple[View, ...]
    marks: tuple[Word, ...]
    legend: tuple[Word, ...]


@dataclass(frozen=True, slots=True)
class OnCard:
    """How a drawing is made for a packing card, which lists the pieces itself: large numbers alone, read from afar.

    `marks` are the numbers of the pieces on the card, `above` and `front` the captions in its language.
    """

    marks: tuple[str, ...]
    above: str
    front: str


def drawing(facts: SetFacts, variant: Variant, verdict: Verdict, shop: Shop, *, on_card: OnCard | None = None) -> str:
    """Return the SVG of a variant in its box; `verdict` is that of its pieces there, and they fit.

    Raises:
        ValueError: the set has no box, or the pieces do not fit.
        TemplateFault: the owner's own template asks for what is not there.
    """
    if variant.box is None or not verdict.fits:
        raise ValueError("only what lies in a box can be drawn")
    formats = Formats("en", variant.prices.price.currency)
    made = compile_template(shop.templates[TEMPLATE], kind=Kind.HTML, formats=formats, name=TEMPLATE)
    title = _xml(f"{facts.name} in box {variant.box.code}")
    return made.render({"page": _page(title, variant, variant.box, verdict, shop, on_card=on_card)})


def _page(title: str, variant: Variant, box: GiftBox, verdict: Verdict, shop: Shop, *, on_card: OnCard | None) -> Page:
    items, measures = [piece.item for piece in variant.pieces for _ in range(piece.quantity)], shop.settings.measures
    marks_of = on_card.marks if on_card else tuple(str(number) for number in range(1, len(items) + 1))
    blocks = tuple(
        Block(mark, _xml(shop.naming.of(item)), item.model_copy(update={"name": _xml(item.name)}), laid)
        for mark, item, laid in zip(marks_of, items, verdict.layout, strict=True)
    )
    length, width, height = box.inside.sides
    scale = min(_INSIDE / length, _TALLEST / width, _TALLEST / height)
    top, size = (_TOP_ON_CARD, _MARK_ON_CARD) if on_card else (_TOP, MARK_SIZE)
    above = Frame(HEIGHT, Rect(Decimal(_LEFT), Decimal(top), length * scale, width * scale), scale, size)
    below = top + above.rect.height + 62
    front = Frame(WIDTH, Rect(Decimal(_LEFT), below, length * scale, height * scale), scale, size)
    captions = (on_card.above, on_card.front) if on_card else ("From above, the front below", "From the front")
    views = (
        _view(captions[0], above, shapes(blocks, above, named=not on_card), _sized(length, width, measures)),
        _view(captions[1], front, shapes(blocks, front, named=False), _sized(length, height, measures)),
    )
    start = int(below + front.rect.height) + 50
    told = [(block.mark, _told(block, measures)) for block in blocks] + [("", _free(verdict, measures))]
    marks, legend, end = _listed(told, start)
    inside = _held(measures.sides(box.inside.sides, rounded=True), measures)
    described = f"{variant.code}. Inside {inside}. " + " ".join(f"{mark} {text}." for mark, text in told)
    if on_card:
        return Page(title, (), described, start - 20, size, views=views, marks=(), legend=())
    heading = (Word(str(_LEFT), "22", title), Word(str(_LEFT), "40", _under(variant)))
    return Page(title, heading, described, end, size, views=views, marks=marks, legend=legend)


def _under(variant: Variant) -> str:
    chosen = ", ".join(choice.says for choice in variant.choices)
    text = _xml(f"{variant.code} · {chosen}" if chosen else variant.code)
    most = int((WIDE - 2 * _LEFT) / (_LEGEND * _LETTER))
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def _sized(along: Decimal, up: Decimal, measures: Measures) -> tuple[str, str, str]:
    """Return how long and how high a view is, and the unit."""
    return measures.number(along, rounded=True), measures.number(up, rounded=True), measures.length_sign


def _view(caption: str, frame: Frame, drawn: tuple[Shape, ...], sized: tuple[str, str, str]) -> View:
    rect, (along, up, sign) = frame.rect, sized
    right, foot = rect.x + rect.width, rect.y + rect.height
    (middle_x, middle_y), line = rect.middle, foot + 12
    return View(
        caption=Word(pixels(rect.x), pixels(rect.y - 7), caption),
        x=pixels(rect.x),
        y=pixels(rect.y),
        width=pixels(rect.width),
        height=pixels(rect.height),
        along=Word(pixels(middle_x), pixels(line + 14), f"{along} {sign}"),
        along_y=pixels(line),
        end_x=pixels(right),
        up=Word(pixels(right + 28), pixels(middle_y), f"{up} {sign}"),
        up_x=pixels(right + 12),
        end_y=pixels(foot),
        shapes=drawn,
    )


def _told(block: Block, measures: Measures) -> str:
    """Return what a piece is and where it lies, in whole millimetres: no hand lays it more exactly."""
    name, laid = block.called, block.laid
    if not measures.customary:
        corner = {axis: getattr(laid, axis).quantize(Decimal(1), ROUND_HALF_UP) for axis in ("x", "y", "z")}
        laid = replace(laid, **corner)
    return f"{name}: {_held(lies_at(block.item, laid, measures), measures)}"


def _free(verdict: Verdict, measures: Measures) -> str:
    length, width, height = (_held(measures.length(side, rounded=True), measures) for side in verdict.spare)
    of = "of" if measures.customary else "in"  # "2 in in length" reads badly
    filled = (verdict.fill_share * 100).quantize(Decimal(1), ROUND_HALF_UP)
    pushed = f"pushed together the pieces leave {length} {of} length, {width} {of} width, {height} {of} height"
    return f"Hatched is free for fill: {pushed}; the box is {filled} % filled"


def _listed(legend: list[tuple[str, str]], start: int) -> tuple[tuple[Word, ...], tuple[Word, ...], int]:
    """Return the numbers and the lines of the legend, and where it ends."""
    marks, lines, y = [], [], start
    for mark, text in legend:
        indent = _INDENT if mark else 0
        letters = int((WIDE - 2 * _LEFT - indent) / (_LEGEND * _LETTER))
        marks += [Word(str(_LEFT), str(y), mark)] if mark else []
        for line in wrap(text, letters):
            lines.append(Word(str(_LEFT + indent), str(y), line))
            y += _LINE
        y += 4
    return tuple(marks), tuple(lines), y


def _held(text: str, measures: Measures) -> str:
    """Return text in which a unit stays with its number at the end of a line."""
    return re.sub(rf"(?<=\d) (?={measures.length_sign}\b)", "\u00a0", text)


def _xml(text: str) -> str:
    return _NOT_XML.sub("\ufffd", text)
