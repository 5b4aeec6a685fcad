"""`listkit build` once anything has changed; loaded only then."""

import argparse

from listkit.actions.build import build_shop, large_changes
from listkit.cli.build import print_saved
from listkit.cli.progress import progress_bar, searching
from listkit.cli.report import print_json, print_refusal, say, say_fault
from listkit.pipeline import check_shop
from listkit.present.changes import brake_lines, brakes_json
from listkit.problem import FieldError, must_fix
from listkit.write.temporary import sweep_temporary


def build(args: argparse.Namespace, stamp: str, started: float) -> int:
    """Build the shop into args.out and return the exit status; write nothing while something must be fixed.

    `stamp` is what the build depends on, to be remembered with it; `started` when the command began.
    """
    sweep_temporary()
    with searching() as searches:
        checked = check_shop(args.shop, args.today, args.out, searches)
    if must_fix(checked.problems):
        print_refusal(checked.problems, as_json=args.json)
        return 1
    channel = next((each.key for each in checked.shop.channels if args.channel in (each.key, each.name)), "")
    if args.channel and not channel:
        there = ", ".join(each.key for each in checked.shop.channels) or "none"
        say(f'There is no channel "{args.channel}". There are: {there}.')
        return 2
    if not args.accept_large_changes and (brakes := large_changes(checked, channel)):
        if args.json:
            print_json(brakes_json(brakes))
        else:
            say("\n".join(brake_lines(brakes)))
        return 1
    try:
        with progress_bar("making") as progress:
            saved = build_shop(checked, args.out, channel=channel, workers=args.jobs, stamp=stamp, progress=progress)
    except FieldError as fault:
        say_fault(fault)
        return 1
    print_saved(saved, checked.problems, args, started)
    return 1 if saved.failures else 0
