"""`listkit new`: a small shop that builds at once, or a shop around the sheet that the owner keeps already."""

import argparse
import sys
from functools import partial
from typing import Final

from listkit.actions.own_sheet import make_shop_around, read_own_sheet
from listkit.cli.options import typed_path
from listkit.cli.report import print_json, say_fault
from listkit.cli.terminal import BOLD, painted
from listkit.edit.starter import copy_starter
from listkit.present.starting import new_shop_json, new_shop_lines
from listkit.problem import FieldError, as_typed
from listkit.shipped import shipped_templates

EXAMPLES: Final = (
    ("listkit new my_shop", "a small shop that builds at once"),
    ('listkit new my_shop --items "my sheet.xlsx"', "one from your own sheet"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    parser.add_argument(
        "folder", type=typed_path, metavar="FOLDER", help="the new shop folder; it must not be there yet"
    )
    parser.add_argument(
        "--items",
        type=typed_path,
        metavar="SHEET",
        help="your own sheet (CSV, .xlsx, .ods); it is copied, never changed",
    )
    parser.add_argument("--json", action="store_true", help="print JSON, for scripts")


def run(args: argparse.Namespace) -> int:
    """Make the folder and print what to do next; 1 when it cannot be made."""
    try:
        if args.items:
            _make_around_sheet(args)
        else:
            _copy_starter(args)
    except FieldError as fault:
        say_fault(fault)
        return 1
    return 0


def _copy_starter(args: argparse.Namespace) -> None:
    files = copy_starter(shipped_templates() / "new_shop", args.folder)
    if args.json:
        print_json({"folder": str(args.folder), "files": list(files)})
        return
    print(f"{args.folder}: {len(files)} files. Next:")
    print(f"  listkit build --shop {as_typed(args.folder)}    see what comes out")
    print("  then put your own goods into items.csv, your boxes into packaging.toml, your sets under sets/")


def _make_around_sheet(args: argparse.Namespace) -> None:
    new = make_shop_around(read_own_sheet(args.items), args.folder)
    if args.json:
        print_json(new_shop_json(args.folder, new))
        return
    for line in new_shop_lines(args.folder, new, partial(painted, paint=BOLD, stream=sys.stdout)):
        print(line)
