"""What a build did, as lines and as JSON. Loads little, as a build without changes prints it too."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Final

from listkit.save.manifest import Entry
from listkit.save.save import Saved

PROOF: Final = "proof.html"


def saved_counts(saved: Saved) -> str:
    """Return "3 made, 95 unchanged, 0 removed"."""
    return f"{len(saved.made)} made, {saved.unchanged} unchanged, {len(saved.removed)} removed"


def failure_lines(saved: Saved) -> Iterator[str]:
    """Yield a line for each output that could not be made, or not whole."""
    for failure in saved.failures:
        begins = "Made in part" if failure.in_part else "Not made"
        yield f"{begins}: {', '.join(failure.paths)}: {failure.message} {failure.hint}".rstrip()


def folder_lines(entries: Iterable[Entry]) -> Iterator[str]:
    """Yield a line for each folder of outputs: how many files are in it, and how many of them in each folder below.

    The first page of the proof has a line of its own.
    """
    folders: dict[str, Counter[str]] = {}
    entries = tuple(entries)
    for entry in entries:
        folder, *below = entry.path.split("/")
        if below:
            folders.setdefault(folder, Counter())[below[0] if len(below) > 1 else ""] += 1
    width = max((len(name) for name in folders), default=0)
    for name, counts in sorted(folders.items()):
        total = counts.total()
        files = f"{total} file{'s' * (total != 1)}"
        parts = [f"{count} in {below}/" if below else f"{count} here" for below, count in sorted(counts.items())]
        where = ""
        if len(parts) > 1:
            where = f": {', '.join(parts)}"
        elif "" not in counts:
            where = f" in {next(iter(counts))}/"
        yield f"  {f'{name}/':<{width + 1}}  {files}{where}"
    if any(entry.path == PROOF for entry in entries):
        yield f"  {PROOF}: read it through before anything goes out"


def saved_json(saved: Saved, seconds: float, notes: Sequence[str]) -> dict[str, Any]:
    """Return what was made, left and removed, with the figures of each channel's table, and what was left out."""
    keys = sorted({entry.channel for entry in saved.entries if entry.channel})
    return {
        "channels": [_channel_json(key, [entry for entry in saved.entries if entry.channel == key]) for key in keys],
        "made": list(saved.made),
        "unchanged": saved.unchanged,
        "removed": list(saved.removed),
        "failed": [
            {"files": list(failure.paths), "message": failure.message, "hint": failure.hint}
            for failure in saved.failures
        ],
        "notes": list(notes),
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
