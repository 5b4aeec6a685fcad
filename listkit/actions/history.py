"""Every price that was recorded of a code: the history, the lowest before a day, a drawing of it."""

import datetime
import json
import re
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from listkit.actions.facts import AS_USUAL, REDUCTION
from listkit.actions.held import group_of
from listkit.check.alike import listed
from listkit.compute.reductions import rulings_of
from listkit.ledger.history import (
    RETAIL,
    Around,
    Band,
    PricePoint,
    by_channel,
    lowest_prior,
    price_history,
    step_plot,
)
from listkit.ledger.old_codes import in_order
from listkit.ledger.store import LEDGER, lines_of, priced_codes, records
from listkit.model.shop import Shop
from listkit.pipeline import WHOLESALE
from listkit.problem import CONTROL, FieldError
from listkit.read.wording import perhaps
from listkit.save.asked import write_drawings
from listkit.units.quantity import share_text

_UNTIL: Final = re.compile(r"until (\d{4}-\d\d-\d\d)", re.ASCII)


@dataclass(frozen=True, slots=True)
class History:
    """The prices of a code, and by channel the lowest prior one, None where it is not known."""

    code: str
    points: tuple[PricePoint, ...]
    lowest: dict[str, str | None]


def history_of(shop: Shop, code: str, day: datetime.date) -> History:
    """Return every price of a variant, an item or a line for shops; the lowest are those before `day`.

    Those under old codes are among them.

    Raises:
        FieldError: none was ever recorded, or the ledger cannot be used.
    """
    ledger, code = shop.root / LEDGER, shop.old_codes(code)
    currency = shop.settings.currency
    points = price_history(ledger, code, currency)
    for old in shop.old_codes.of(code):
        points = in_order(price_history(ledger, old, currency), points)
    if not points:
        raise _never_recorded(ledger, code)
    return History(code, points, _lowest(points, day))


def _never_recorded(ledger: Path, code: str) -> FieldError:
    """Return what to do where a code has no price: name one of a set's variants, or what was meant."""
    known = priced_codes(ledger)
    message = f"no price of {code.translate(CONTROL)} was ever recorded."
    if variants := [each for each in known if each.startswith(f"{code}-")]:
        return FieldError(message, f"Name one of its variants: {listed(variants)}.")
    return FieldError(message, perhaps(code, known) or "Is it a code of yours? Record a channel after publishing it.")


def _lowest(points: tuple[PricePoint, ...], day: datetime.date) -> dict[str, str | None]:
    """Return the lowest prior price by channel; what shops pay is no price to the public."""
    public = {key: of_it for key, of_it in by_channel(points).items() if key not in {WHOLESALE, RETAIL}}
    prices = {key: lowest_prior(of_it, day) for key, of_it in public.items()}
    return {channel: None if price is None else str(price) for channel, price in prices.items()}


@dataclass(frozen=True, slots=True)
class Drawing:
    """How prices are drawn: its title, what their axis says, what wholesale is called, and whether for a phone.

    `marked` and `shaded` are the words of its legend, "" where the page around it has them.
    """

    title: str = ""
    axis: str = ""
    wholesale: str = "Wholesale"
    retail: str = ""
    narrow: bool = False
    marked: str = "a place that shows it was published"
    shaded: str = "a lower price for a time"


_AS_PRINTED: Final = Drawing()


def drawn(shop: Shop, history: History, day: datetime.date, how: Drawing = _AS_PRINTED) -> str:
    """Return the prices over time as SVG: each place by its name, reductions shaded, days of publication marked.

    Raises:
        FieldError: the ledger cannot be used.
    """
    channels = {point.channel for point in history.points}
    around = Around(
        names={channel.key: channel.name for channel in shop.channels}
        | {WHOLESALE: how.wholesale, RETAIL: how.retail or RETAIL},
        currency=how.axis or shop.settings.currency,
        bands=tuple(_bands(shop, history, channels)),
        published=tuple(each.day for each in records(shop.root / LEDGER) if each.channel in channels),
        marked=how.marked,
        shaded=how.shaded,
    )
    return step_plot(how.title or f"Price of {history.code}", history.points, day, around, narrow=how.narrow)


def _bands(shop: Shop, history: History, channels: set[str]) -> Iterator[Band]:
    """Yield the reductions of a variant: those that the shop's files state, and older ones that were recorded."""
    code = _set_of(shop, history.code)
    source = next((each for each in shop.sets if each.gift_set.code == code), None)
    stated = [each.reduction for each in rulings_of(source, shop.settings)] if source else []
    stated = [each for each in stated if each.sound and channels.intersection(each.channels or channels)]
    for each in stated:
        less = f"{share_text(each.by)} less" if each.by else each.name
        yield Band(each.first, each.until, f"{each.name}: {less}" if each.name and each.by else less)
    recorded: dict[tuple[datetime.date, str], Band] = {}
    for old in (code, *shop.old_codes.of(code)):
        for record, line in lines_of(shop.root / LEDGER, f"{REDUCTION}{old}", "rules"):
            says = str(json.loads(line).get("prices", "")) if line else ""
            label, until = _until(says)
            if until and record.channel in channels and not says.startswith(AS_USUAL):
                recorded.setdefault((until, label), Band(record.day, until, label))
    yield from (
        band for band in recorded.values() if not any(each.first <= band.first <= each.until for each in stated)
    )


def _until(says: str) -> tuple[str, datetime.date | None]:
    """Return what a recorded reduction is called and its last day, None where it states none.

    >>> _until("10 % less until 2026-11-29"), _until("less until 2026-02-31")
    (('10 % less', datetime.date(2026, 11, 29)), ('less until 2026-02-31', None))
    """
    if found := _UNTIL.search(says):
        with suppress(ValueError):  # a day that no calendar has
            return says[: found.start()].strip(), datetime.date.fromisoformat(found[1])
    return says, None


def _set_of(shop: Shop, code: str) -> str:
    """Return the set that a code was recorded under, the code itself for an item or a line for shops."""
    for each in (code, *shop.old_codes.of(code)):
        for _, line in reversed(lines_of(shop.root / LEDGER, each, "rows")):
            if line is not None:
                return shop.old_codes(group_of(each, json.loads(line)))
    return code


def draw_history(path: Path, shop: Shop, history: History, day: datetime.date) -> Path:
    """Draw the prices over time into an SVG file, in `path` where that is a folder; return where it is.

    Raises:
        FieldError: it is no name for a drawing, is among the shop's own files, or cannot be written to.
    """
    if not path.parent.is_dir():
        raise FieldError(f"{path} cannot be written to: there is no folder {path.parent}.", "Name another file.")
    [written] = write_drawings(path, ((f"{history.code}.svg", drawn(shop, history, day)),), shop.root)
    return written
