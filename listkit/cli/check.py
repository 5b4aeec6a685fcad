"""`listkit check`: every problem of the shop, each with its place and what to write instead."""

import argparse
import datetime
import sys

from listkit.cli.opening import check_shop
from listkit.cli.options import add_shop, add_today
from listkit.cli.report import problems_json, report
from listkit.problem import must_fix


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_shop(parser)
    add_today(parser)


def run(args: argparse.Namespace) -> int:
    """Tell all problems; 1 when something must be fixed."""
    today = args.today or datetime.date.today()  # noqa: DTZ011 - the owner's own day
    checked = check_shop(args.shop, args.shop / "out", today)
    if args.json:
        print(problems_json(checked.problems))
    else:
        report(checked.problems, sys.stdout)
    return 1 if must_fix(checked.problems) else 0
