"""Opens a shop for a command: reads it, computes it, lists it, checks it, each once."""

import argparse
import datetime
from dataclasses import dataclass
from pathlib import Path

from listkit.listing.listings import Listings
from listkit.model.shop import Shop
from listkit.problem import Problem


@dataclass(frozen=True, slots=True)
class Checked:
    """A shop with all that follows from it, and every problem, sorted by place."""

    shop: Shop
    listings: Listings
    problems: tuple[Problem, ...]
    photos: dict[str, dict[str, object]]


def add_today(parser: argparse.ArgumentParser) -> None:
    """Give a command `--today`."""
    parser.add_argument(
        "--today", type=datetime.date.fromisoformat, default=None, metavar="DATE", help="take this day for today"
    )


def check_shop(folder: Path, out: Path, today: datetime.date | None) -> Checked:
    """Read, compute, list and check the shop in `folder`; photos measured before are taken from `out`."""
    raise NotImplementedError
