"""`listkit rename`: another code for an item or a set, first shown at every place, with `--apply` written."""

import argparse
from typing import Final

from listkit.actions.rename import Rename, plan_rename
from listkit.cli.options import add_shop
from listkit.cli.progress import is_shop_folder
from listkit.cli.report import print_json, say, say_done, say_fault
from listkit.present.renaming import rename_json, rename_lines, typed_lines
from listkit.problem import FieldError

EXAMPLES: Final = (
    ("listkit rename OH-B01 OH-SOAP-1", "show every place that names it"),
    ("listkit rename OH-B01 OH-SOAP-1 --apply", "write it there"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    add_shop(parser)
    parser.add_argument("old", metavar="OLD", help="the code of an item or a set, as it is now")
    parser.add_argument("new", metavar="NEW", help="the code that it is to have")
    parser.add_argument("--apply", action="store_true", help="write it into all files; the old code stays understood")


def run(args: argparse.Namespace) -> int:
    """Print or change every place; 1 when that cannot be done."""
    if not is_shop_folder(args.shop):
        return 1
    try:
        rename = plan_rename(args.shop, args.old, args.new)
        written = args.apply and bool(rename.files) and not rename.by_hand
        if written:
            rename.apply()
    except FieldError as fault:
        say_fault(fault)
        return 1
    if args.json:
        print_json(rename_json(rename, written=written))
    else:
        _print(rename, written=written, asked=args.apply)
    return 1 if args.apply and rename.by_hand else 0


def _print(rename: Rename, *, written: bool, asked: bool) -> None:
    for line in rename_lines(rename):
        print(line)
    if rename.by_hand:
        for line in typed_lines(rename):
            say(line)
        say("Nothing was written. Once that is typed, the same command writes the rest.")
    elif written:
        say_done(f"All are written; {rename.old} is kept as an old code. Build, publish, record.")
    elif rename.files and not asked:
        say_done("Nothing was written; --apply writes them.")
