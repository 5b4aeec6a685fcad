"""Every price that was recorded of a code: the history, the lowest before a day, a drawing of it."""

import datetime
from dataclasses import dataclass
from pathlib import Path

from listkit.check.alike import listed
from listkit.ledger.history import RETAIL, PricePoint, lowest_prior, price_history, step_plot
from listkit.ledger.old_codes import in_order
from listkit.ledger.store import LEDGER, priced_codes
from listkit.pipeline import WHOLESALE, open_shop
from listkit.problem import FieldError
from listkit.read.wording import perhaps
from listkit.save.asked import write_drawings


@dataclass(frozen=True, slots=True)
class History:
    """The prices of a code, and by channel the lowest prior one, None where it is not known."""

    code: str
    points: tuple[PricePoint, ...]
    lowest: dict[str, str | None]


def history_of(folder: Path, code: str, day: datetime.date) -> History:
    """Return every price of a variant, an item or a line for shops; the lowest are those before `day`.

    Those under old codes are among them.

    Raises:
        FieldError: none was ever recorded, or the ledger cannot be used.
    """
    old_codes = open_shop(folder).shop.old_codes
    code = old_codes(code)
    points = price_history(folder / LEDGER, code)
    for old in old_codes.of(code):
        points = in_order(price_history(folder / LEDGER, old), points)
    if not points:
        raise _never_recorded(folder / LEDGER, code)
    return History(code, points, _lowest(points, day))


def _never_recorded(ledger: Path, code: str) -> FieldError:
    """Return what to do where a code has no price: name one of a set's variants, or what was meant."""
    known = priced_codes(ledger)
    message = f"no price of {code} was ever recorded."
    if variants := [each for each in known if each.startswith(f"{code}-")]:
        return FieldError(message, f"Name one of its variants: {listed(variants)}.")
    return FieldError(message, perhaps(code, known) or "Is it a code of yours? Record a channel after publishing it.")


def _lowest(points: tuple[PricePoint, ...], day: datetime.date) -> dict[str, str | None]:
    """Return the lowest prior price by channel; what shops pay is no price to the public."""
    channels = dict.fromkeys(point.channel for point in points if point.channel not in {WHOLESALE, RETAIL})
    prices = {key: lowest_prior([point for point in points if point.channel == key], day) for key in channels}
    return {channel: None if price is None else str(price) for channel, price in prices.items()}


def draw_history(path: Path, shop: Path, history: History, day: datetime.date) -> Path:
    """Draw the prices over time into an SVG file, in `path` where that is a folder; return where it is.

    Raises:
        FieldError: it is no name for a drawing, is among the shop's own files, or cannot be written to.
    """
    if not path.parent.is_dir():
        raise FieldError(f"{path} cannot be written to: there is no folder {path.parent}.", "Name another file.")
    drawing = step_plot(f"Price of {history.code}", history.points, day)
    [drawn] = write_drawings(path, ((f"{history.code}.svg", drawing),), shop)
    return drawn
