"""`listkit build`: check, then write every feed, listing, price list and picture; only what changed is made again.

When nothing that went into the last build has changed and all that came out still lies there, that is told
at once, without loading what a build needs.
"""

import argparse
import datetime
import importlib
import os
import time
from pathlib import Path

import listkit
from listkit.cli.options import add_shop, add_today
from listkit.cli.saved import tell_saved
from listkit.save.job import library_versions
from listkit.save.made import stamp_of, still_built
from listkit.save.manifest import read_manifest
from listkit.save.save import Saved
from listkit.shipped import shipped_templates


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_shop(parser)
    add_today(parser)
    parser.add_argument("--out", type=Path, metavar="DIR", help="where to write; out in the shop folder if left out")
    parser.add_argument("--channel", default="", metavar="KEY", help="make only this channel's files; remove nothing")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1, metavar="N", help="pictures made at once")
    parser.add_argument(
        "--accept-large-changes", action="store_true", help="build though prices leap, or codes are gone or mean others"
    )


def run(args: argparse.Namespace) -> int:
    """Build the shop, or tell that nothing has changed."""
    started = time.perf_counter()
    args.out = args.out or args.shop / "out"
    args.today = args.today or datetime.date.today()  # noqa: DTZ011 - the owner's own day
    stamp = _stamp(args)
    problems = still_built(args.out, stamp) if stamp and not args.channel else None
    if problems is None:
        status: int = importlib.import_module("listkit.cli.building").build(args, stamp, started)
        return status
    entries = read_manifest(args.out)
    tell_saved(Saved((), len(entries), (), (), entries), problems, args, time.perf_counter() - started)
    return 0


def _stamp(args: argparse.Namespace) -> str:
    """What the build depends on: shop, code, templates, libraries and day; "" where it cannot be seen."""
    ours = Path(listkit.__file__).parent
    words = [args.today.isoformat(), *library_versions()]
    try:
        return stamp_of((args.shop, shipped_templates(), ours), apart=args.out, words=words)
    except OSError:
        return ""
