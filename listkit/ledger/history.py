"""Every price that a variant had, where and when; the lowest prior price of a reduction; and a picture of both.

Only recalled, never certified: which days count, and how perishable or new goods or steps downwards are
treated, differs from country to country. Check the local rules before announcing a reduction.
"""

import datetime
import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import ROUND_CEILING, ROUND_DOWN, Decimal
from pathlib import Path
from typing import Final
from xml.etree import ElementTree

from listkit.ledger.file import WAIT
from listkit.ledger.store import LinesOfCode, Record, facts_of, lines_of, lines_of_each
from listkit.units.money import MINOR_DIGITS, Money, amount_of
from listkit.units.spoken import Spoken

PRIOR_DAYS: Final = 30  # Directive 98/6/EC, Art. 6a(2), as amended by Directive (EU) 2019/2161
RETAIL: Final = "retail price"
"""In place of a channel's key (which has no space): the price of an item, which no channel shows by itself."""
_SHARE_STEP: Final = Decimal("0.0001")


@dataclass(frozen=True, slots=True)
class PricePoint:
    """From `day` on the channel showed this price; None where it was taken down.

    It is None too where the price was in another currency than the shop has now: `other` is that one, "29.00 GBP".
    """

    channel: str
    day: datetime.date
    price: Decimal | None
    at: str = ""
    note: str = ""
    other: str = ""


@dataclass(frozen=True, slots=True)
class Reduction:
    """What may be announced: the lowest prior price, and the share by which the new one is lower, rounded down.

    `share` is 0 where no reduction may be announced; `reason` says why, or what was compared.
    """

    prior: Decimal | None
    share: Decimal
    reason: str


@dataclass(frozen=True, slots=True)
class _Shown:
    """What a record has of a price: the amount, else what it is in another currency than the shop's."""

    price: Decimal | None = None
    other: str = ""


_GONE: Final = _Shown()


def price_history(path: Path, code: str, currency: str = "", *, wait: float = WAIT) -> tuple[PricePoint, ...]:
    """Return every price recorded of a variant or line for shops, and of an item its retail price, oldest first.

    `currency` is that of the shop; "" takes any for it. Lines for shops and items state none: theirs is the one that
    the shop had when they were recorded.

    Raises:
        BlockedError: the ledger cannot be used.
    """
    wanted = ((code, "rows"), (code, "items"), SHOP_RULES)
    rows, items, rules = lines_of_each(path, wanted, wait=wait)  # of items one for every channel with it in a set
    shown = [
        (record, _first(line, ("price", "wholesalePrice"), currency, then))
        for record, line, then in _in_currencies(rows, rules)
    ]
    retail = [
        (replace(record, channel=RETAIL), _first(line, ("retail",), currency, then))
        for record, line, then in _in_currencies(items, rules)
        if line is not None
    ]
    return (*_steps(shown), *_steps(retail))


SHOP_RULES: Final = ("shop", "rules")
"""Code and section of what a record has of the shop itself, its currency among it."""


def currency_at(path: Path, channel: str, number: int, *, wait: float = WAIT) -> str:
    """Return the currency that the shop had when a place was recorded under a number, "" where that is not on record.

    Raises:
        BlockedError: the ledger cannot be used.
    """
    code, section = SHOP_RULES
    told = (
        currency_in(line)
        for record, line in reversed(lines_of(path, code, section, wait=wait))
        if record.channel == channel and record.number <= number
    )
    return next(told, "")


def currency_in(line: str | None) -> str:
    """Return the currency in what a record has of the shop, "" for none."""
    stated = json.loads(line).get("currency") if line is not None else ""
    return stated if isinstance(stated, str) else ""


def _in_currencies(lines: LinesOfCode, rules: LinesOfCode) -> Iterator[tuple[Record, str | None, str]]:
    """Yield every record that changed a line, or what its place has of the shop, with the line and the currency."""
    by_number = {record.number: (record, line) for record, line in lines}
    of_shop = {record.number: (record, currency_in(line)) for record, line in rules}
    standing: dict[str, str | None] = {}
    currencies: dict[str, str] = {}
    for number in sorted({*by_number, *of_shop}):
        record = (by_number.get(number) or of_shop[number])[0]
        if number in of_shop:
            currencies[record.channel] = of_shop[number][1]
        if number in by_number:
            standing[record.channel] = by_number[number][1]
        if record.channel in standing:
            yield record, standing[record.channel], currencies.get(record.channel, "")


def channel_prices(
    path: Path, channel: str, currency: str = "", *, wait: float = WAIT
) -> Mapping[str, tuple[PricePoint, ...]]:
    """Return every price that was recorded on a channel, by code, oldest first; {} without a ledger.

    Raises:
        BlockedError: the ledger cannot be used.
    """
    recorded: dict[str, list[tuple[Record, _Shown]]] = {}
    for record, code, price, stated in facts_of(path, channel, "rows", ("price", "priceCurrency"), wait=wait):
        recorded.setdefault(code, []).append((record, _shown(price, stated, currency)))
    return {code: _steps(prices) for code, prices in recorded.items()}


def _first(line: str | None, facts: tuple[str, ...], currency: str, then: str) -> _Shown:
    """Return the first of these facts that the line has, as an amount; a line for shops has no "price".

    `then` is the currency of a line that states none.
    """
    known = json.loads(line) if line is not None else {}
    stated = known.get("priceCurrency", then)
    return next((_shown(known[fact], stated, currency) for fact in facts if fact in known), _GONE)


def _shown(value: object, stated: object, currency: str) -> _Shown:
    """Return a price by its currency, where one is stated."""
    price = amount_of(value)
    if price is None or not currency or stated == currency or not isinstance(stated, str) or stated not in MINOR_DIGITS:
        return _Shown(price)
    return _Shown(other=f"{Money(price, stated)} {stated}")


def _steps(prices: Sequence[tuple[Record, _Shown]]) -> tuple[PricePoint, ...]:
    """Return a point for each record whose price differs from the one before on its channel."""
    standing: dict[str, _Shown] = {}
    points = []
    for record, shown in prices:
        if standing.get(record.channel, _GONE) != shown:
            points.append(
                PricePoint(record.channel, record.day, shown.price, record.at, record.note, other=shown.other)
            )
        standing[record.channel] = shown
    return tuple(points)


def by_channel(history: Iterable[PricePoint]) -> dict[str, list[PricePoint]]:
    """Return the points of each channel, as they come."""
    found: dict[str, list[PricePoint]] = {}
    for point in history:
        found.setdefault(point.channel, []).append(point)
    return found


def lowest_prior(history: Sequence[PricePoint], day: datetime.date, days: int = PRIOR_DAYS) -> Decimal | None:
    """Return the lowest price of the `days` days before `day`, None where none is known.

    A price counts on the day that it was set and still on the day that another took its place; a price set on `day`
    itself does not count. Channels are taken together.
    """
    first = day - datetime.timedelta(days)
    lowest: Decimal | None = None
    for of_channel in by_channel(history).values():
        points = sorted(of_channel, key=lambda point: point.day)
        for at, point in enumerate(points):
            until = points[at + 1].day if at + 1 < len(points) else datetime.date.max
            if point.price is not None and point.day < day and until >= first:
                lowest = point.price if lowest is None else min(lowest, point.price)
    return lowest


def lawful_reduction(
    history: Sequence[PricePoint],
    day: datetime.date,
    price: Decimal,
    days: int = PRIOR_DAYS,
    known: int | None = None,
    *,
    spoken: Spoken,
) -> Reduction:
    """Return what may be announced of a price that begins on `day`.

    The prior price is the lowest of at least the 30 days before, and the share is worked out on it alone (Directive
    98/6/EC, Art. 6a; Commission notice 2021/C 526/02; CJEU C-330/23). Goods that were not on sale for so long, and
    steps downwards without a break, have rules of their own in some countries: then pass what holds there. `known` are
    the days for which prices must be on record, `days` unless a country has a rule for new goods. `spoken` words the
    reason.
    """
    known = days if known is None else known
    prior = lowest_prior(history, day, days)
    if prior is None:
        return Reduction(None, Decimal(0), f"no price of the {days} days before is known.")
    since = min(point.day for point in history if point.price is not None)
    if since > day - datetime.timedelta(known):
        return Reduction(prior, Decimal(0), f"prices are known since {spoken.day(since)} only, not for {known} days.")
    if price >= prior:
        reason = f"{spoken.money(price)} is not below {spoken.money(prior)}, the lowest of the {days} days before."
        return Reduction(prior, Decimal(0), reason)
    share = ((prior - price) / prior).quantize(_SHARE_STEP, ROUND_DOWN)
    return Reduction(prior, share, f"against {spoken.money(prior)}, the lowest of the {days} days before.")


# A picture of prices over time: steps, one line a place, as SVG 1.1 without script or style sheet. It is also printed
# in black and white, so lines differ in their dashes as well as in colour. Places with the very same prices share a
# line; lines that run together for a while are drawn side by side, a few pixels apart, so that none hides another.


@dataclass(frozen=True, slots=True)
class Band:
    """Days on which a reduction is in force, both included, and what it is called."""

    first: datetime.date
    until: datetime.date
    label: str = ""


@dataclass(frozen=True, slots=True)
class Around:
    """What is drawn around the lines: names of places by their keys, the currency, reductions, days of publication.

    `marked` and `shaded` say below the picture what the marks and the bands are; "" where the page around it does.
    """

    names: Mapping[str, str] = field(default_factory=dict)
    currency: str = ""
    bands: tuple[Band, ...] = ()
    published: tuple[datetime.date, ...] = ()
    marked: str = ""
    shaded: str = ""

    def name(self, channel: str) -> str:
        """Return what a place is called."""
        return self.names.get(channel, channel)


NOTHING_AROUND: Final = Around()
WIDTH, HEIGHT = 760, 360
LEFT, RIGHT, TOP, BOTTOM = 64, 210, 52, 48
NARROW: Final = 300
"""The width of a picture for a phone, which has the names of places below it."""
_NARROW_RIGHT: Final = 40
_INKS: Final = ("#1f5673", "#a4441f", "#3f6f2a", "#6b3f87", "#7a5c1e", "#444444")
_DASHES: Final = ("", "7 3", "2 3", "9 3 2 3", "4 4", "12 4")
_FONT: Final = {"font-family": "sans-serif", "font-size": "11"}
_SPACE: Final = "http://www.w3.org/2000/svg"
_FLOOR: Final = HEIGHT - BOTTOM
_SHORT_UNIT: Final = 4  # letters that stand right of the axis' edge; what is longer begins at the left edge
_BESIDE: Final = 2.5  # pixels between lines
_LETTER: Final = 6.2  # pixels of a letter, about
_LONGEST_NAME: Final = 24  # letters beside the picture
_DAY_ROOM: Final = 74  # pixels that a day needs below the axis
_MOST_TICKS: Final = 5
_LONG_AMOUNT: Final = 7  # digits before the point
_MONTHS: Final = (1, 2, 3, 6, 12, 24, 60, 120)  # between ticks, where days are too many


def step_plot(
    title: str,
    history: Sequence[PricePoint],
    until: datetime.date,
    around: Around = NOTHING_AROUND,
    *,
    narrow: bool = False,
) -> str:
    """Return the SVG document; lines run on to `until` and break where a price was taken down.

    A `narrow` one has the names of places below it.
    """
    priced = [point for point in history if point.price is not None]
    groups = _groups(history)
    below = sum(15 * (len(channels) + 1) + 7 for _, channels in groups) + 8
    width, height = (NARROW, HEIGHT + below) if narrow else (WIDTH, HEIGHT)
    root = ElementTree.Element("svg", {"xmlns": _SPACE, "viewBox": f"0 0 {width} {height}", "role": "img"})
    ElementTree.SubElement(root, "title").text = _printable(title)
    ElementTree.SubElement(root, "rect", {"width": "100%", "height": "100%", "fill": "#ffffff"})
    _text(root, (LEFT, 20), title)
    if priced:
        scale = _Scale.of(priced, until, width)
        _bands(root, scale, around)
        _frame(root, scale, around)
        _lines(root, groups, scale, around)
        _legend(root, scale, around)
    return ElementTree.tostring(root, encoding="unicode") + "\n"


class _Scale:
    """Turns days and prices into coordinates of a picture so wide; `right` is where the last day is."""

    def __init__(self, days: tuple[datetime.date, datetime.date], low: Decimal, high: Decimal, width: int) -> None:
        self.first, self.last = days
        self.low, self.high, self.width = low, high, width
        self.right = width - (_NARROW_RIGHT if width == NARROW else RIGHT)

    @classmethod
    def of(cls, priced: Sequence[PricePoint], until: datetime.date, width: int) -> "_Scale":
        """Return the scale that holds all points; it is at least a day wide and a cent high."""
        first = min(point.day for point in priced)
        last = max(until, first + datetime.timedelta(1), *(point.day for point in priced))
        amounts = [point.price for point in priced if point.price is not None]
        room = max((max(amounts) - min(amounts)) / 8, max(amounts) / 50, Decimal("0.01"))
        return cls((first, last), max(min(amounts) - room, Decimal(0)), max(amounts) + room, width)

    def x(self, day: datetime.date, part: float = 0) -> float:
        """Return a day's distance from the left edge, when a part of it is over."""
        share = min(1, ((day - self.first).days + part) / (self.last - self.first).days)
        return round(LEFT + share * (self.right - LEFT), 1)

    def y(self, price: Decimal) -> float:
        """Return a price's distance from the upper edge."""
        share = float((price - self.low) / (self.high - self.low))
        return round(_FLOOR - share * (_FLOOR - TOP), 1)

    def amounts(self) -> Iterator[Decimal]:
        """Yield round prices, five to ten of them."""
        tenth = (self.high - self.low) / _MOST_TICKS
        step = Decimal(1).scaleb(tenth.adjusted())
        step *= next((times for times in (1, 2, 5, 10) if step * times >= tenth), 10)
        at = (self.low / step).to_integral_value(ROUND_CEILING) * step
        while at <= self.high:
            yield at
            at += step

    def days(self) -> Iterator[tuple[datetime.date, str]]:
        """Yield the first and the last day, and round ones between them, each with what it is called."""
        yield self.first, self.first.isoformat()
        months = (self.last.year - self.first.year) * 12 + self.last.month - self.first.month
        apart = next((each for each in _MONTHS if months / each <= _MOST_TICKS), _MONTHS[-1])
        for month in range(self.first.month, self.first.month + months) if months > 1 else ():
            if month % apart == 0:
                day = datetime.date(self.first.year + month // 12, month % 12 + 1, 1)
                yield day, f"{day:%Y}" if apart % 12 == 0 else f"{day:%Y-%m}"
        yield self.last, self.last.isoformat()


def _bands(root: ElementTree.Element, scale: _Scale, around: Around) -> None:
    """Shade the days of reductions; what one is called is above it, where there is room."""
    taken = float(LEFT)
    for band in sorted(around.bands, key=lambda each: (each.first, each.until, each.label)):
        first, until = max(band.first, scale.first), min(band.until, scale.last)
        if first > until:
            continue
        left, right = scale.x(first), max(scale.x(until), scale.x(first) + 2)
        sides = {"x": str(left), "y": str(TOP), "width": f"{right - left:.1f}", "height": str(_FLOOR - TOP)}
        shade = ElementTree.SubElement(root, "rect", {**sides, "fill": "#ece7da"})
        ElementTree.SubElement(shade, "title").text = _printable(f"{band.label}: {band.first} – {band.until}")
        if band.label and left >= taken and left + len(band.label) * _LETTER < scale.width:
            _text(root, (left, TOP - 6), band.label)
            taken = left + (len(band.label) + 2) * _LETTER


def _frame(root: ElementTree.Element, scale: _Scale, around: Around) -> None:
    """Draw the two axes with round prices and days, the currency, and a mark for each day of publication."""
    right = scale.right
    for amount in scale.amounts():
        height = scale.y(amount)
        ElementTree.SubElement(root, "path", {"d": f"M{LEFT},{height}H{right}", "stroke": "#dddddd", "fill": "none"})
        _text(root, (LEFT - 6, height + 4), f"{amount:.2f}" if amount.adjusted() < _LONG_AMOUNT else f"{amount:.3g}",
              anchor="end")  # fmt: skip
    axes = f"M{LEFT},{TOP}V{_FLOOR}H{right}"
    ElementTree.SubElement(root, "path", {"d": axes, "fill": "none", "stroke": "#888888"})
    if len(around.currency) <= _SHORT_UNIT:
        _text(root, (LEFT - 6, TOP - 20), around.currency, anchor="end")
    else:
        _text(root, (4, TOP - 12), around.currency)
    *days, (last, last_name) = scale.days()
    for place, name in _apart(((scale.x(day), name) for day, name in days), _DAY_ROOM):
        if scale.x(last) - place >= _DAY_ROOM:
            _text(root, (place, _FLOOR + 30), name, anchor="middle")
    _text(root, (scale.x(last), _FLOOR + 30), last_name, anchor="middle")
    for day in sorted({day for day in around.published if scale.first <= day <= scale.last}):
        mark = ElementTree.SubElement(root, "path", {"d": f"M{scale.x(day)},{_FLOOR + 3}l-4,8h8z", "fill": "#222222"})
        ElementTree.SubElement(mark, "title").text = day.isoformat()


def _legend(root: ElementTree.Element, scale: _Scale, around: Around) -> None:
    """Say below the days what the marks and the bands are, of those that there are."""
    at, foot = float(LEFT), HEIGHT - 4
    inside = [band for band in around.bands if band.first <= scale.last and band.until >= scale.first]
    if around.marked and any(scale.first <= day <= scale.last for day in around.published):
        ElementTree.SubElement(root, "path", {"d": f"M{at + 4},{foot - 9}l-4,8h8z", "fill": "#222222"})
        _text(root, (at + 14, foot), around.marked)
        at += 14 + (len(around.marked) + 3) * _LETTER
    if around.shaded and inside:
        box = {"x": f"{at:.1f}", "y": str(foot - 9), "width": "14", "height": "9", "fill": "#ece7da"}
        ElementTree.SubElement(root, "rect", box)
        _text(root, (round(at + 20, 1), foot), around.shaded)


_Group = tuple[list[PricePoint], list[str]]


def _groups(history: Sequence[PricePoint]) -> tuple[_Group, ...]:
    """Return the steps of a price with all places that have them."""
    by_steps: dict[tuple[tuple[datetime.date, Decimal | None], ...], _Group] = {}
    for channel, points in by_channel(history).items():
        by_steps.setdefault(tuple((point.day, point.price) for point in points), (points, []))[1].append(channel)
    return tuple(by_steps.values())


def _lines(root: ElementTree.Element, groups: tuple[_Group, ...], scale: _Scale, around: Around) -> None:
    """Draw a line for each group of places with the same prices, and what each is called, with its price of today."""
    at, height = (LEFT - 48, HEIGHT + 6.0) if scale.width == NARROW else (WIDTH - RIGHT + 14, TOP + 6.0)
    for number, (points, channels) in enumerate(groups):
        ink, dash = _INKS[number % len(_INKS)], _DASHES[number % len(_DASHES)]
        style = {"fill": "none", "stroke": ink, "stroke-width": "2", "stroke-dasharray": dash or "none"}
        beside = (number - (len(groups) - 1) / 2) * _BESIDE
        for path in _step_lines(points, scale, beside):
            ElementTree.SubElement(root, "path", {"d": path, **style})
        ElementTree.SubElement(root, "path", {"d": f"M{at},{height - 4}h26", **style})
        for channel in channels:
            name = around.name(channel)
            _text(root, (at + 34, height), name if len(name) <= _LONGEST_NAME else f"{name[:_LONGEST_NAME]}…")
            height += 15
        if points[-1].price is not None:
            _text(root, (at + 34, height), str(points[-1].price))
        height += 22


def _step_lines(points: Sequence[PricePoint], scale: _Scale, beside: float) -> Iterator[str]:
    """Yield a path for every stretch without a break, `beside` its place; `points` are those of one channel.

    Several prices of one day share it evenly, so that each has its step.
    """
    path, days, parts = list[str](), Counter(point.day for point in points), list[float]()
    before: Counter[datetime.date] = Counter()
    for point in points:
        parts.append(before[point.day] / days[point.day])
        before[point.day] += 1
    for at, point in enumerate(points):
        if point.price is None:
            continue
        end = scale.x(points[at + 1].day, parts[at + 1]) if at + 1 < len(points) else scale.x(scale.last)
        x, y = scale.x(point.day, parts[at]), round(scale.y(point.price) + beside, 1)
        path.append(f"{'L' if path else 'M'}{x},{y}L{end},{y}")
        if at + 1 == len(points) or points[at + 1].price is None:
            yield "".join(path)
            path = []


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
