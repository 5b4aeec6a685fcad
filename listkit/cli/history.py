"""`listkit history`: every price of a variant, item or line for shops, where and when; the lowest before today."""

import argparse
import datetime
import json
from pathlib import Path
from typing import Any

from listkit.check.alike import listed
from listkit.cli.options import add_shop, add_today
from listkit.cli.report import done, tell, told_missing
from listkit.cli.table import table
from listkit.cli.truth import WHOLESALE
from listkit.ledger.history import PRIOR_DAYS, RETAIL, PricePoint, lowest_prior, price_history, step_plot
from listkit.ledger.store import LEDGER, priced_codes
from listkit.problem import FieldError
from listkit.read.wording import perhaps


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_shop(parser)
    add_today(parser)
    parser.add_argument("code", metavar="CODE", help="a variant's or item's code")
    parser.add_argument("--svg", type=Path, metavar="FILE", help="draw the prices over time into this file")


def run(args: argparse.Namespace) -> int:
    """Show the prices; 1 when none was ever recorded."""
    if told_missing(args.shop):
        return 1
    today = args.today or datetime.date.today()  # noqa: DTZ011 - the owner's own day
    try:
        points = price_history(args.shop / LEDGER, args.code)
        if not points:
            raise _never(args.shop / LEDGER, args.code)
        if args.svg is not None:
            _draw(args.svg, args.code, points, today)
    except FieldError as fault:
        tell(f"{fault.message} {fault.hint}".rstrip())
        return 1
    lowest = _lowest(points, today)
    if args.json:
        print(json.dumps(_json(args.code, points, lowest), indent=2, ensure_ascii=False))
        return 0
    rows = [("day", "channel", "price", "note")]
    rows += [(str(one.day), one.channel, _price(one), one.note) for one in points]
    print(table(rows, left=4))
    for channel, price in lowest.items():
        print(f"lowest on {channel} in the {PRIOR_DAYS} days before {today}: {price or 'not known'}")
    return 0


def _never(ledger: Path, code: str) -> FieldError:
    """Return what to do where a code has no price: name one of a set's variants, or what was meant."""
    known = priced_codes(ledger)
    message = f"no price of {code} was ever recorded."
    if own := [one for one in known if one.startswith(f"{code}-")]:
        return FieldError(message, f"Name one of its variants: {listed(own)}.")
    if near := perhaps(code, known):
        return FieldError(message, near)
    return FieldError(message, "Is it a code of yours? Record a channel after publishing it.")


def _lowest(points: tuple[PricePoint, ...], today: datetime.date) -> dict[str, str | None]:
    """Return the lowest prior price by channel; what shops pay is no price to the public."""
    channels = dict.fromkeys(point.channel for point in points if point.channel not in {WHOLESALE, RETAIL})
    found = {
        channel: lowest_prior([point for point in points if point.channel == channel], today) for channel in channels
    }
    return {channel: None if price is None else str(price) for channel, price in found.items()}


def _price(point: PricePoint) -> str:
    return "taken down" if point.price is None else str(point.price)


def _json(code: str, points: tuple[PricePoint, ...], lowest: dict[str, str | None]) -> dict[str, Any]:
    prices = [
        {
            "channel": point.channel,
            "at": point.at,
            "price": None if point.price is None else str(point.price),
            "note": point.note,
        }
        for point in points
    ]
    return {"code": code, "prices": prices, "lowest_prior": lowest}


def _draw(path: Path, code: str, points: tuple[PricePoint, ...], today: datetime.date) -> None:
    try:
        path.write_text(step_plot(f"Price of {code}", points, today), encoding="utf-8")
    except OSError as fault:
        raise FieldError(f"{path} cannot be written to: {fault.strerror}.", "Name another file.") from fault
    done(f"{path}: {len(points)} prices.")
