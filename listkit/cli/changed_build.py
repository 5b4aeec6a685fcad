"""`listkit build` once anything has changed; loaded only then."""

import argparse

from listkit.actions.build import build_unless_braked
from listkit.cli.build import print_saved
from listkit.cli.progress import progress_bar, searching
from listkit.cli.report import print_json, print_refusal, say, say_fault
from listkit.pipeline import Checked, check_shop
from listkit.present.changes import brake_lines, brakes_json
from listkit.problem import FieldError, must_fix, quoted
from listkit.read.photos import PhotoMemory
from listkit.save.temporary import sweep_temporary


def build(args: argparse.Namespace, stamp: str, started: float, photos: PhotoMemory) -> int:
    """Build what can be published into args.out; return 1 where anything else must be fixed or could not be made.

    `stamp` is what the build depends on, to be remembered with it; `started` when the command began; `photos` are being
    measured.
    """
    sweep_temporary()
    try:
        with searching(photos=photos) as searches:
            checked = check_shop(args.shop, args.today, args.out, searches, without=args.without, photos=photos)
    except FieldError as fault:
        say_fault(fault)
        return 2
    fixes = must_fix(checked.problems)
    if checked.stopped or (args.strict and fixes):
        print_refusal(checked.problems, as_json=args.json, brief=True)
        return 1
    channel = _channel(checked, args.channel)
    if args.channel and not channel:
        there = ", ".join(each.key for each in checked.shop.channels) or "none"
        say(f"There is no channel {quoted(args.channel)}. There are: {there}.")
        return 2
    try:
        with progress_bar("making files") as progress:
            built = build_unless_braked(
                checked,
                args.out,
                channel=channel,
                accept=args.accept_large_changes,
                stamp=stamp,
                workers=args.jobs,
                progress=progress,
            )
    except FieldError as fault:
        say_fault(fault)
        return 1
    if built.saved is None:
        if args.json:
            print_json(brakes_json(built.brakes))
        else:
            say("\n".join(brake_lines(built.brakes)))
        return 1
    print_saved(built.saved, checked.problems, built.notes, args, started)
    return 1 if built.saved.failures or fixes else 0


def _channel(checked: Checked, wanted: str) -> str:
    """Return the key of the channel that is asked for, one that cannot be read among them; "" for none."""
    named = (each.key for each in checked.shop.channels if wanted in (each.key, each.name))
    return next(named, wanted if wanted in checked.aside.places else "")
