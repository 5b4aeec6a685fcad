"""`listkit check`: every problem of the shop, each with its place and what to write instead; or one code explained."""

import argparse
import sys
from typing import Final

from listkit.check.limits import most_small_print
from listkit.check.thresholds import explain
from listkit.cli.options import add_out, add_shop, add_today, out_folder, today
from listkit.cli.progress import reading
from listkit.cli.report import print_json, print_problems, print_wrapped, say_fault
from listkit.listing.listings import Listings
from listkit.pipeline import check_shop, open_settings
from listkit.present.problems import counted, problems_json
from listkit.problem import FieldError, Problem, must_fix, not_in
from listkit.save.made import problems_of_last_build

EXAMPLES: Final = (
    ("listkit check --new", "what the last build did not remark yet"),
    ("listkit check --explain photo-small", "what a word behind a message means, and how to switch it off"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    add_shop(parser)
    add_today(parser)
    parser.add_argument("--new", action="store_true", help="show only what the last build did not remark yet")
    parser.add_argument("--all", action="store_true", help="show every problem, however many are alike")
    add_out(parser)
    parser.add_argument(
        "--explain", default="", metavar="CODE", help="what the word behind a message means, and its switch"
    )


def run(args: argparse.Namespace) -> int:
    """Print all problems, 1 when something must be fixed; or explain one code, 2 when there is no such code."""
    if args.explain:
        return _explain(args.explain, args)
    with reading(args.shop, out_folder(args)) as (photos, searches):
        checked = check_shop(args.shop, today(args), out_folder(args), searches, photos=photos)
    problems = checked.problems
    if args.new:
        _print_new(problems, args)
    elif args.json:
        print_json(problems_json(problems))
    else:
        print_problems(problems, sys.stdout, whole=args.all)
        if not must_fix(problems):
            _print_small_print(checked.listings, each=args.all)
    return 1 if must_fix(problems) else 0


_FEW: Final = 12  # sets that are named each in one line


def _print_small_print(listings: Listings, *, each: bool) -> None:
    """Print how much of the sets' texts is small print, of each set the text with most; nothing where none has any.

    Few sets, or all of them where `each` is asked for, are named one by one, the most first; many by least and most.
    """
    measured = most_small_print(listings)
    if not measured:
        return
    names = {facts.code: facts.name for facts in listings.catalog.sets}
    start = "Small print, as ingredients and cautions, of each set's text at most"
    if each or len(measured) <= _FEW:
        shares = ", ".join(f"{names[of.facts.code]} {share * 100:.0f} %" for share, of in measured)
        print_wrapped(f"{start}: {shares}.", sys.stdout)
        return
    (most, of), (least, _) = measured[0], measured[-1]
    where = f"most in {names[of.facts.code]} for {of.channel.name}"
    print_wrapped(f"{start}: {least * 100:.0f} to {most * 100:.0f} %, {where}; --all shows each.", sys.stdout)


def _print_new(problems: tuple[Problem, ...], args: argparse.Namespace) -> None:
    """Print what the last build did not remark yet, and how much it did."""
    before = problems_of_last_build(out_folder(args))
    new = not_in(before or (), problems)
    known = tuple(problem for problem in problems if problem not in new)
    if args.json:
        print_json({**problems_json(new), "known": len(known)})
        return
    if new or before is None:
        print_problems(new, sys.stdout, whole=args.all)
    if before is None:
        print("There is no build to compare with, so that all are shown.")
    else:
        nothing = "" if new else "Nothing is new. "
        print(f"{nothing}Known from the last build: {counted(known)}; listkit check shows all.")


def _explain(code: str, args: argparse.Namespace) -> int:
    try:
        text = explain(code, open_settings(args.shop))
    except FieldError as fault:
        say_fault(fault)
        return 2
    if args.json:
        print_json({"code": code, "told": text})
    else:
        print(text)
    return 0
