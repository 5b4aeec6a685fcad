"""A box with its pieces, drawn from above and from the side, to scale: how one would lay it by hand.

One SVG of 400 pixels width, in greys, so that it prints on anything; numbers stand in the pieces, their names and
millimetres below. A title and a description say the same to those who do not see it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from listkit.compute.box_pieces import Laid, Verdict
from listkit.compute.catalog import SetFacts, Variant
from listkit.listing.templates import Formats, Kind, compile_template
from listkit.model.fields import Shape

TEMPLATE: Final = "drawing/box.svg"
_LEFT, _WIDE, _LINE = 20, 360, 18  # pixels
_TONES: Final = ("#d9d9d9", "#ececec", "#c4c4c4", "#e2e2e2", "#cfcfcf", "#f7f7f7")


@dataclass(frozen=True, slots=True)
class Drawn:
    """One piece in one view, in pixels as text."""

    mark: str
    round: bool
    tone: str
    x: str
    y: str
    width: str
    height: str
    middle_x: str
    middle_y: str
    text_y: str
    half_width: str
    half_height: str


@dataclass(frozen=True, slots=True)
class View:
    """The inside of the box from one side."""

    caption: str
    caption_y: int
    y: int
    width: str
    height: str
    shapes: tuple[Drawn, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """A line of words below the drawing."""

    y: int
    text: str


@dataclass(frozen=True, slots=True)
class Page:
    """The whole drawing."""

    title: str
    described: str
    height: int
    views: tuple[View, ...]
    legend: tuple[Line, ...]


def drawing(facts: SetFacts, one: Variant, verdict: Verdict, template: str) -> str:
    """Return the SVG of a variant in its box; `verdict` is that of its pieces there, and they fit."""
    page = _page(facts, one, verdict)
    made = compile_template(template, kind=Kind.HTML, formats=Formats("en", one.price.currency), name=TEMPLATE)
    return made.render({"page": page})


def _page(facts: SetFacts, one: Variant, verdict: Verdict) -> Page:
    if facts.box is None:
        raise ValueError("a set without box has no drawing")
    length, width, height = facts.box.inside.sides
    scale = _WIDE / length
    forms = [piece.item for piece in one.pieces for _ in range(piece.quantity)]
    round_ = [item.shape is not Shape.BOX and _stands(laid) for item, laid in zip(forms, verdict.layout, strict=True)]
    above = _view(f"From above, {_mm(length)} × {_mm(width)} mm", 44, (length, width), scale)
    above_shapes = tuple(
        _shape(at, laid.x, width - laid.y - laid.width, (laid.length, laid.width), (scale, above.y, is_round))
        for at, (laid, is_round) in enumerate(zip(verdict.layout, round_, strict=True))
    )
    below = above.y + round(width * scale) + 28
    side = _view(f"From the front, {_mm(height)} mm high", below, (length, height), scale)
    side_shapes = tuple(
        _shape(at, laid.x, height - laid.z - laid.height, (laid.length, laid.height), (scale, side.y, False))
        for at, laid in sorted(enumerate(verdict.layout), key=lambda pair: -pair[1].y)
    )
    words = [*_legend(one, verdict), _spare(verdict)]
    start = side.y + round(height * scale) + 24
    legend = tuple(Line(start + at * _LINE, text) for at, text in enumerate(words))
    views = (_with(above, above_shapes), _with(side, side_shapes))
    title = f"{facts.name} in box {facts.box.code}"
    return Page(title, f"{title}: {'; '.join(words)}", start + len(words) * _LINE, views, legend)


def _stands(laid: Laid) -> bool:
    return laid.length == laid.width


def _view(caption: str, y: int, sides: tuple[Decimal, Decimal], scale: Decimal) -> View:
    return View(caption, y, y + 8, _pixels(sides[0] * scale), _pixels(sides[1] * scale), ())


def _with(view: View, shapes: tuple[Drawn, ...]) -> View:
    return View(view.caption, view.caption_y, view.y, view.width, view.height, shapes)


def _shape(at: int, x: Decimal, y: Decimal, sides: tuple[Decimal, Decimal], how: tuple[Decimal, int, bool]) -> Drawn:
    scale, top, is_round = how
    left, upper = _LEFT + x * scale, top + y * scale
    wide, high = sides[0] * scale, sides[1] * scale
    return Drawn(
        mark=str(at + 1),
        round=is_round,
        tone=_TONES[at % len(_TONES)],
        x=_pixels(left),
        y=_pixels(upper),
        width=_pixels(wide),
        height=_pixels(high),
        middle_x=_pixels(left + wide / 2),
        middle_y=_pixels(upper + high / 2),
        text_y=_pixels(upper + high / 2 + 4),
        half_width=_pixels(wide / 2),
        half_height=_pixels(high / 2),
    )


def _legend(one: Variant, verdict: Verdict) -> Iterator[str]:
    names = [f"{piece.item.name} {piece.item.form}".strip() for piece in one.pieces for _ in range(piece.quantity)]
    for at, (name, laid) in enumerate(zip(names, verdict.layout, strict=True)):
        size = " × ".join(_mm(side) for side in (laid.length, laid.width, laid.height))
        yield f"{at + 1}  {name}, {size} mm"


def _spare(verdict: Verdict) -> str:
    spare = " × ".join(_mm(side) for side in verdict.spare)
    filled = (verdict.fill_share * 100).quantize(Decimal(1), ROUND_HALF_UP)
    return f"{spare} mm to spare; {filled} % filled"


def _mm(side: Decimal) -> str:
    return f"{side.quantize(Decimal('0.1'), ROUND_HALF_UP).normalize():f}"


def _pixels(exact: Decimal) -> str:
    return f"{exact.quantize(Decimal('0.1'), ROUND_HALF_UP)}"
