"""`listkit show`: one set as numbers, step by step, or all sets in one table."""

import argparse
import csv
import datetime
import json
import sys
from pathlib import Path

from listkit.cli.all_sets import all_rows, thin_first
from listkit.cli.opening import open_shop
from listkit.cli.options import add_shop, add_today
from listkit.cli.reduced import reductions_json, reductions_text
from listkit.cli.report import told_missing
from listkit.cli.set_json import set_json
from listkit.cli.set_text import set_text
from listkit.cli.table import table
from listkit.compute.box.fit import verdict_in
from listkit.compute.build import build_catalog
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.edit.files import is_folder, write_drawings
from listkit.problem import FieldError
from listkit.write.box_drawing import TEMPLATE, drawing


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_shop(parser)
    add_today(parser)
    parser.add_argument("set", nargs="?", default="", metavar="SET", help="a set's code or folder")
    parser.add_argument("--variant", default="", metavar="CODE", help="only this variant")
    parser.add_argument("--all", action="store_true", help="one table of all sets, the thinnest first")
    drawn_to = "draw how the pieces lie, into a file ending in .svg or, every variant, into a folder"
    parser.add_argument("--out", type=Path, metavar="PLACE", help=drawn_to)
    parser.add_argument("--csv", action="store_true", help="with --all: the table as CSV")


def run(args: argparse.Namespace) -> int:
    """Show one set or all of them; 1 when there is no such set, 2 when neither was asked for."""
    if not (args.set or args.all):
        print("Name a set, or ask for --all.", file=sys.stderr)
        return 2
    if told_missing(args.shop):
        return 1
    catalog = build_catalog(open_shop(args.shop))
    return _show_all(catalog, as_json=args.json, as_csv=args.csv) if args.all else _show_set(args, catalog)


def _show_set(args: argparse.Namespace, catalog: Catalog) -> int:
    found = next((one for one in catalog.sets if args.set in (one.code, one.source.folder)), None)
    if found is None:
        there = ", ".join(one.code for one in catalog.sets) or "none that can be computed"
        print(f'There is no set "{args.set}". There are: {there}.', file=sys.stderr)
        return 1
    variants = tuple(one for one in found.variants if args.variant in ("", one.code))
    if not variants:
        there = ", ".join(one.code for one in found.variants) or "none"
        print(f'{found.code} has no variant "{args.variant}". There are: {there}.', file=sys.stderr)
        return 1
    if args.out:
        return _draw(found, variants if is_folder(args.out) else variants[:1], catalog, args.out)
    today = args.today or datetime.date.today()  # noqa: DTZ011 - the owner's own day
    print(_as_json(found, variants, catalog) if args.json else _as_text(found, variants, catalog, today))
    return 0


def _as_json(found: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> str:
    return _dumped(set_json(found, variants, catalog) | {"reductions": reductions_json(found, variants, catalog)})


def _as_text(found: SetFacts, variants: tuple[Variant, ...], catalog: Catalog, today: datetime.date) -> str:
    return "\n".join([set_text(found, variants, catalog), *reductions_text(found, variants, catalog, today)])


def _show_all(catalog: Catalog, *, as_json: bool, as_csv: bool) -> int:
    computed = Catalog(catalog.shop, tuple(one for one in catalog.sets if one.variants))
    if as_json:
        print(_dumped([set_json(one, one.variants, computed) for one in thin_first(computed)]))
    elif as_csv:
        csv.writer(sys.stdout, lineterminator="\n").writerows(all_rows(computed))
    else:
        print(table(all_rows(computed), left=2))
    return 0


def _draw(found: SetFacts, variants: tuple[Variant, ...], catalog: Catalog, place: Path) -> int:
    """Draw variants in their box and tell the files; 1 when there is no box, no layout, or no place to write."""
    drawings, fault = [], 0
    for one in variants:
        svg = drawn(found, one, catalog)
        if svg is None:
            why = "has no box" if found.box is None else f"does not fit in box {found.box.code}"
            print(f"{one.code} {why}.", file=sys.stderr)
            fault = 1
        else:
            parts = "".join(f"-{choice.part}" for choice in one.choices)
            drawings.append((f"{found.source.folder}{parts}.svg", svg))
    try:
        for path in write_drawings(place, tuple(drawings)) if drawings else ():
            print(path)
    except FieldError as error:
        print(f"{error.message} {error.hint}", file=sys.stderr)
        return 1
    return fault


def drawn(found: SetFacts, one: Variant, catalog: Catalog) -> str | None:
    """Return the drawing of a variant in its box, None where it does not lie in one."""
    shop = catalog.shop
    if found.box is None:
        return None
    verdict = verdict_in(found.box, one.pieces, shop.settings.packing, stacked=found.source.gift_set.stacked)
    return drawing(found, one, verdict, shop.templates[TEMPLATE]) if verdict.fits else None


def _dumped(facts: object) -> str:
    return json.dumps(facts, indent=2, ensure_ascii=False)
