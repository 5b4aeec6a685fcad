"""`listkit record`: remember the last build as published on a channel, take that back, or put its time right."""

import argparse
import datetime
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from listkit import __version__
from listkit.actions.record import Recording, put_right, take_back
from listkit.check.scope import PRINT
from listkit.cli.options import add_out, add_shop, add_today, add_without, out_folder
from listkit.cli.progress import is_shop_folder, reading
from listkit.cli.report import print_json, say, say_done, say_fault
from listkit.ledger.faults import BusyLedgerError
from listkit.ledger.file import wait_for
from listkit.ledger.moments import local_time, moment_of
from listkit.ledger.store import LEDGER, Record, Stamp
from listkit.pipeline import check_shop
from listkit.present.history import record_json, recorded_json, recorded_text
from listkit.problem import FieldError, quoted

EXAMPLES: Final = (
    ('listkit record web_shop --note "spring prices"', "what you have just published there"),
    ("listkit record --all --at 2026-11-25T10:30", "every place, as of that time"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    add_shop(parser)
    add_today(parser, meaning="the day that the build was for, if it is not that of publishing; see --at for that")
    parser.add_argument("channel", nargs="?", default="", metavar="CHANNEL", help='its key or name, or "wholesale"')
    parser.add_argument("--all", action="store_true", help="all channels, and wholesale where there are terms for it")
    parser.add_argument("--note", default="", metavar="TEXT", help="a word on it, for later")
    add_out(parser)
    add_without(parser)
    parser.add_argument("--at", default="", metavar="TIME", help="when it was published, if not now: 2026-11-25T10:30")
    back = parser.add_mutually_exclusive_group()
    back.add_argument("--undo", action="store_true", help="take the channel's last record back; nothing is deleted")
    back.add_argument("--redate", action="store_true", help="give the last record the time of --at instead of its own")


def run(args: argparse.Namespace) -> int:
    """Record, take back or put right; 1 when that cannot be."""
    if args.all == bool(args.channel) or (args.all and (args.undo or args.redate)):
        say("Say which channel, or --all to record every one.")
        return 2
    if not is_shop_folder(args.shop):
        return 1
    try:
        stamp = Stamp(_moment(args.at), args.note, __version__)
    except ValueError:
        say(f"{quoted(args.at)} is no time that has been. Write it as in 2026-11-25T10:30.")
        return 2
    try:
        _wait_for_ledger(args.shop / LEDGER)
        if not (args.undo or args.redate):
            return _record(args, stamp)
        _mend(args, stamp)
    except FieldError as fault:
        say_fault(fault, "Not recorded: ")
        return 1
    return 0


def _wait_for_ledger(path: Path) -> None:
    """Wait for a ledger that another program has locked, once, before anything that would each wait for it.

    Raises:
        BusyLedgerError: it is still locked after that.
    """
    try:
        wait_for(path)
    except BusyLedgerError:
        raise
    except FieldError:  # what else is wrong with it is told where it is needed
        pass


def _mend(args: argparse.Namespace, stamp: Stamp) -> None:
    """Take a place's last record back, or put its time right.

    Raises:
        FieldError: there is none, or the ledger cannot be used.
    """
    if args.undo:
        taken = take_back(args.shop, args.channel, stamp)
        _print(args, taken, recorded=False, text=f"taken back: {taken.channel} as of {local_time(taken.at)}.")
    else:
        before, after = put_right(args.shop, args.channel, stamp)
        text = f"{after.channel} is recorded as of {local_time(after.at)}, no longer of {local_time(before.at)}."
        _print(args, after, recorded=True, text=text)


def _record(args: argparse.Namespace, stamp: Stamp) -> int:
    """Record one place, or all.

    Raises:
        FieldError: the one place cannot be recorded.
    """
    out = out_folder(args)
    with reading(args.shop, out) as (photos, searches):
        day = args.today or moment_of(stamp.at).date()
        listed = check_shop(args.shop, day, out, searches, without=args.without, photos=photos)
    recording = Recording(listed, out, stamp)
    if args.all:
        return _record_all(
            args, recording, dict.fromkeys((*listed.places, *(key for key in listed.aside.places if key != PRINT)))
        )
    recorded = recording.record(args.channel)
    if args.json:
        print_json(recorded_json(recorded))
    else:
        say_done(recorded_text(recorded))
    return 0


def _record_all(args: argparse.Namespace, recording: Recording, places: Iterable[str]) -> int:
    """Record every place; one that cannot be keeps no other back."""
    status, records = 0, {}
    for key in places:
        try:
            recorded = recording.record(key)
        except FieldError as fault:
            say_fault(fault, f"{key} not recorded: ")
            status = 1
            continue
        records[key] = recorded_json(recorded)
        if not args.json:
            say_done(recorded_text(recorded))
    if args.json:
        print_json(records)
    return status


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


def _print(args: argparse.Namespace, record: Record | None, *, recorded: bool, text: str) -> None:
    if not args.json:
        say_done(text)
        return
    print_json(record_json(record, recorded=recorded))
