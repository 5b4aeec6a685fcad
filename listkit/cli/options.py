"""Options that several commands take, and what they stand for when they are left out."""

import argparse
import datetime
from pathlib import Path


def add_shop(parser: argparse.ArgumentParser, *, as_json: bool = True) -> None:
    """Give a command `--shop`, and `--json` where there is something for scripts."""
    parser.add_argument(
        "--shop", type=Path, default=Path(), metavar="DIR", help="the shop folder; this one if left out"
    )
    if as_json:
        parser.add_argument("--json", action="store_true", help="print JSON, for scripts")


def add_today(parser: argparse.ArgumentParser, *, meaning: str = "take this day for today") -> None:
    """Give a command `--today`; `meaning` is its help."""
    parser.add_argument("--today", type=datetime.date.fromisoformat, default=None, metavar="DATE", help=meaning)


def add_out(parser: argparse.ArgumentParser, *, meaning: str = "where the build is, if not in out") -> None:
    """Give a command `--out`; `meaning` is its help."""
    parser.add_argument("--out", type=Path, metavar="DIR", help=meaning)


def add_without(parser: argparse.ArgumentParser) -> None:
    """Give a command `--without`."""
    parser.add_argument(
        "--without",
        action="append",
        default=[],
        metavar="CODE",
        help="leave this set out for once; may stand several times",
    )


def today(args: argparse.Namespace) -> datetime.date:
    """Return the day that a command is for: `--today`, else the owner's own day."""
    stated: datetime.date | None = args.today
    return stated or datetime.date.today()  # noqa: DTZ011 - the owner's own day


def out_folder(args: argparse.Namespace) -> Path:
    """Return the output folder: `--out`, else out in the shop folder."""
    stated: Path | None = args.out
    return stated or Path(args.shop) / "out"
