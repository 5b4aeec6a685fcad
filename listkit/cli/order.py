"""`listkit order`: a form that a shop filled in, checked against its line sheet, confirmed, and made a pick list."""

import argparse
import sys
from pathlib import Path
from typing import Final

from listkit.actions.orders import CheckedOrder, check_form, write_order
from listkit.cli.options import add_out, add_shop, add_today, out_folder, today
from listkit.cli.progress import searching
from listkit.cli.report import print_json, print_problems, print_refusal, say, say_done, say_fault
from listkit.pipeline import list_shop
from listkit.present.orders import order_json, order_text
from listkit.present.problems import problems_json
from listkit.problem import FieldError, must_fix

EXAMPLES: Final = (
    ("listkit order form.xlsx", "check a filled form, confirm it when all agrees"),
    ("listkit order order.csv --sheet 3KLDR --anyway", "by that line sheet, as much as can be"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    add_shop(parser)
    add_today(parser)
    parser.add_argument("form", type=Path, metavar="FORM", help="the filled form, or a CSV of code and quantity")
    parser.add_argument(
        "--sheet", default="", metavar="VERSION", help="the line sheet ordered by, where the form names none"
    )
    parser.add_argument("--anyway", action="store_true", help="confirm what can be, though not all of it agrees")
    add_out(parser)


def run(args: argparse.Namespace) -> int:
    """Check the order; write its confirmation and pick list when all agrees, or anyway; 1 when it does not."""
    args.out = out_folder(args)
    with searching() as searches:
        listed = list_shop(args.shop, today(args), args.out, searches)
    if must_fix(listed.problems):
        print_problems(listed.problems, sys.stderr)
        say("Until this is mended, lines are left out that are not gone.")
        return 1
    try:
        checked = check_form(listed, args.form, args.sheet)
        if not isinstance(checked, CheckedOrder):
            print_refusal(checked, as_json=args.json)
            return 1
        confirms = not checked.stopped or bool(args.anyway and checked.case.order.lines and not checked.refused)
        files = write_order(checked, listed, args.out, args.form) if confirms else []
    except FieldError as fault:
        say_fault(fault)
        return 1
    _print(args, checked, files, confirms=confirms)
    return 1 if checked.stopped else 0


def _print(args: argparse.Namespace, checked: CheckedOrder, files: list[str], *, confirms: bool) -> None:
    order = checked.confirmed if confirms else checked.case.order
    if args.json:
        print_json({**order_json(order, checked.case.form), "files": files, **problems_json(checked.problems)})
        return
    print(order_text(order, confirmed=confirms))
    if checked.problems:
        say("\nWhat to settle" if checked.stopped else "\nWhat to look at")
        print_problems(checked.problems, sys.stderr)
    if files:
        say_done(f"\nWritten in {args.out}")
        for path in files:
            say(f"  {path}")
    else:
        way = "ask for less" if checked.refused else "confirm what can be with --anyway"
        say(f"Nothing was confirmed. Settle it with the shop, or {way}.")
