"""`listkit record`: remember the last build as published on a channel, or take the last record back."""

import argparse
import datetime
import json
import sys
from pathlib import Path
from typing import Any

from listkit import __version__
from listkit.cli.opening import open_shop
from listkit.cli.options import add_shop, add_today
from listkit.cli.outputs import Outputs
from listkit.cli.report import done, tell, told_missing
from listkit.cli.sheets import sheet_history
from listkit.cli.truth import WHOLESALE, Truth, find_place, read_truth, snapshot_of
from listkit.ledger.store import LEDGER, Record, Stamp, moment_of, record, undo
from listkit.problem import FieldError


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_shop(parser)
    add_today(parser, says="the day that the build was for, if it is not that of publishing; see --at for that")
    parser.add_argument("channel", metavar="CHANNEL", help='its key or name, or "wholesale"')
    parser.add_argument("--note", default="", metavar="TEXT", help="a word on it, for later")
    parser.add_argument("--out", type=Path, metavar="DIR", help="where the build is, if not in out")
    parser.add_argument("--at", default="", metavar="TIME", help="when it was published, if not now: 2026-11-25T10:30")
    parser.add_argument("--undo", action="store_true", help="take the channel's last record back; nothing is deleted")


def run(args: argparse.Namespace) -> int:
    """Record, or take back; 1 when that cannot be."""
    if told_missing(args.shop):
        return 1
    try:
        stamp = Stamp(_moment(args.at), args.note, __version__)
    except ValueError:
        tell(f'"{args.at}" is no time that has been. Write it as in 2026-11-25T10:30.')
        return 2
    try:
        if args.undo:
            taken = undo(args.shop / LEDGER, _key(args), stamp)
            _tell(args, taken, recorded=False, words=f"taken back: {taken.channel} as of {taken.at}.")
            return 0
        day = args.today or moment_of(stamp.at).date()
        truth = read_truth(args.shop, out := args.out or args.shop / "out", day)
        key = find_place(truth, args.channel)
        found = record(args.shop / LEDGER, key, snapshot_of(truth, key, Outputs(truth, out).recordable(key)), stamp)
    except FieldError as fault:
        tell(f"Not recorded: {fault.message} {fault.hint}".rstrip())
        return 1
    words = f"{key} is recorded as of {found.at}." if found else f"{key} is recorded already; nothing was added."
    words += _sheet(truth) if key == WHOLESALE else ""
    _tell(args, found, recorded=found is not None, words=words)
    return 0


def _sheet(truth: Truth) -> str:
    """Return which version of the line sheet that is."""
    history = sheet_history(truth.shop.root, truth.catalog)
    replaces = f", which replaces {history.previous.version}" if history.previous else ""
    return f" The sheet is {history.current}{replaces}; write that of each stockist who gets it."


def _moment(stated: str) -> str:
    """Return a time with its distance to UTC, this computer's where it states none.

    Raises:
        ValueError: what is stated is no time, or yet to come: no record could follow it for so long.
    """
    now = datetime.datetime.now().astimezone()
    moment = datetime.datetime.fromisoformat(stated) if stated else now
    moment = moment if moment.tzinfo else moment.astimezone()
    if moment > now:
        raise ValueError(stated)
    return moment.isoformat(timespec="seconds")


def _key(args: argparse.Namespace) -> str:
    """Return the channel's key; one that is no longer in the shop is its own."""
    channels = open_shop(args.shop).channels
    return next((one.key for one in channels if args.channel in (one.key, one.name)), str(args.channel))


def _tell(args: argparse.Namespace, found: Record | None, *, recorded: bool, words: str) -> None:
    if not args.json:
        done(words)
        return
    facts: dict[str, Any] = {"recorded": recorded, "number": None, "at": None, "note": None}
    if found is not None:
        facts |= {"number": found.number, "at": found.at, "note": found.note}
    json.dump(facts, sys.stdout, indent=2, ensure_ascii=False)
    print()
