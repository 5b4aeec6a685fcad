"""`listkit show`: one set as numbers, step by step, or all sets in one table."""

import argparse
import csv
import json
import sys
from pathlib import Path

from listkit.cli.all_sets import all_rows, thin_first
from listkit.cli.opening import open_shop
from listkit.cli.options import add_shop
from listkit.cli.set_json import set_json
from listkit.cli.set_text import set_text
from listkit.cli.table import table
from listkit.compute.build import build_catalog
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.packing import verdict_in
from listkit.edit.drawings import write_drawing
from listkit.problem import FieldError
from listkit.write.box_drawing import TEMPLATE, drawing


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_shop(parser)
    parser.add_argument("set", nargs="?", default="", metavar="SET", help="a set's code or folder")
    parser.add_argument("--variant", default="", metavar="CODE", help="only this variant")
    parser.add_argument("--all", action="store_true", help="one table of all sets, the thinnest first")
    parser.add_argument("--out", type=Path, metavar="FILE.svg", help="draw how the pieces lie in the box")
    parser.add_argument("--csv", action="store_true", help="with --all: the table as CSV")


def run(args: argparse.Namespace) -> int:
    """Show one set or all of them; 1 when there is no such set, 2 when neither was asked for."""
    if not (args.set or args.all):
        print("Name a set, or ask for --all.", file=sys.stderr)
        return 2
    catalog = build_catalog(open_shop(args.shop))
    if args.all:
        return _show_all(catalog, as_json=args.json, as_csv=args.csv)
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
        return _draw(found, variants[0], catalog, args.out)
    print(_dumped(set_json(found, variants, catalog)) if args.json else set_text(found, variants, catalog))
    return 0


def _show_all(catalog: Catalog, *, as_json: bool, as_csv: bool) -> int:
    computed = Catalog(catalog.shop, tuple(one for one in catalog.sets if one.variants))
    if as_json:
        print(_dumped([set_json(one, one.variants, computed) for one in thin_first(computed)]))
    elif as_csv:
        csv.writer(sys.stdout, lineterminator="\n").writerows(all_rows(computed))
    else:
        print(table(all_rows(computed), left=2))
    return 0


def _draw(found: SetFacts, one: Variant, catalog: Catalog, path: Path) -> int:
    """Draw one variant; 1 when there is no box, no layout, or no place to write."""
    shop = catalog.shop
    stacked = found.source.gift_set.stacked
    verdict = verdict_in(found.box, one.pieces, shop.settings.packing, stacked=stacked) if found.box else None
    if verdict is None or not verdict.fits:
        print(f"{one.code} {'has no box' if verdict is None else 'does not fit in its box'}.", file=sys.stderr)
        return 1
    try:
        write_drawing(path, drawing(found, one, verdict, shop.templates[TEMPLATE]))
    except FieldError as fault:
        print(f"{fault.message} {fault.hint}", file=sys.stderr)
        return 1
    print(f"{path}: {one.code} in box {found.box.code if found.box else ''}.", file=sys.stderr)
    return 0


def _dumped(facts: object) -> str:
    return json.dumps(facts, indent=2, ensure_ascii=False)
