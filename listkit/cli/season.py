"""`listkit season`: a season looked back on, and next year's made from it."""

import argparse
import csv
import sys
from typing import Final

from listkit.actions.next_year import over_to
from listkit.actions.season import end_of_season, pictures_of
from listkit.cli.options import add_shop, add_today, today, typed_number, typed_path
from listkit.cli.progress import is_shop_folder
from listkit.cli.report import print_json, say_done, say_fault, say_part
from listkit.cli.terminal import BOLD, exact, painted
from listkit.listing.cells import text_cell
from listkit.model.channel import Dialect
from listkit.present.season import next_year_json, next_year_lines, season_json, season_lines, season_rows
from listkit.present.season_page import season_page
from listkit.problem import FieldError
from listkit.save.asked import write_page

EXAMPLES: Final = (
    ('listkit season "winter"', "what it left, what is left of it, what goes off where"),
    ('listkit season "winter" --again 2027', "its sets as drafts for another year"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    parser.add_argument("season", metavar="NAME", help="the season, as shop.toml calls it")
    parser.add_argument("--scarce", default="", metavar="CODE", help="what was scarce; found out if left out")
    parser.add_argument("--csv", action="store_true", help="print a table, for a spreadsheet")
    parser.add_argument("--page", type=typed_path, metavar="FILE", help="write it as a page to look at and to print")
    parser.add_argument(
        "--again", type=typed_number, default=0, metavar="YEAR", help="make its sets anew for this year, as drafts"
    )
    add_shop(parser)
    add_today(parser)


def run(args: argparse.Namespace) -> int:
    """Print what a season came to; 1 where there is none of that name, or the ledger cannot be used."""
    if not is_shop_folder(args.shop):
        return 1
    try:
        if args.again:
            return _again(args)
        end = end_of_season(args.shop, args.season, today(args), args.scarce)
        if args.page:
            write_page(args.page, season_page(end, pictures_of(end)), args.shop)
    except FieldError as fault:
        say_fault(fault)
        return 1
    if args.page:
        say_done(f"{args.page} is written.")
    if args.json:
        print_json(season_json(end))
    elif args.csv:
        safe = text_cell(Dialect())
        csv.writer(exact(sys.stdout), lineterminator="\n").writerows(tuple(map(safe, row)) for row in season_rows(end))
    elif not args.page:
        for line in season_lines(end, lambda text: painted(text, BOLD, sys.stdout)):
            print(line)
    return int(say_part(end.shop.movements.in_part))


def _again(args: argparse.Namespace) -> int:
    year = over_to(args.shop, args.season, args.again)
    if args.json:
        print_json(next_year_json(year))
    else:
        for line in next_year_lines(args.shop, year):
            print(line)
    return 0
