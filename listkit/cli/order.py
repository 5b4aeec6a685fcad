"""`listkit order`: a form that a shop filled in, checked against its line sheet, confirmed, and made a pick list.

An order that is confirmed is in the ledger; `--sent`, `--cancel` and `--undo` follow it there.
"""

import argparse
import sys
from typing import Final

from listkit.actions.order_book import Buyers, cancel_order, reopen_order, send_order
from listkit.actions.orders import CheckedOrder, Confirmation, check_form, confirm_order, kept_of
from listkit.cli.options import add_out, add_shop, add_today, out_folder, today, typed_path
from listkit.cli.progress import reading
from listkit.cli.report import print_json, print_problems, print_refusal, say, say_done, say_fault
from listkit.ledger.orders import OrderState
from listkit.pipeline import Listed, list_shop
from listkit.present.orders import kept_json, kept_line, order_json, order_text
from listkit.present.problems import problems_json
from listkit.problem import FieldError, Problem, must_fix
from listkit.read.source import given_file

EXAMPLES: Final = (
    ("listkit order form.xlsx", "check a filled form, confirm it when all agrees"),
    ("listkit order form.xlsx --sent", "it has left the house today"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    add_shop(parser)
    add_today(parser)
    parser.add_argument("form", type=typed_path, metavar="FORM", help="the filled form, or a CSV of code and quantity")
    parser.add_argument(
        "--sheet", default="", metavar="VERSION", help="the line sheet ordered by, where the form names none"
    )
    parser.add_argument(
        "--stockist", default="", metavar="CODE", help="who sent it, where the form does not say; as in stockists.csv"
    )
    parser.add_argument("--anyway", action="store_true", help="confirm what can be, though not all of it agrees")
    follows = parser.add_mutually_exclusive_group()
    follows.add_argument(
        "--sent", dest="then", action="store_const", const=OrderState.SENT, help="note that the order was sent"
    )
    follows.add_argument(
        "--cancel", dest="then", action="store_const", const=OrderState.CANCELLED, help="note that it was cancelled"
    )
    follows.add_argument(
        "--undo",
        dest="then",
        action="store_const",
        const=OrderState.CONFIRMED,
        help="take back that it was sent or cancelled; nothing is deleted",
    )
    add_out(parser)


def run(args: argparse.Namespace) -> int:
    """Check the order; write its confirmation and pick list when all agrees, or anyway; 1 when it does not."""
    args.out = out_folder(args)
    with reading(args.shop, args.out) as (photos, searches):
        listed = list_shop(args.shop, today(args), args.out, searches, photos=photos)
    if args.then is None and must_fix(listed.problems):
        print_problems(listed.problems, sys.stderr, all_by="")
        say("Until this is mended, lines are left out that are not gone.")
        return 1
    try:
        given = given_file(args.form)
        checked = (
            (given,) if isinstance(given, Problem) else check_form(listed, given, args.sheet, stockist=args.stockist)
        )
        if not isinstance(checked, CheckedOrder):
            print_refusal(checked, as_json=args.json)
            return 1
        if args.then is not None:
            return _follow(args, checked, listed)
        confirms = checked.confirms(anyway=args.anyway)
        confirmation = confirm_order(checked, listed, args.out) if confirms else None
    except FieldError as fault:
        say_fault(fault)
        return 1
    _print(args, checked, confirmation)
    return 1 if checked.stopped else 0


def _follow(args: argparse.Namespace, checked: CheckedOrder, listed: Listed) -> int:
    """Note what became of the order.

    Raises:
        FieldError: it is not on record, or that cannot become of it.
    """
    follow = {
        OrderState.SENT: send_order,
        OrderState.CANCELLED: cancel_order,
        OrderState.CONFIRMED: reopen_order,
    }[args.then]
    order = follow(args.shop, kept_of(checked, args.then).number, listed.day)
    if args.json:
        print_json({"order": kept_json(order)})
    else:
        buyer = Buyers(listed.shop.stockists).of_order(order)
        say_done(f"On record: {kept_line(order, buyer.name, listed.shop.settings.spoken)}.")
    return 0


def _print(args: argparse.Namespace, checked: CheckedOrder, confirmation: Confirmation | None) -> None:
    order = checked.confirmed if confirmation else checked.case.order
    files = list(confirmation.files) if confirmation else []
    if args.json:
        kept = {"order": {**kept_json(confirmation.order), "new": confirmation.new}} if confirmation else {}
        print_json({**order_json(order, checked.case.form), "files": files, **kept, **problems_json(checked.problems)})
        return
    print(order_text(order, confirmed=confirmation is not None))
    if checked.problems:
        say("\nWhat to settle" if checked.stopped else "\nWhat to look at")
        print_problems(checked.problems, sys.stderr)
    if confirmation is None:
        way = "ask for less" if checked.refused else "confirm what can be with --anyway"
        way = "cancel the one on record with --cancel" if checked.clashes else way
        say(f"Nothing was confirmed. Settle it with the shop, or {way}.")
    elif files:
        say(f"\nOn record: {kept_line(confirmation.order, checked.buyer.name, checked.case.spoken)}.")
        say_done(f"Written in {args.out}")
        for path in files:
            say(f"  {path}")
    else:
        say("By now other lines can be confirmed than were; what was confirmed holds, and its files stay as they are.")
