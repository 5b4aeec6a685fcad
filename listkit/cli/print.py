"""`listkit print`: labels and cards in the numbers that are wanted, packing cards, cards with buyers' words."""

import argparse
import sys
from pathlib import Path
from typing import Final

from listkit.actions.days import MarketRequest, print_market, print_post
from listkit.actions.prints import KINDS, Printed, Request, print_asked
from listkit.cli.options import add_out, add_shop, add_today, out_folder, today, typed_day, typed_number, typed_path
from listkit.cli.progress import reading
from listkit.cli.report import print_json, print_problems, say, say_done, say_fault
from listkit.pipeline import Checked, check_shop
from listkit.present.problems import problems_json
from listkit.problem import FieldError, must_fix
from listkit.read.source import Given, read_named

DAYS: Final = ("market", "post")
EXAMPLES: Final = (
    ("listkit print labels --counts monday.csv --start 4", "so many of each, from the fourth place on"),
    ("listkit print market --place stall --day 2026-12-05", "what to take, and a sheet for what moved"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    kinds = (*KINDS, *DAYS)
    parser.add_argument("kind", choices=kinds, metavar="KIND", help=", ".join(kinds))
    parser.add_argument(
        "table", nargs="?", type=typed_path, metavar="ORDERS", help="for post: the table of a day's orders"
    )
    add_shop(parser)
    add_today(parser)
    parser.add_argument(
        "--counts", type=typed_path, metavar="FILE", help="a table of code and quantity; one of each if left out"
    )
    parser.add_argument(
        "--orders", type=typed_path, metavar="FILE", help="for messages: a table of order, set, words, from and to"
    )
    parser.add_argument("--place", default="", metavar="PLACE", help="for market: the channel where it is")
    parser.add_argument(
        "--day",
        type=typed_day,
        default=None,
        metavar="DATE",
        help="for market: the day; today if left out",
    )
    parser.add_argument(
        "--start", type=typed_number, default=1, metavar="N", help="the first place that is free on a sheet"
    )
    add_out(parser, meaning="where the build is, if not in out; files go into print/asked there")


def run(args: argparse.Namespace) -> int:
    """Print what is asked for; 1 when something must be fixed first."""
    args.out = out_folder(args)
    with reading(args.shop, args.out) as (photos, searches):
        day = args.day if args.kind == "market" and args.day else today(args)
        checked = check_shop(args.shop, day, args.out, searches, photos=photos)
        if checked.stopped:
            print_problems(checked.problems, sys.stderr, brief=True)
            return 1
        unread = any(each.place.file.startswith("channels/") for each in checked.problems if must_fix((each,)))
        if (checked.aside.broken or unread) and not args.json:  # a card lacks the code of a place that cannot be read
            print_problems(checked.problems, sys.stderr, brief=True)
        try:
            printed = _printed(args, checked)
        except FieldError as fault:
            say_fault(fault)
            return 1
    _print(args, printed)
    return 1 if must_fix(printed.problems) else 0


def _printed(args: argparse.Namespace, checked: Checked) -> Printed:
    if args.kind == "market":
        if not args.place:
            raise FieldError("which market?", "Name its channel: listkit print market --place stall.")
        return print_market(checked, MarketRequest(args.place, checked.day, _given(args.counts)), args.out)
    if args.kind == "post":
        orders = args.table or args.orders
        if orders is None:
            raise FieldError("the parcels of a day need a table of orders.", "Name it: listkit print post orders.csv.")
        return print_post(checked, read_named(orders), args.out)
    return print_asked(checked, Request(args.kind, _given(args.counts), _given(args.orders), args.start), args.out)


def _given(path: Path | None) -> Given | None:
    return read_named(path) if path is not None else None


def _print(args: argparse.Namespace, printed: Printed) -> None:
    if args.json:
        said = {"files": list(printed.files), "replaced": list(printed.replaced), "count": printed.count}
        print_json({**said, **problems_json(printed.problems)})
        return
    if printed.problems:
        print_problems(printed.problems, sys.stderr, all_by="")
    if not printed.files:
        say("Nothing was printed.")
        return
    say_done(f"{printed.count} in {args.out}")
    for path in printed.files:
        say(f"  {path}{', in place of the one before' if path in printed.replaced else ''}")
    if args.kind == "market":
        say("Type what moved into the sheet, then: listkit stock add the sheet.")
    if args.kind == "messages" or any("message-cards" in path for path in printed.files):
        say("The words are people's own: delete the file when it is printed, and the table when you need it no more.")
