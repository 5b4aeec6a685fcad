"""`listkit check`: every problem of the shop, each with its place and what to write instead; or one code explained."""

import argparse
import datetime
import json
import sys

from listkit.check.thresholds import explain
from listkit.cli.opening import check_shop, open_settings
from listkit.cli.options import add_shop, add_today
from listkit.cli.report import problems_json, report, tell
from listkit.problem import FieldError, must_fix


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_shop(parser)
    add_today(parser)
    parser.add_argument("--explain", default="", metavar="CODE", help="tell a code's rule, figure, source and switch")


def run(args: argparse.Namespace) -> int:
    """Tell all problems, 1 when something must be fixed; or explain one code, 2 when there is no such code."""
    if args.explain:
        return _explain(args.explain, args)
    today = args.today or datetime.date.today()  # noqa: DTZ011 - the owner's own day
    checked = check_shop(args.shop, args.shop / "out", today)
    if args.json:
        print(problems_json(checked.problems))
    else:
        report(checked.problems, sys.stdout)
    return 1 if must_fix(checked.problems) else 0


def _explain(code: str, args: argparse.Namespace) -> int:
    try:
        told = explain(code, open_settings(args.shop))
    except FieldError as fault:
        tell(f"{fault.message} {fault.hint}".rstrip())
        return 2
    print(json.dumps({"code": code, "told": told}, ensure_ascii=False) if args.json else told)
    return 0
