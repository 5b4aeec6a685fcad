"""Options that several commands take, and what they stand for when they are left out."""

import argparse
import datetime
import os
import re
from pathlib import Path

from listkit.problem import FieldError, in_our_time, quoted


def add_shop(parser: argparse.ArgumentParser, *, as_json: bool = True) -> None:
    """Give a command `--shop`, and `--json` where there is something for scripts."""
    parser.add_argument(
        "--shop", type=typed_path, default=Path(), metavar="DIR", help="the shop folder; this one if left out"
    )
    if as_json:
        parser.add_argument("--json", action="store_true", help="print JSON, for scripts")


def add_today(parser: argparse.ArgumentParser, *, meaning: str = "take this day for today") -> None:
    """Give a command `--today`; `meaning` is its help."""
    parser.add_argument("--today", type=typed_day, default=None, metavar="DATE", help=meaning)


def typed_day(text: str) -> datetime.date:
    """Return the day that an option names; what is wrong with it is told as an option's fault."""
    try:
        return in_our_time(datetime.date.fromisoformat(text))
    except FieldError as fault:
        raise argparse.ArgumentTypeError(f"{fault} {fault.hint}") from None
    except ValueError:
        raise argparse.ArgumentTypeError(f"{quoted(text)} is no day. Write it as 2026-12-05.") from None


def typed_number(text: str) -> int:
    """Return the whole number that an option names, of up to nine digits."""
    if not re.fullmatch(r"-?\d{1,9}", text, re.ASCII):
        raise argparse.ArgumentTypeError(f"{quoted(text)} is no whole number. Write it as 3.")
    return int(text)


def typed_path(text: str) -> Path:
    """Return the path that an option names; one on whose way nobody may look is told as an option's fault.

    A link that may not be read, as to another program's folder, stops whatever asks where it leads.
    """
    try:
        os.path.realpath(text)
    except PermissionError as fault:
        message = f"{quoted(text)} cannot be looked into: {fault.strerror}. Name another place."
        raise argparse.ArgumentTypeError(message) from None
    except (OSError, ValueError):  # what no system takes as a name is told where it is asked for
        pass
    return Path(text)


def add_out(parser: argparse.ArgumentParser, *, meaning: str = "where the build is, if not in out") -> None:
    """Give a command `--out`; `meaning` is its help."""
    parser.add_argument("--out", type=typed_path, metavar="DIR", help=meaning)


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
