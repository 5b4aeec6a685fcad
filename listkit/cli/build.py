"""`listkit build`: check, then write every feed, listing, price list and picture; only what changed is made again.

When nothing that went into the last build has changed and all that came out still lies there, that is printed
at once, without loading what a build needs.
"""

import argparse
import importlib
import os
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Final

import listkit
from listkit.cli.options import add_out, add_shop, add_today, add_without, out_folder, today, typed_number
from listkit.cli.report import print_json, print_problems, say, say_done
from listkit.present.building import failure_lines, folder_lines, saved_counts, saved_json
from listkit.problem import Problem
from listkit.save.job import library_versions
from listkit.save.made import stamp_of, still_built
from listkit.save.manifest import read_manifest
from listkit.save.save import Saved
from listkit.shipped import shipped_templates

EXAMPLES: Final = (
    ("listkit build --shop my_shop", "all that changed, into my_shop/out"),
    ("listkit build --without OHS-1", "without one set, for once"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    add_shop(parser)
    add_today(parser)
    add_out(parser, meaning="where to write; out in the shop folder if left out")
    parser.add_argument("--channel", default="", metavar="KEY", help="make only this channel's files; remove nothing")
    add_without(parser)
    parser.add_argument("--strict", action="store_true", help="write nothing while anything must be fixed")
    parser.add_argument(
        "--jobs", type=typed_number, default=os.cpu_count() or 1, metavar="N", help="pictures made at once"
    )
    parser.add_argument(
        "--accept-large-changes", action="store_true", help="build though prices leap, or codes are gone or mean others"
    )


def run(args: argparse.Namespace) -> int:
    """Build the shop, or print that nothing has changed."""
    started = time.perf_counter()
    args.out, args.today = out_folder(args), today(args)
    stamp = "" if args.without else _stamp(args)
    built = still_built(args.out, stamp) if stamp and not args.channel else None
    if built is None:
        with importlib.import_module("listkit.cli.progress").measuring(args.shop, args.out) as photos:
            status: int = importlib.import_module("listkit.cli.changed_build").build(args, stamp, started, photos)
        return status
    problems, notes = built
    entries = read_manifest(args.out)
    print_saved(Saved((), len(entries), (), (), entries), problems, notes, args, started)
    return 0


def _stamp(args: argparse.Namespace) -> str:
    """Return what the build depends on: shop, code, templates, libraries and day; "" where it cannot be seen."""
    code = Path(listkit.__file__).parent
    texts = [args.today.isoformat(), *library_versions()]
    try:
        return stamp_of((args.shop, shipped_templates(), code), apart=args.out, texts=texts)
    except OSError:
        return ""


def print_saved(
    saved: Saved, problems: Sequence[Problem], notes: Sequence[str], args: argparse.Namespace, started: float
) -> None:
    """Print what was made in args.out, after what must be fixed; `notes` say what was left out or held back."""
    seconds = time.perf_counter() - started
    if args.json:
        print_json(saved_json(saved, seconds, notes))
        return
    print_problems(problems, sys.stderr, brief=True)
    for line in (*failure_lines(saved), *notes):
        say(line)
    say_done(f"{args.out}: {saved_counts(saved)}, in {seconds:.1f} s.")
    for line in folder_lines(saved.entries):
        say(line)
