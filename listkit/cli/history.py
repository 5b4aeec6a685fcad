"""`listkit history`: every price of a variant, item or line for shops, where and when; the lowest before today."""

import argparse
from typing import Final

from listkit.actions.history import draw_history, history_of
from listkit.cli.options import add_shop, add_today, today, typed_path
from listkit.cli.progress import is_shop_folder
from listkit.cli.report import print_json, say_done, say_fault
from listkit.pipeline import open_shop
from listkit.present.history import history_json, history_lines
from listkit.problem import FieldError, times

EXAMPLES: Final = (
    ("listkit history OH-B01", "every price of an item"),
    ("listkit history OHS-1-S03 --svg prices.svg", "of a variant, drawn"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    add_shop(parser)
    add_today(parser)
    parser.add_argument("code", metavar="CODE", help="a variant's or item's code")
    parser.add_argument("--svg", type=typed_path, metavar="FILE", help="draw the prices over time into this file")


def run(args: argparse.Namespace) -> int:
    """Print the prices; 1 when none was ever recorded."""
    if not is_shop_folder(args.shop):
        return 1
    day = today(args)
    try:
        shop = open_shop(args.shop).shop
        history = history_of(shop, args.code, day)
        if args.svg is not None:
            drawn = draw_history(args.svg, shop, history, day)
            say_done(f"{drawn}: {times(len(history.points), 'price')}.")
    except FieldError as fault:
        say_fault(fault)
        return 1
    if args.json:
        print_json(history_json(history))
    else:
        for line in history_lines(history, day, shop.settings.spoken):
            print(line)
    return 0
