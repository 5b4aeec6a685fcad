"""`listkit changes`: what differs from what was last published, why, and what to send, take down or print again.

With `--set-item` or `--all-retail` it shows what a price would do; nothing is written then, unless
`--apply` puts it into the owner's table.
"""

import argparse
import datetime
import json
import sys
from pathlib import Path

from listkit.cli.briefing import as_markdown, as_text, sections_of
from listkit.cli.change_files import change_folder
from listkit.cli.channel_changes import ChannelChanges, changes_against_ledger, changes_against_truth, changes_json
from listkit.cli.options import add_shop, add_today
from listkit.cli.outputs import Outputs
from listkit.cli.report import done, report, tell
from listkit.cli.rows_to_send import changed_rows, take_down
from listkit.cli.truth import Truth, find_place, read_truth, truth_of
from listkit.cli.what_if import ItemEdit, Sheet, apply, cells_to_type, item_edits, open_sheet, supposed
from listkit.ledger.store import LEDGER, records
from listkit.problem import FieldError, must_fix

_NAMES = ("changes.md", "changes.csv", "take-down.csv")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_shop(parser)
    add_today(parser)
    parser.add_argument("channel", nargs="?", default="", metavar="CHANNEL", help="its key or name; all if left out")
    parser.add_argument("--out", type=Path, metavar="DIR", help="where the build is, if not in out")
    parser.add_argument(
        "--set-item",
        nargs=2,
        action="append",
        default=[],
        metavar=("CODE", "FIELD=VALUE"),
        help="suppose this of an item: OH-B01 retail=8.00; may stand several times",
    )
    parser.add_argument(
        "--all-retail", default="", metavar="SHARE", help="suppose this of every retail price: +5%%, or =-3%%"
    )
    parser.add_argument("--apply", action="store_true", help="write what is supposed into the table of items")


def run(args: argparse.Namespace) -> int:
    """Tell what changes; 1 when the shop must be mended first or the ledger cannot be used."""
    args.out = args.out or args.shop / "out"
    asked = bool(args.set_item or args.all_retail)
    if args.apply and not asked:
        tell("Say what to apply: --set-item CODE FIELD=VALUE, or --all-retail SHARE.")
        return 2
    args.today = args.today or datetime.date.today()  # noqa: DTZ011 - the owner's own day
    truth = read_truth(args.shop, args.out, args.today)
    if must_fix(truth.problems):
        report(truth.problems, sys.stderr)
        tell("Until this is mended, sets are left out that are not gone.")
        return 1
    try:
        places = (find_place(truth, args.channel),) if args.channel else truth.places
        told = _supposed(args, truth, places) if asked else _changes(args, truth, places)
    except FieldError as fault:
        tell(f"{fault.message} {fault.hint}".rstrip())
        return 1
    if args.json:
        print(json.dumps({one.key: changes_json(one) for one in told}, indent=2, ensure_ascii=False))
    return 0


def _changes(args: argparse.Namespace, truth: Truth, places: tuple[str, ...]) -> tuple[ChannelChanges, ...]:
    """Show what changed, and write the files of changes."""
    outputs, ledger = Outputs(truth, args.out), args.shop / LEDGER
    # What nobody makes files for, nor has recorded, is told only when it is asked for.
    places = tuple(key for key in places if args.channel or outputs.makes(key) or records(ledger, key))
    told = tuple(changes_against_ledger(ledger, truth, key, outputs) for key in places)
    for one in told:
        _show(args, truth, one)
        written = _write(args.out, truth, one)
        if written and not args.json:
            done(f"{args.out}: {', '.join(written)}.")
    return told


def _show(args: argparse.Namespace, truth: Truth, one: ChannelChanges) -> None:
    if not args.json:
        print(as_text(sections_of(one, truth.shop)) + "\n")


def _write(out: Path, truth: Truth, one: ChannelChanges) -> tuple[str, ...]:
    """Write the files of changes of one place; where nothing differs, take old ones away."""
    differs = bool(one.found) or bool(one.files)
    channel = truth.channel(one.key)
    if not differs and not (out / one.key / "changes").is_dir():
        return ()
    with change_folder(out, one.key, _NAMES) as folder:
        folder.text("changes.md", as_markdown(sections_of(one, truth.shop)) if differs else "")
        if channel is not None:
            folder.table(changed_rows(channel, truth.own(one.key), one.found, one.old, one.moved), channel.dialect)
            folder.table(take_down(one.found, one.old, channel.dialect), channel.dialect)
        return tuple(folder.written)


def _supposed(args: argparse.Namespace, truth: Truth, places: tuple[str, ...]) -> tuple[ChannelChanges, ...]:
    """Show what would change, against the last record where there is one; write only the owner's table, if asked."""
    edits = item_edits(truth.shop, args.set_item, args.all_retail)
    sheet = open_sheet(truth.shop)
    then = truth_of(supposed(truth.shop, edits), args.today)
    ledger = args.shop / LEDGER
    told = tuple(
        changes_against_ledger(ledger, then, key, None)
        if records(ledger, key)
        else changes_against_truth(truth, then, key)
        for key in places
    )
    for one in told:
        _show(args, then, one)
    if args.apply:
        _apply(sheet, edits, then)
    elif not args.json:
        done("Nothing was written.")
    return told


def _apply(sheet: Sheet, edits: tuple[ItemEdit, ...], then: Truth) -> None:
    if not edits:
        done(f"{sheet.path.name} says so already; nothing was written.")
    elif sheet.workbook:
        where = f'{sheet.path.name}, sheet "{sheet.form.sheet}"' if sheet.form.sheet else sheet.path.name
        tell(f"A workbook is yours to change. In {where} type:")
        for line in cells_to_type(sheet, edits):
            tell(f"  {line}")
    else:
        apply(sheet, edits, then.shop)
        done(f"{sheet.path.name}: {len(edits)} cell{'s' * (len(edits) != 1)} written. Build, publish, record.")
