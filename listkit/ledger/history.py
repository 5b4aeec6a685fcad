"""Every price that a variant had, where and when; the lowest prior price of a reduction; and a picture of both.

Only recalled, never certified: which days count, and how perishable or new goods or steps downwards are
treated, differs from country to country. Check the local rules before announcing a reduction.
"""

import datetime
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_DOWN, Decimal
from pathlib import Path
from typing import Final
from xml.etree import ElementTree

from listkit.ledger.changes import amount_of
from listkit.ledger.file import WAIT
from listkit.ledger.store import Record, facts_of, lines_of

PRIOR_DAYS: Final = 30  # Directive 98/6/EC, Art. 6a(2), as amended by Directive (EU) 2019/2161
RETAIL: Final = "retail price"
"""In place of a channel's key (which has no space): the price of an item, which no channel shows by itself."""
_SHARE_STEP: Final = Decimal("0.0001")


@dataclass(frozen=True, slots=True)
class PricePoint:
    """From `day` on the channel showed this price; None where it was taken down."""

    channel: str
    day: datetime.date
    price: Decimal | None
    at: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Reduction:
    """What may be announced: the lowest prior price, and the share by which the new one is lower, rounded down.

    `share` is 0 where no reduction may be announced; `reason` says why, or what was compared.
    """

    prior: Decimal | None
    share: Decimal
    reason: str


def price_history(path: Path, code: str, *, wait: float = WAIT) -> tuple[PricePoint, ...]:
    """Return every price recorded of a variant or line for shops, and of an item its retail price, oldest first.

    Raises:
        BlockedError: the ledger cannot be used.
    """
    rows = lines_of(path, code, "rows", wait=wait)
    shown = [(record, _first(line, ("price", "wholesalePrice"))) for record, line in rows]
    items = lines_of(path, code, "items", wait=wait)  # one for every channel that sells it in a set
    retail = [
        (replace(record, channel=RETAIL), _first(line, ("retail",))) for record, line in items if line is not None
    ]
    return (*_steps(shown), *_steps(retail))


def channel_prices(path: Path, channel: str, *, wait: float = WAIT) -> Mapping[str, tuple[PricePoint, ...]]:
    """Return every price that was recorded on a channel, by code, oldest first; {} without a ledger.

    Raises:
        BlockedError: the ledger cannot be used.
    """
    recorded: dict[str, list[tuple[Record, Decimal | None]]] = {}
    for record, code, price in facts_of(path, channel, "rows", "price", wait=wait):
        recorded.setdefault(code, []).append((record, None if price is None else amount_of(price)))
    return {code: _steps(prices) for code, prices in recorded.items()}


def _first(line: str | None, facts: tuple[str, ...]) -> Decimal | None:
    """Return the first of these facts that the line has, as an amount; a line for shops has no "price"."""
    known = json.loads(line) if line is not None else {}
    return next((amount_of(known[fact]) for fact in facts if fact in known), None)


def _steps(prices: Sequence[tuple[Record, Decimal | None]]) -> tuple[PricePoint, ...]:
    """Return a point for each record whose price differs from the one before on its channel."""
    standing: dict[str, Decimal | None] = {}
    points = []
    for record, price in prices:
        if standing.get(record.channel) != price:
            points.append(PricePoint(record.channel, record.day, price, record.at, record.note))
        standing[record.channel] = price
    return tuple(points)


def lowest_prior(history: Sequence[PricePoint], day: datetime.date, days: int = PRIOR_DAYS) -> Decimal | None:
    """Return the lowest price of the `days` days before `day`, None where none is known.

    A price counts on the day that it was set and still on the day that another took its place; a price set on `day`
    itself does not count. Channels are taken together.
    """
    first = day - datetime.timedelta(days)
    lowest: Decimal | None = None
    for channel in {point.channel for point in history}:
        points = sorted((point for point in history if point.channel == channel), key=lambda point: point.day)
        for at, point in enumerate(points):
            until = points[at + 1].day if at + 1 < len(points) else datetime.date.max
            if point.price is not None and point.day < day and until >= first:
                lowest = point.price if lowest is None else min(lowest, point.price)
    return lowest


def lawful_reduction(
    history: Sequence[PricePoint], day: datetime.date, price: Decimal, days: int = PRIOR_DAYS, known: int | None = None
) -> Reduction:
    """Return what may be announced of a price that begins on `day`.

    The prior price is the lowest of at least the 30 days before, and the share is worked out on it alone (Directive
    98/6/EC, Art. 6a; Commission notice 2021/C 526/02; CJEU C-330/23). Goods that were not on sale for so long, and
    steps downwards without a break, have rules of their own in some countries: then pass what holds there. `known` are
    the days for which prices must be on record, `days` unless a country has a rule for new goods.
    """
    known = days if known is None else known
    prior = lowest_prior(history, day, days)
    if prior is None:
        return Reduction(None, Decimal(0), f"no price of the {days} days before is known.")
    since = min(point.day for point in history if point.price is not None)
    if since > day - datetime.timedelta(known):
        return Reduction(prior, Decimal(0), f"prices are known since {since} only, not for {known} days.")
    if price >= prior:
        return Reduction(prior, Decimal(0), f"{price} is not below {prior}, the lowest of the {days} days before.")
    share = ((prior - price) / prior).quantize(_SHARE_STEP, ROUND_DOWN)
    return Reduction(prior, share, f"against {prior}, the lowest of the {days} days before.")


# A small picture of prices over time: steps, one line a channel, as SVG 1.1 without script or style sheet. It is also
# printed in black and white, so lines differ in their dashes as well as in colour.

WIDTH, HEIGHT = 640, 280
LEFT, RIGHT, TOP, BOTTOM = 64, 150, 34, 40
_INKS: Final = ("#1f5673", "#a4441f", "#3f6f2a", "#6b3f87", "#7a5c1e", "#444444")
_DASHES: Final = ("", "7 3", "2 3", "9 3 2 3", "4 4", "12 4")
_FONT: Final = {"font-family": "sans-serif", "font-size": "11"}
_SPACE: Final = "http://www.w3.org/2000/svg"


def step_plot(title: str, history: Sequence[PricePoint], until: datetime.date) -> str:
    """Return the SVG document; lines run on to `until` and break where a price was taken down."""
    priced = [point for point in history if point.price is not None]
    root = ElementTree.Element("svg", {"xmlns": _SPACE, "viewBox": f"0 0 {WIDTH} {HEIGHT}", "role": "img"})
    ElementTree.SubElement(root, "title").text = _printable(title)
    ElementTree.SubElement(root, "rect", {"width": "100%", "height": "100%", "fill": "#ffffff"})
    _text(root, (LEFT, 20), title)
    if priced:
        _draw(root, history, _Scale.of(priced, until))
    return ElementTree.tostring(root, encoding="unicode") + "\n"


class _Scale:
    """Turns days and prices into coordinates."""

    def __init__(self, first: datetime.date, last: datetime.date, low: Decimal, high: Decimal) -> None:
        self.first, self.last, self.low, self.high = first, last, low, high

    @classmethod
    def of(cls, priced: Sequence[PricePoint], until: datetime.date) -> "_Scale":
        """Return the scale that holds all points; it is at least a day wide and a cent high."""
        first = min(point.day for point in priced)
        last = max(until, first + datetime.timedelta(1), *(point.day for point in priced))
        amounts = [point.price for point in priced if point.price is not None]
        room = max((max(amounts) - min(amounts)) / 8, max(amounts) / 50, Decimal("0.01"))
        return cls(first, last, max(min(amounts) - room, Decimal(0)), max(amounts) + room)

    def x(self, day: datetime.date) -> float:
        """Return a day's distance from the left edge."""
        share = (day - self.first).days / (self.last - self.first).days
        return round(LEFT + share * (WIDTH - LEFT - RIGHT), 1)

    def y(self, price: Decimal) -> float:
        """Return a price's distance from the upper edge."""
        share = float((price - self.low) / (self.high - self.low))
        return round(HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM), 1)


def _draw(root: ElementTree.Element, history: Sequence[PricePoint], scale: _Scale) -> None:
    _frame(root, history, scale)
    channels = tuple(dict.fromkeys(point.channel for point in history))
    for number, channel in enumerate(channels):
        ink, dash = _INKS[number % len(_INKS)], _DASHES[number % len(_DASHES)]
        points = [point for point in history if point.channel == channel]
        style = {"fill": "none", "stroke": ink, "stroke-width": "2", "stroke-dasharray": dash or "none"}
        for path in _step_lines(points, scale):
            ElementTree.SubElement(root, "path", {"d": path, **style})
        height = TOP + 12 + 18 * number
        key = f"M{WIDTH - RIGHT + 14},{height - 4}h26"
        ElementTree.SubElement(root, "path", {"d": key, **style})
        _text(root, (WIDTH - RIGHT + 46, height), channel)


def _step_lines(points: Sequence[PricePoint], scale: _Scale) -> Iterator[str]:
    """Yield a path for every stretch without a break; `points` are those of one channel."""
    path = ""
    for at, point in enumerate(points):
        if point.price is None:
            continue
        end = points[at + 1].day if at + 1 < len(points) else scale.last
        x, y = scale.x(point.day), scale.y(point.price)
        path += f"{'L' if path else 'M'}{x},{y}L{scale.x(end)},{y}"
        if at + 1 == len(points) or points[at + 1].price is None:
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
    """Yield the labels that are at least `least` apart from the one before."""
    before: float | None = None
    for place, label in labels:
        if before is None or place - before >= least:
            yield place, label
            before = place


def _text(root: ElementTree.Element, place: tuple[float, float], text: str, *, anchor: str = "start") -> None:
    spot = {"x": str(place[0]), "y": str(place[1]), "text-anchor": anchor, "fill": "#222222"}
    ElementTree.SubElement(root, "text", {**spot, **_FONT}).text = _printable(text)


def _printable(text: str) -> str:
    """Return the text without characters that no XML document can hold."""
    return "".join(sign for sign in text if sign.isprintable())
