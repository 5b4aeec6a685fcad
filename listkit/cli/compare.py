"""`listkit compare`: hold what a channel shows now, as it gives it out of itself, against the truth."""

import argparse
import datetime
import json
import sys
from pathlib import Path
from typing import Any, Final

from listkit.check.alike import counted
from listkit.cli.change_files import change_folder
from listkit.cli.options import add_shop, add_today
from listkit.cli.own_rows import (
    Aligned,
    aligned,
    folded,
    known_headings,
    looks_like,
    our_rows,
    shown_columns,
    their_rows,
)
from listkit.cli.report import done, report, tell
from listkit.cli.rows_to_send import rows_of_codes
from listkit.cli.table import table
from listkit.cli.truth import Truth, find_place, own_columns, read_truth
from listkit.ledger.compare import Compared, always_differs, compare, told_lines
from listkit.model.channel import Channel
from listkit.problem import FieldError, Problem, must_fix
from listkit.read.export_file import EXPORT_LIMIT, Export, read_export
from listkit.read.source import read_bytes

CORRECTIONS: Final = "corrections.csv"
_MOST_TOLD: Final = 40
_LONGEST: Final = 30  # characters of a cell on screen


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_shop(parser)
    add_today(parser)
    parser.add_argument("channel", metavar="CHANNEL", help="its key or name")
    parser.add_argument("export", type=Path, metavar="EXPORT", help="what the channel gives out: CSV, XLSX, JSON")
    parser.add_argument("--out", type=Path, metavar="DIR", help="where corrections go, if not into out")


def run(args: argparse.Namespace) -> int:
    """Tell every difference and write the rows to send again; 1 where anything differs."""
    args.out = args.out or args.shop / "out"
    today = args.today or datetime.date.today()  # noqa: DTZ011 - the owner's own day
    truth = read_truth(args.shop, args.out, today)
    if must_fix(truth.problems):
        report(truth.problems, sys.stderr)
        tell("Until this is mended, sets are left out that the channel may show rightly.")
        return 1
    try:
        channel = truth.channel(find_place(truth, args.channel))
        if channel is None:
            raise FieldError("Shops that buy from us show no table of ours.", "Name a channel.")
        export = _opened(args.export, truth, channel)
        found = _compared(export, truth, channel, as_json=args.json)
        written = _write(args.out, truth, channel, found)
    except FieldError as fault:
        tell(f"{args.export.name}: {fault.message} {fault.hint}".rstrip())
        return 1
    if args.json:
        print(json.dumps(_json(found), indent=2, ensure_ascii=False))
    else:
        _tell(found, channel)
        if written:
            done(f"{args.out}: {written}.")
    return 1 if found else 0


def _opened(path: Path, truth: Truth, channel: Channel) -> Export:
    content = read_bytes(path.parent, path.name, limit=EXPORT_LIMIT)
    if isinstance(content, Problem):
        missing = content.code == "file-missing"
        raise FieldError(content.message, "Export it again, or name where it lies." if missing else content.hint)
    headings = known_headings(truth, channel)
    header: tuple[str, ...] = ()
    if not channel.dialect.header:
        header = tuple(column.heading for column in own_columns(channel, truth.own(channel.key)))
    return read_export(path.name, content, lambda row: sum(folded(cell) in headings for cell in row), header=header)


def _compared(export: Export, truth: Truth, channel: Channel, *, as_json: bool) -> Compared:
    places = aligned(export, truth, channel)
    if not as_json and (other := looks_like(export, truth, channel)):
        tell(f"Its columns are rather those of {other}.")
    columns = shown_columns(places, channel, facts=export.facts)
    ours = our_rows(places, truth.own(channel.key), channel, facts=export.facts)
    absent = () if export.facts else places.absent
    found = compare(ours, their_rows(places, export), columns, absent=absent)
    if not found.matched and found.unknown_there:
        shown = ", ".join(found.unknown_there[:3])
        raise FieldError(f"none of its codes is one of ours ({shown} ...).", "Is it the right file, and column?")
    return _with_remarks(found, places)


def _with_remarks(found: Compared, places: Aligned) -> Compared:
    remarks = (*places.not_compared, *found.not_compared)
    return Compared(
        found.differences, found.missing_there, found.unknown_there, found.twins, remarks, found.matched, found.compared
    )


def _write(out: Path, truth: Truth, channel: Channel, found: Compared) -> str:
    """Write the rows that would mend what differs, or take an old file of them away."""
    codes = frozenset(found.codes)
    if not codes and not (out / channel.key / "changes" / CORRECTIONS).exists():
        return ""
    with change_folder(out, channel.key, (CORRECTIONS,)) as folder:
        folder.table(rows_of_codes(CORRECTIONS, channel, truth.own(channel.key), codes), channel.dialect)
        return ", ".join(folder.written)


def _json(found: Compared) -> dict[str, Any]:
    return {
        "differences": [
            {"code": one.code, "field": one.field, "ours": one.ours, "theirs": one.theirs, "kind": one.kind}
            for one in found.differences
        ],
        "missing_there": list(found.missing_there),
        "unknown_there": list(found.unknown_there),
        "twins": [{"code": one.code, "lines": list(one.lines)} for one in found.twins],
        "not_compared": [{"what": one.what, "why": one.why} for one in found.not_compared],
    }


def _tell(found: Compared, channel: Channel) -> None:
    """Print what differs, the gravest last line a count."""
    if found.differences:
        shown = found.differences[:_MOST_TOLD]
        rows = [("code", "field", "ours", f"on {channel.name}", "kind")]
        rows += [(one.code, one.field, _short(one.ours), _short(one.theirs), one.kind) for one in shown]
        print(table(rows, left=5))
        if len(found.differences) > len(shown):
            print(f"and {len(found.differences) - len(shown)} more; --json has all")
    for words, codes in (("missing there", found.missing_there), ("unknown here", found.unknown_there)):
        if codes:
            print(f"{words}: {_some(codes)}")
    for one in found.twins[:_MOST_TOLD]:
        print(f"twice there: {one.code}, {told_lines(one.lines)}")
    if len(found.twins) > _MOST_TOLD:
        print(f"and {len(found.twins) - _MOST_TOLD} more twins")
    for name in always_differs(found):
        print(f"{name} differs in every row: is it another column, or unit?")
    for remark in found.not_compared:
        print(f"not compared: {remark.what}, {remark.why}")
    counts = (len(found.differences), len(found.missing_there), len(found.unknown_there), len(found.twins))
    first, *others = counts
    print(f"{counted(first, 'difference')}, {{}} missing there, {{}} unknown here, {{}} twice there.".format(*others))


def _some(codes: tuple[str, ...]) -> str:
    shown = ", ".join(codes[:_MOST_TOLD])
    return f"{shown} and {len(codes) - _MOST_TOLD} more" if len(codes) > _MOST_TOLD else shown


def _short(cell: str) -> str:
    line = " ".join(cell.split())
    return line if len(line) <= _LONGEST else line[: _LONGEST - 1] + "…"
