"""`listkit compare`: hold what a channel shows now, as it gives it out of itself, against the shop folder."""

import argparse
import sys
from typing import Final

from listkit.actions.compare import compare_export, faults_on, open_export, write_corrections
from listkit.cli.options import add_out, add_shop, add_today, out_folder, today, typed_path
from listkit.cli.progress import is_shop_folder, reading
from listkit.cli.report import print_json, print_problems, say, say_done, say_fault
from listkit.pipeline import find_place, list_shop
from listkit.present.compare import comparison_json, comparison_lines
from listkit.problem import FieldError

EXAMPLES: Final = (
    ("listkit compare web_shop export.csv", "what the place shows now, against your shop"),
    ('listkit compare "Own web shop" export.xlsx --json', "the same, for a script"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    add_shop(parser)
    add_today(parser)
    parser.add_argument("channel", metavar="CHANNEL", help="its key or name")
    parser.add_argument("export", type=typed_path, metavar="EXPORT", help="what the channel gives out: CSV, XLSX, JSON")
    add_out(parser, meaning="where corrections go, if not into out")


def run(args: argparse.Namespace) -> int:
    """Print every difference and write the rows to send again; 1 where anything differs."""
    out = out_folder(args)
    if not is_shop_folder(args.shop):
        return 1
    with reading(args.shop, out) as (photos, searches):
        listed = list_shop(args.shop, today(args), out, searches, photos=photos)
    try:
        if faults := faults_on(listed, find_place(listed, args.channel)):
            print_problems(faults, sys.stderr, all_by="")
            say("Until this is mended, sets are left out that the channel may show rightly.")
            return 1
        opened = open_export(listed, args.channel, args.export)
        if opened.likely and not args.json:
            say(f"Its columns are rather those of {opened.likely}.")
        compared = compare_export(listed, opened)
        written = write_corrections(out, listed, opened.channel, compared)
    except FieldError as fault:
        say_fault(fault, f"{args.export.name}: ")
        return 1
    if args.json:
        print_json(comparison_json(compared))
    else:
        for line in comparison_lines(compared, opened.channel.name):
            print(line)
        if written:
            say_done(f"{out}: {', '.join(written)}.")
    return 1 if compared else 0
