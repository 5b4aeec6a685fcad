"""`listkit print`: labels and cards in the numbers that are wanted, packing cards, cards with buyers' words."""

import argparse
import sys
from pathlib import Path
from typing import Final

from listkit.actions.prints import KINDS, Printed, Request, print_asked
from listkit.cli.options import add_out, add_shop, add_today, out_folder, today
from listkit.cli.progress import searching
from listkit.cli.report import print_json, print_problems, say, say_done, say_fault
from listkit.pipeline import check_shop
from listkit.present.problems import problems_json
from listkit.problem import FieldError, Problem, must_fix
from listkit.read.source import Given, given_file

EXAMPLES: Final = (
    ("listkit print labels --counts monday.csv --start 4", "so many of each, from the fourth place on"),
    ("listkit print messages --orders orders.xlsx", "a card for each order with words"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    parser.add_argument("kind", choices=KINDS, metavar="KIND", help=", ".join(KINDS))
    add_shop(parser)
    add_today(parser)
    parser.add_argument(
        "--counts", type=Path, metavar="FILE", help="a table of code and quantity; one of each if left out"
    )
    parser.add_argument(
        "--orders", type=Path, metavar="FILE", help="for messages: a table of order, set, words, from and to"
    )
    parser.add_argument("--start", type=int, default=1, metavar="N", help="the first place that is free on a sheet")
    add_out(parser, meaning="where the build is, if not in out; files go into print/asked there")


def run(args: argparse.Namespace) -> int:
    """Print what is asked for; 1 when something must be fixed first."""
    args.out = out_folder(args)
    with searching() as searches:
        checked = check_shop(args.shop, today(args), args.out, searches)
        if checked.stopped:
            print_problems(checked.problems, sys.stderr, brief=True)
            return 1
        if checked.aside.broken and not args.json:
            print_problems(checked.problems, sys.stderr, brief=True)
        try:
            request = Request(args.kind, _given(args.counts), _given(args.orders), args.start)
            printed = print_asked(checked, request, args.out)
        except FieldError as fault:
            say_fault(fault)
            return 1
    _print(args, printed)
    return 1 if must_fix(printed.problems) else 0


def _given(path: Path | None) -> Given | None:
    """Return a table that is named, None for none.

    Raises:
        FieldError: there is no such file, or it cannot be read.
    """
    given = given_file(path) if path is not None else None
    if isinstance(given, Problem):
        raise FieldError(f"{given.place.file}: {given.message}", given.hint)
    return given


def _print(args: argparse.Namespace, printed: Printed) -> None:
    if args.json:
        print_json({"files": list(printed.files), "count": printed.count, **problems_json(printed.problems)})
        return
    if printed.problems:
        print_problems(printed.problems, sys.stderr)
    if not printed.files:
        say("Nothing was printed.")
        return
    say_done(f"{printed.count} in {args.out}")
    for path in printed.files:
        say(f"  {path}")
    if args.kind == "messages":
        say("The words are people's own: delete the file when it is printed, and the table when you need it no more.")
