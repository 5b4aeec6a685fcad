"""`listkit plan`: what to make by when, what to buy, what can no longer be met; the year as a calendar."""

import argparse
import csv
import sys
from typing import Final

from listkit.actions.plan import lacks, plan_of, propose, rows_as_table, write_calendar
from listkit.cli.options import add_out, add_shop, add_today, out_folder, today
from listkit.cli.progress import is_shop_folder, reading
from listkit.cli.report import print_json, say, say_done, say_fault, say_part
from listkit.cli.terminal import exact
from listkit.model.making import PLAN_FILE
from listkit.pipeline import Listed, list_shop
from listkit.present.plan import plan_json, plan_lines
from listkit.problem import FieldError
from listkit.units.quantity import parse_share

EXAMPLES: Final = (
    ("listkit plan", "batches, pour by, ready on, what to buy"),
    ('listkit plan --propose "120 %"', "a plan.csv of a fifth more than last season sold"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    add_shop(parser)
    add_today(parser)
    parser.add_argument(
        "--propose", default="", metavar="SHARE", help='print a plan.csv: what last season sold, times "120 %%"'
    )
    parser.add_argument("--calendar", action="store_true", help="write the year as calendar.ics and as a page")
    add_out(parser, meaning="where the build is, if not in out; the calendar goes into print/asked there")


def run(args: argparse.Namespace) -> int:
    """Print the make list; 1 where something can no longer be met, or must be settled first."""
    if not is_shop_folder(args.shop):
        return 1
    with reading(args.shop, out_folder(args)) as (photos, searches):
        listed = list_shop(args.shop, today(args), out_folder(args), searches, photos=photos)
    try:
        if args.propose:
            return _propose(args, listed)
        if args.calendar:
            return _calendar(args, listed)
    except FieldError as fault:
        say_fault(fault)
        return 1
    plan = plan_of(listed)
    lacking = lacks(listed, plan)
    if args.json:
        print_json(plan_json(plan, listed.shop, listed.day))
    elif plan.wanted or PLAN_FILE not in lacking:
        for line in plan_lines(plan, listed.shop):
            print(line)
    for file in lacking:
        does = "can be planned" if file == PLAN_FILE else "is reckoned with"
        say(f"Not all of {file} {does} until something is mended: listkit check says what.")
    if plan.no_work is not None:
        last = listed.shop.settings.spoken.day(plan.no_work)
        say(f"There is no day before {last} on which anybody works. See [workshop] in shop.toml.")
    in_part = say_part(listed.shop.movements.in_part)
    return 1 if plan.late or lacking or in_part or plan.no_work is not None else 0


def _propose(args: argparse.Namespace, listed: Listed) -> int:
    """Print the rows of a plan."""
    proposal = propose(listed, parse_share(args.propose))
    if args.json:
        cells = ("set_or_item", "place", "how_many", "by_when")
        print_json([dict(zip(cells, row, strict=True)) for row in rows_as_table(proposal.rows)[1:]])
    else:
        csv.writer(exact(sys.stdout), lineterminator="\n").writerows(rows_as_table(proposal.rows))
    spoken = listed.shop.settings.spoken
    for season, first, last in proposal.looked:
        say(f"{season}: as {spoken.day(first)} to {spoken.day(last)} sold.")
    return int(say_part(listed.shop.movements.in_part))


def _calendar(args: argparse.Namespace, listed: Listed) -> int:
    """Write the calendar and its page."""
    out = out_folder(args)
    files = write_calendar(listed, out)
    if args.json:
        print_json({"files": list(files)})
    else:
        say_done(f"{out}: {', '.join(files)}.")
    return int(say_part(listed.shop.movements.in_part))
