"""`listkit orders`: the orders of stockists that are on record, what each shop has ordered, and when it last did."""

import argparse
from typing import Final

from listkit.actions.order_book import order_log
from listkit.cli.options import add_shop, add_today, today
from listkit.cli.progress import is_shop_folder
from listkit.cli.report import print_json, say_fault
from listkit.present.orders import log_json, log_text
from listkit.problem import FieldError

EXAMPLES: Final = (
    ("listkit orders", "every order, totals by shop, how long ago each ordered last"),
    ("listkit orders --json", "the same with every line, for scripts"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    add_shop(parser)
    add_today(parser, meaning="count days and weeks up to this one")


def run(args: argparse.Namespace) -> int:
    """Print the log; 1 when the ledger cannot be used."""
    if not is_shop_folder(args.shop):
        return 1
    try:
        log = order_log(args.shop)
    except FieldError as fault:
        say_fault(fault)
        return 1
    if args.json:
        print_json(log_json(log, today(args)))
    else:
        print(log_text(log, today(args)))
    return 0
