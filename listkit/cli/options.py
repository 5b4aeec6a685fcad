"""Options that several commands take."""

import argparse
import datetime
from pathlib import Path


def add_shop(parser: argparse.ArgumentParser) -> None:
    """Give a command `--shop` and `--json`."""
    parser.add_argument(
        "--shop", type=Path, default=Path(), metavar="DIR", help="the shop folder; this one if left out"
    )
    parser.add_argument("--json", action="store_true", help="print JSON, for scripts")


def add_today(parser: argparse.ArgumentParser, *, says: str = "take this day for today") -> None:
    """Give a command `--today`; `says` is its help."""
    parser.add_argument("--today", type=datetime.date.fromisoformat, default=None, metavar="DATE", help=says)
