"""`listkit stock`: what is on hand, reserved and free; what moved added from a sheet, counted, taken back."""

import argparse
import datetime
import sys
from pathlib import Path
from typing import Final

from listkit.actions.stock import Added, StockShop, add_file, open_stock, start_stock, undo
from listkit.actions.stock_sheets import AddRequest
from listkit.cli.options import add_shop, add_today, today, typed_day
from listkit.cli.progress import is_shop_folder
from listkit.cli.report import print_json, print_problems, print_refusal, say, say_done, say_fault
from listkit.present.stock import added_json, added_lines, code_lines, stock_json, stock_lines
from listkit.problem import FieldError, quoted
from listkit.read.source import read_named

EXAMPLES: Final = (
    ("listkit stock add saturday.csv --place stall", "what was sold, broken, given; before and after"),
    ("listkit stock show OH-B01", "every line of one code, with the stock after it"),
)
_WHAT: Final = "show: a code; add: the file; undo: a batch, the last one if left out"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    parser.add_argument(
        "step", nargs="?", default="show", choices=("show", "start", "add", "undo"), metavar="STEP",
        help="show (if left out), start: count all from the sheet, add, undo",
    )  # fmt: skip
    parser.add_argument("what", nargs="?", default="", metavar="WHAT", help=_WHAT)
    add_shop(parser)
    add_today(parser)
    parser.add_argument("--place", default="", metavar="PLACE", help="where it was sold: a channel, or a word of yours")
    parser.add_argument(
        "--day",
        type=typed_day,
        default=None,
        metavar="DATE",
        help="the day, where the sheet has none",
    )
    parser.add_argument("--again", action="store_true", help="add a file that was added before: it happened twice")
    parser.add_argument("--look", action="store_true", help="show before and after; write nothing")


def run(args: argparse.Namespace) -> int:
    """Show or change the stock; 1 where something must be settled first."""
    if not is_shop_folder(args.shop):
        return 1
    stock, stopping = open_stock(args.shop)
    if stopping:
        print_refusal(stopping, as_json=args.json)
        return 1
    try:
        if args.step == "show":
            return _show(args, stock)
        added = _added(args, stock)
    except FieldError as fault:
        say_fault(fault)
        return 1
    if args.json:
        print_json(added_json(added, stock))
    else:
        _print(added, stock)
    return 1 if added.stopped else 0


def _added(args: argparse.Namespace, stock: StockShop) -> Added:
    if args.step == "start":
        return start_stock(stock, args.day or today(args) - datetime.timedelta(1))
    if args.step == "undo":
        return undo(stock, args.what)
    if not args.what:
        raise FieldError("which file?", "Name it: listkit stock add saturday.csv --place stall.")
    request = AddRequest(
        file=read_named(Path(args.what)),
        now=datetime.datetime.now(datetime.UTC),
        today=today(args),
        day=args.day,
        place=args.place,
        again=args.again,
        look=args.look,
    )
    return add_file(stock, request)


def _show(args: argparse.Namespace, stock: StockShop) -> int:
    code = stock.goods.find(args.what) if args.what else ""
    if code is None:
        raise FieldError(f"there is nothing with the code {quoted(args.what)}.", "listkit stock shows all there are.")
    if args.json:
        print_json(stock_json(stock))
        return 0
    for line in code_lines(stock, code) if code else stock_lines(stock):
        print(line)
    return 0


def _print(added: Added, stock: StockShop) -> None:
    if added.moves:
        for line in added_lines(added, stock):
            print(line)
    if added.problems:
        say("\nWhat to settle" if added.stopped else "\nWhat to look at")
        print_problems(added.problems, sys.stderr, all_by="")
    if added.written:
        number = len(added.moves)
        lines = "1 line is" if number == 1 else f"{number} lines are"
        kept = f"in movements.csv as {added.batch}; listkit stock undo takes {'it' if number == 1 else 'them'} back."
        say_done(f"\n{lines} {'taken back.' if added.moves[0].takes_back else kept}")
    else:
        say("Nothing was written.")
