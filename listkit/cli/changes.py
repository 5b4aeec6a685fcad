"""`listkit changes`: what differs from what was last published, why, and what to send, take down or print again.

With `--set-item` or `--all-retail` it shows what a price would do; nothing is written then, unless
`--apply` puts it into the owner's table.
"""

import argparse
import sys
from collections.abc import Sequence
from typing import Final

from listkit.actions.changes import ChannelChanges, changes_since_recorded, write_changes
from listkit.actions.what_if import Supposed, suppose
from listkit.cli.options import add_out, add_shop, add_today, add_without, out_folder, today
from listkit.cli.progress import reading
from listkit.cli.report import print_json, print_problems, say, say_done, say_fault
from listkit.model.shop import Shop
from listkit.pipeline import Checked, check_shop, find_place
from listkit.present.changes import as_markdown, as_text, changes_json, sections_of, sections_together
from listkit.problem import FieldError, Level, quoted

EXAMPLES: Final = (
    ("listkit changes", "what differs everywhere from what you last recorded"),
    ("listkit changes web_shop --set-item OH-B01 retail=8.00", "what a price would do"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    add_shop(parser)
    add_today(parser)
    parser.add_argument("channel", nargs="?", default="", metavar="CHANNEL", help="its key or name; all if left out")
    add_out(parser)
    add_without(parser)
    parser.add_argument(
        "--set-item",
        nargs=2,
        action="append",
        default=[],
        metavar=("CODE", "FIELD=VALUE"),
        help="suppose this of an item: OH-B01 retail=8.00, or a raw material: lye price=4.40; may stand several times",
    )
    parser.add_argument(
        "--all-retail", default="", metavar="SHARE", help="suppose this of every retail price: +5%%, or =-3%%"
    )
    parser.add_argument("--apply", action="store_true", help="write what is supposed into the table of items")


def run(args: argparse.Namespace) -> int:
    """Print what changes; 1 with differences, or when the shop must be mended first or the ledger cannot be used."""
    args.out = out_folder(args)
    asked = bool(args.set_item or args.all_retail)
    if args.apply and not asked:
        say("Say what to apply: --set-item CODE FIELD=VALUE, or --all-retail SHARE.")
        return 2
    try:
        with reading(args.shop, args.out) as (photos, searches):
            listed = check_shop(args.shop, today(args), args.out, searches, without=args.without, photos=photos)
    except FieldError as fault:
        say_fault(fault)
        return 2
    if listed.stopped:
        print_problems(tuple(each for each in listed.problems if each.level is Level.MUST_FIX), sys.stderr)
        say("Until this is mended, nothing can be compared.")
        return 1
    try:
        key = find_place(listed, args.channel) if args.channel else ""
        changes = _suppose(args, listed, key) if asked else _changes(args, listed, key)
    except FieldError as fault:
        say_fault(fault)
        return 1
    if args.json:
        print_json({each.key: changes_json(each) for each in changes})
    return 1 if not asked and any(each.differs for each in changes) else 0


def _changes(args: argparse.Namespace, listed: Checked, key: str) -> tuple[ChannelChanges, ...]:
    """Print what changed, and write the files of changes."""
    changes = changes_since_recorded(listed, key, args.out)
    _print(args, changes, listed.shop)
    for each in changes:
        written = write_changes(args.out, listed, each, as_markdown(sections_of(each, listed.shop)))
        if written and not args.json:
            say_done(f"{args.out}: {', '.join(written)}.")
    return changes


def _print(args: argparse.Namespace, changes: Sequence[ChannelChanges], shop: Shop) -> None:
    if changes and not args.json:
        print(as_text(sections_together(changes, shop)) + "\n")


def _suppose(args: argparse.Namespace, listed: Checked, key: str) -> tuple[ChannelChanges, ...]:
    """Print what would change; write only the owner's table, if asked."""
    supposed = suppose(listed, args.set_item, args.all_retail, key)
    _print(args, supposed.changes, supposed.listed.shop)
    if args.apply:
        _apply(supposed)
    elif not args.json:
        say_done("Nothing was written.")
    return supposed.changes


def _apply(supposed: Supposed) -> None:
    sheet, cells = supposed.sheet, len(supposed.edits)
    if not cells and not supposed.prices:
        say_done(f"{sheet.path.name} says so already; nothing was written.")
    elif sheet.workbook:
        where = f"{sheet.path.name}, sheet {quoted(sheet.form.sheet)}" if sheet.form.sheet else sheet.path.name
        say(f"A workbook is yours to change. In {where} type:")
        for line in supposed.cell_lines:
            say(f"  {line}")
    else:
        supposed.apply()
        say_done(f"{sheet.path.name}: {cells} cell{'s' * (cells != 1)} written. Build, publish, record.")
