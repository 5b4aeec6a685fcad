"""A box with its pieces, drawn from above and from the front, to scale: how one would lay it by hand.

One SVG of 400 pixels width in greys, so that it prints on anything and is read on a phone. Numbers stand in the pieces
and names where they have room; below, each is named with its millimetres, where it lies and how. What stays free is
hatched. A title and a description say the same to those who do not see it.
"""

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from textwrap import wrap
from typing import Final

from listkit.compute.box_pieces import Verdict
from listkit.compute.box_pose import HEIGHT, WIDTH, lies_at, mm_text
from listkit.compute.catalog import SetFacts, Variant
from listkit.compute.naming import full_name
from listkit.listing.templates import Formats, Kind, compile_template
from listkit.model.packaging import GiftBox
from listkit.write.box_views import Block, Frame, Rect, Shape, Word, pixels, shapes

TEMPLATE: Final = "drawing/box.svg"
WIDE: Final = 400  # pixels
_LEFT, _RIGHT, _TOP, _INSIDE, _TALLEST = 16, 56, 66, 328, 420
_LEGEND, _LINE = 12, 17
_INDENT: Final = 20
_SHORT: Final = 3  # digits that have room beside a view, with their unit
_MM: Final = "\u00a0mm"  # stays with its number
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
    up: tuple[Word, ...]
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
    views: tuple[View, ...]
    marks: tuple[Word, ...]
    legend: tuple[Word, ...]


def drawing(facts: SetFacts, one: Variant, verdict: Verdict, template: str) -> str:
    """Return the SVG of a variant in its box; `verdict` is that of its pieces there, and they fit.

    Raises:
        ValueError: the set has no box, or the pieces do not fit.
        TemplateFault: the owner's own template asks for what is not there.
    """
    if facts.box is None or not verdict.fits:
        raise ValueError("only what lies in a box can be drawn")
    made = compile_template(template, kind=Kind.HTML, formats=Formats("en", one.price.currency), name=TEMPLATE)
    return made.render({"page": _page(facts, facts.box, one, verdict)})


def _page(facts: SetFacts, box: GiftBox, one: Variant, verdict: Verdict) -> Page:
    items = [piece.item for piece in one.pieces for _ in range(piece.quantity)]
    blocks = tuple(
        Block(str(number), item.model_copy(update={"name": _xml(item.name)}), laid)
        for number, (item, laid) in enumerate(zip(items, verdict.layout, strict=True), 1)
    )
    length, width, height = box.inside.sides
    scale = min(_INSIDE / length, _TALLEST / width, _TALLEST / height)
    above = Frame(HEIGHT, Rect(Decimal(_LEFT), Decimal(_TOP), length * scale, width * scale), scale)
    below = _TOP + above.rect.height + 62
    front = Frame(WIDTH, Rect(Decimal(_LEFT), below, length * scale, height * scale), scale)
    views = (
        _view("From above, the front below", above, (length, width), shapes(blocks, above, named=True)),
        _view("From the front", front, (length, height), shapes(blocks, front, named=False)),
    )
    start = int(below + front.rect.height) + 50
    told = [(block.mark, _told(block)) for block in blocks] + [("", _free(verdict))]
    marks, legend, end = _listed(told, start)
    title = _xml(f"{facts.name} in box {box.code}")
    described = f"{one.code}. Inside {_sides(box.inside.sides)}. " + " ".join(f"{mark} {text}." for mark, text in told)
    heading = (Word(str(_LEFT), "22", title), Word(str(_LEFT), "40", _under(one)))
    return Page(title, heading, described, end, views, marks, legend)


def _under(one: Variant) -> str:
    chosen = ", ".join(choice.says for choice in one.choices)
    text = _xml(f"{one.code} · {chosen}" if chosen else one.code)
    most = int((WIDE - 2 * _LEFT) / (_LEGEND * _LETTER))
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def _view(caption: str, frame: Frame, sides: tuple[Decimal, Decimal], drawn: tuple[Shape, ...]) -> View:
    rect = frame.rect
    right, foot = rect.x + rect.width, rect.y + rect.height
    (middle_x, middle_y), line = rect.middle, foot + 12
    return View(
        caption=Word(pixels(rect.x), pixels(rect.y - 7), caption),
        x=pixels(rect.x),
        y=pixels(rect.y),
        width=pixels(rect.width),
        height=pixels(rect.height),
        along=Word(pixels(middle_x), pixels(line + 4), f"{mm_text(sides[0])} mm"),
        along_y=pixels(line),
        end_x=pixels(right),
        up=_beside(right + 32, middle_y + 4, mm_text(sides[1])),
        up_x=pixels(right + 12),
        end_y=pixels(foot),
        shapes=drawn,
    )


def _beside(x: Decimal, y: Decimal, side: str) -> tuple[Word, ...]:
    """Return how high a view is, on two lines where one would run off the paper: "228.6 mm"."""
    if len(side) <= _SHORT:
        return (Word(pixels(x), pixels(y), f"{side} mm"),)
    half = Decimal(_LINE) / 2 - 2
    return Word(pixels(x), pixels(y - half), side), Word(pixels(x), pixels(y + half), "mm")


def _told(block: Block) -> str:
    name = _xml(full_name(block.item.name, block.item.form))
    return f"{name}: {lies_at(block.item, block.laid).replace(' mm', _MM)}"


def _free(verdict: Verdict) -> str:
    length, width, height = (mm_text(side) for side in verdict.spare)
    filled = (verdict.fill_share * 100).quantize(Decimal(1), ROUND_HALF_UP)
    pushed = f"pushed together the pieces leave {length}{_MM} in length, {width}{_MM} in width, {height}{_MM} in height"
    return f"Hatched is free for fill: {pushed}; the box is {filled} % filled"


def _listed(told: list[tuple[str, str]], start: int) -> tuple[tuple[Word, ...], tuple[Word, ...], int]:
    """Return the numbers and the lines of the legend, and where it ends."""
    marks, lines, y = [], [], start
    for mark, text in told:
        indent = _INDENT if mark else 0
        letters = int((WIDE - 2 * _LEFT - indent) / (_LEGEND * _LETTER))
        marks += [Word(str(_LEFT), str(y), mark)] if mark else []
        for line in wrap(text, letters):
            lines.append(Word(str(_LEFT + indent), str(y), line))
            y += _LINE
        y += 4
    return tuple(marks), tuple(lines), y


def _sides(sides: tuple[Decimal, ...]) -> str:
    return f"{' × '.join(mm_text(side) for side in sides)}{_MM}"


def _xml(text: str) -> str:
    return _NOT_XML.sub("\ufffd", text)
