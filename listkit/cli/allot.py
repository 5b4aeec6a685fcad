"""`listkit allot`: what there is shared out among the places, kept in allotment.csv, which feeds publish."""

import argparse
import datetime
from typing import Final

from listkit.actions.allot import allot
from listkit.cli.options import add_shop, add_today, today
from listkit.cli.progress import is_shop_folder
from listkit.cli.report import print_json, print_refusal, say_done, say_fault
from listkit.present.allotment import allotment_json, allotment_lines
from listkit.problem import FieldError

EXAMPLES: Final = (
    ("listkit allot --look", "show who would get what; write nothing"),
    ("listkit allot", "keep it in allotment.csv; the next build publishes it"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    add_shop(parser)
    add_today(parser, meaning="share out for this day")
    parser.add_argument("--look", action="store_true", help="show who would get what; write nothing")


def run(args: argparse.Namespace) -> int:
    """Share out and keep it; 1 where wishes cannot be kept, or something must be settled first."""
    if not is_shop_folder(args.shop):
        return 1
    try:
        run = allot(args.shop, today(args))
        if run.problems:
            print_refusal(run.problems, as_json=args.json)
            return 1
        written = not args.look and run.write(datetime.datetime.now(datetime.UTC)) > 0
    except FieldError as fault:
        say_fault(fault)
        return 1
    if args.json:
        print_json(allotment_json(run, written=written))
        return 0
    for line in allotment_lines(run):
        print(line)
    if written:
        say_done("It is in allotment.csv. Build, then send each place its stock.")
    else:
        say_done("Nothing was written." if args.look else "That is what allotment.csv has; nothing was written.")
    return 0
