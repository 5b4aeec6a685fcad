"""The build itself: read, check, then make what changed. Loaded only when something did."""

import argparse
import sys
import time

from listkit import __version__
from listkit.cli.large_changes import large_changes, tell_large_changes
from listkit.cli.opening import Checked, check_shop
from listkit.cli.progress import progress_bar
from listkit.cli.report import problems_json, report, tell
from listkit.cli.saved import tell_saved
from listkit.problem import FieldError, must_fix
from listkit.save.made import remember_built, remember_photos
from listkit.save.save import Saved, save
from listkit.write import jobs_of
from listkit.write.context import WriteContext


def build(args: argparse.Namespace, stamp: str, started: float) -> int:
    """Build the shop into args.out and return the exit status; write nothing while something must be fixed.

    `stamp` is what the build depends on, to be remembered with it; `started` when the command began.
    """
    checked = check_shop(args.shop, args.out, args.today)
    if must_fix(checked.problems):
        print(problems_json(checked.problems)) if args.json else report(checked.problems, sys.stderr)
        return 1
    channel = _channel_key(checked, args.channel)
    if channel is None:
        there = ", ".join(one.key for one in checked.shop.channels) or "none"
        tell(f'There is no channel "{args.channel}". There are: {there}.')
        return 2
    if not args.accept_large_changes and (found := large_changes(args.shop, checked, channel)):
        tell_large_changes(found, as_json=args.json)
        return 1
    try:
        saved = _save(checked, args, channel)
        if stamp and not channel and not saved.failures:
            remember_built(args.out, stamp, checked.problems)
    except FieldError as fault:
        tell(f"{fault.message} {fault.hint}".rstrip())
        return 1
    tell_saved(saved, checked.problems, args, time.perf_counter() - started)
    return 1 if saved.failures else 0


def _channel_key(checked: Checked, wanted: str) -> str | None:
    if not wanted:
        return ""
    return next((one.key for one in checked.shop.channels if wanted in (one.key, one.name)), None)


def _save(checked: Checked, args: argparse.Namespace, channel: str) -> Saved:
    context = WriteContext(version=__version__, previous=checked.history.previous)
    jobs = jobs_of(checked.listings, context)
    with progress_bar("making") as show:
        saved = save(jobs, args.out, workers=max(1, args.jobs), channel=channel, progress=show)
    remember_photos(args.out, checked.photos)
    return saved
