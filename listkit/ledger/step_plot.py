"""A small picture of prices over time: steps, one line a channel, as SVG 1.1 without script or style sheet.

Plain on purpose: it is read in a browser, in a letter, or printed in black and white; lines differ in
their dashes as well as in colour.
"""

import datetime
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Final
from xml.etree import ElementTree

from listkit.ledger.history import PricePoint

WIDTH, HEIGHT = 640, 280
LEFT, RIGHT, TOP, BOTTOM = 64, 150, 34, 40
_INKS: Final = ("#1f5673", "#a4441f", "#3f6f2a", "#6b3f87", "#7a5c1e", "#444444")
_DASHES: Final = ("", "7 3", "2 3", "9 3 2 3", "4 4", "12 4")
_FONT: Final = {"font-family": "sans-serif", "font-size": "11"}
_SPACE: Final = "http://www.w3.org/2000/svg"


def step_plot(title: str, history: Sequence[PricePoint], until: datetime.date) -> str:
    """Return the SVG document; prices run on to `until`, and a line breaks where a price was taken down."""
    priced = [point for point in history if point.price is not None]
    root = ElementTree.Element("svg", {"xmlns": _SPACE, "viewBox": f"0 0 {WIDTH} {HEIGHT}", "role": "img"})
    ElementTree.SubElement(root, "title").text = _printable(title)
    ElementTree.SubElement(root, "rect", {"width": "100%", "height": "100%", "fill": "#ffffff"})
    _text(root, (LEFT, 20), title)
    if priced:
        _draw(root, history, _Scale.of(priced, until))
    return ElementTree.tostring(root, encoding="unicode") + "\n"


class _Scale:
    """Turns days and prices into places on the picture."""

    def __init__(self, first: datetime.date, last: datetime.date, low: Decimal, high: Decimal) -> None:
        self.first, self.last, self.low, self.high = first, last, low, high

    @classmethod
    def of(cls, priced: Sequence[PricePoint], until: datetime.date) -> "_Scale":
        """Return the scale that holds all points; never without extent."""
        first = min(point.day for point in priced)
        last = max(until, first + datetime.timedelta(1), *(point.day for point in priced))
        amounts = [point.price for point in priced if point.price is not None]
        room = max((max(amounts) - min(amounts)) / 8, max(amounts) / 50, Decimal("0.01"))
        return cls(first, last, max(min(amounts) - room, Decimal(0)), max(amounts) + room)

    def x(self, day: datetime.date) -> float:
        """Return how far to the right a day stands."""
        share = (day - self.first).days / (self.last - self.first).days
        return round(LEFT + share * (WIDTH - LEFT - RIGHT), 1)

    def y(self, price: Decimal) -> float:
        """Return how far down a price stands."""
        share = float((price - self.low) / (self.high - self.low))
        return round(HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM), 1)


def _draw(root: ElementTree.Element, history: Sequence[PricePoint], scale: _Scale) -> None:
    _frame(root, history, scale)
    channels = tuple(dict.fromkeys(point.channel for point in history))
    for number, channel in enumerate(channels):
        ink, dash = _INKS[number % len(_INKS)], _DASHES[number % len(_DASHES)]
        own = [point for point in history if point.channel == channel]
        style = {"fill": "none", "stroke": ink, "stroke-width": "2", "stroke-dasharray": dash or "none"}
        for path in _steps(own, scale):
            ElementTree.SubElement(root, "path", {"d": path, **style})
        height = TOP + 12 + 18 * number
        key = f"M{WIDTH - RIGHT + 14},{height - 4}h26"
        ElementTree.SubElement(root, "path", {"d": key, **style})
        _text(root, (WIDTH - RIGHT + 46, height), channel)


def _steps(own: Sequence[PricePoint], scale: _Scale) -> Iterator[str]:
    """Yield a path for every stretch without a break."""
    path = ""
    for at, point in enumerate(own):
        if point.price is None:
            continue
        end = own[at + 1].day if at + 1 < len(own) else scale.last
        x, y = scale.x(point.day), scale.y(point.price)
        path += f"{'L' if path else 'M'}{x},{y}L{scale.x(end)},{y}"
        if at + 1 == len(own) or own[at + 1].price is None:
            yield path
            path = ""


def _frame(root: ElementTree.Element, history: Sequence[PricePoint], scale: _Scale) -> None:
    """Draw the two axes, the prices that occur and the days on which one was set."""
    floor = HEIGHT - BOTTOM
    axes = f"M{LEFT},{TOP}V{floor}H{WIDTH - RIGHT}"
    ElementTree.SubElement(root, "path", {"d": axes, "fill": "none", "stroke": "#888888"})
    prices = sorted({point.price for point in history if point.price is not None})
    for place, price in _apart(((scale.y(price), str(price)) for price in reversed(prices)), 13):
        _text(root, (LEFT - 6, place + 4), price, anchor="end")
    days = sorted({scale.first, scale.last, *(point.day for point in history)})
    for place, day in _apart(((scale.x(day), day.isoformat()) for day in days), 70):
        _text(root, (place, floor + 18), day, anchor="middle")


def _apart(labels: Iterator[tuple[float, str]], least: float) -> Iterator[tuple[float, str]]:
    """Yield the labels that stand far enough from the one before."""
    before: float | None = None
    for place, label in labels:
        if before is None or place - before >= least:
            yield place, label
            before = place


def _text(root: ElementTree.Element, place: tuple[float, float], words: str, *, anchor: str = "start") -> None:
    spot = {"x": str(place[0]), "y": str(place[1]), "text-anchor": anchor, "fill": "#222222"}
    ElementTree.SubElement(root, "text", {**spot, **_FONT}).text = _printable(words)


def _printable(words: str) -> str:
    """Return the words without what no XML document can hold."""
    return "".join(sign for sign in words if sign.isprintable())
