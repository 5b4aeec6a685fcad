"""Tells what a build did: in a line, or as JSON for scripts."""

import argparse
import json
import sys
from collections.abc import Sequence
from typing import Any

from listkit.cli.report import done, report, tell
from listkit.problem import Problem
from listkit.save.manifest import Entry
from listkit.save.save import Saved


def tell_saved(saved: Saved, problems: Sequence[Problem], args: argparse.Namespace, seconds: float) -> None:
    """Print what was made in args.out, after what is to be looked at."""
    if args.json:
        print(json.dumps(_json(saved, seconds), indent=2, ensure_ascii=False))
        return
    report(problems, sys.stderr)
    for failure in saved.failures:
        tell(f"Not made: {', '.join(failure.paths)}: {failure.message} {failure.hint}".rstrip())
    counts = f"{len(saved.made)} made, {saved.unchanged} unchanged, {len(saved.removed)} removed"
    done(f"{args.out}: {counts}, in {seconds:.1f} s.")


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
    with_rows = [entry for entry in entries if entry.rows is not None]
    feed = next((entry for entry in with_rows if "/feed." in entry.path), next(iter(with_rows), None))
    return {
        "key": key,
        "files": len(entries),
        "rows": feed.rows if feed else 0,
        "lowest_price": feed.lowest_price if feed else None,
        "highest_price": feed.highest_price if feed else None,
        "sum_of_prices": feed.sum_of_prices if feed else None,
    }
