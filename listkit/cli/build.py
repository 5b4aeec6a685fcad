"""`listkit build`: check, then write every feed, listing, price list and picture; only what changed is made again."""

import argparse
import json
import os
import sys
import time
from pathlib import Path
from typing import Any

from listkit import __version__
from listkit.cli import add_shop
from listkit.cli.opening import Checked, add_today, check_shop
from listkit.cli.progress import progress_bar
from listkit.cli.report import done, problems_json, report, tell
from listkit.made import remember_photos
from listkit.manifest import Entry
from listkit.problem import FieldError, must_fix
from listkit.save import Saved, save
from listkit.write import WRITERS
from listkit.write.context import WriteContext


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_shop(parser)
    add_today(parser)
    parser.add_argument("--out", type=Path, metavar="DIR", help="where to write; out in the shop folder if left out")
    parser.add_argument(
        "--channel", default="", metavar="KEY", help="make only this channel's files; remove nothing"
    )
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1, metavar="N", help="pictures made at once")


def run(args: argparse.Namespace) -> int:
    """Build the shop; write nothing while something must be fixed."""
    started = time.perf_counter()
    out = args.out or args.shop / "out"
    checked = check_shop(args.shop, out, args.today)
    if must_fix(checked.problems):
        print(problems_json(checked.problems)) if args.json else report(checked.problems, sys.stderr)
        return 1
    channel = _channel_key(checked, args.channel)
    if channel is None:
        there = ", ".join(one.key for one in checked.shop.channels) or "none"
        tell(f'There is no channel "{args.channel}". There are: {there}.')
        return 2
    try:
        saved = _save(checked, out, channel, args.jobs)
    except FieldError as fault:
        tell(f"{fault.message} {fault.hint}".rstrip())
        return 1
    seconds = time.perf_counter() - started
    if args.json:
        print(json.dumps(_json(saved, seconds), indent=2, ensure_ascii=False))
    else:
        report(checked.problems, sys.stderr)
        _tell_saved(saved, out, seconds)
    return 1 if saved.failures else 0


def _channel_key(checked: Checked, wanted: str) -> str | None:
    if not wanted:
        return ""
    return next((one.key for one in checked.shop.channels if wanted in (one.key, one.name)), None)


def _save(checked: Checked, out: Path, channel: str, jobs: int) -> Saved:
    context = WriteContext(version=__version__)
    made = (job for write in WRITERS.values() for job in write(checked.listings, context))
    with progress_bar("making") as show:
        saved = save(made, out, workers=max(1, jobs), channel=channel, progress=show)
    remember_photos(out, checked.photos)
    return saved


def _tell_saved(saved: Saved, out: Path, seconds: float) -> None:
    for failure in saved.failures:
        tell(f"Not made: {', '.join(failure.paths)}: {failure.message} {failure.hint}".rstrip())
    counts = f"{len(saved.made)} made, {saved.unchanged} unchanged, {len(saved.removed)} removed"
    done(f"{out}: {counts}, in {seconds:.1f} s.")


def _json(saved: Saved, seconds: float) -> dict[str, Any]:
    keys = sorted({entry.channel for entry in saved.entries if entry.channel})
    return {
        "channels": [_channel_json(key, [one for one in saved.entries if one.channel == key]) for key in keys],
        "made": list(saved.made),
        "unchanged": saved.unchanged,
        "removed": list(saved.removed),
        "failed": [{"files": list(one.paths), "message": one.message, "hint": one.hint} for one in saved.failures],
        "seconds": round(seconds, 3),
    }


def _channel_json(key: str, entries: list[Entry]) -> dict[str, Any]:
    feed = next((entry for entry in entries if entry.rows is not None), None)
    return {
        "key": key,
        "files": len(entries),
        "rows": feed.rows if feed else 0,
        "lowest_price": feed.lowest_price if feed else None,
        "highest_price": feed.highest_price if feed else None,
        "sum_of_prices": feed.sum_of_prices if feed else None,
    }
