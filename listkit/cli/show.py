"""`listkit show`: one set as numbers, step by step, or all sets in one table."""

import argparse
import csv
import sys
from dataclasses import replace
from pathlib import Path
from typing import Final

from listkit.cli.options import add_shop, add_today, today, typed_path
from listkit.cli.progress import is_shop_folder, searching
from listkit.cli.report import print_json, say
from listkit.cli.terminal import exact, width_of
from listkit.compute.build import build_catalog
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.listing.cells import all_guarded
from listkit.pipeline import open_shop
from listkit.present.gift_set import set_drawings, set_json, set_text
from listkit.present.plan import cost_json, cost_lines, costs_of
from listkit.present.reductions import reductions_json, reductions_text
from listkit.present.shop import all_rows, fitting_rows, thin_first
from listkit.present.table import table
from listkit.problem import FieldError, quoted
from listkit.save.asked import is_folder, write_drawings

EXAMPLES: Final = (
    ("listkit show OHS-1", "one set step by step"),
    ("listkit show --all --csv", "all sets as a table for a spreadsheet"),
)

_PAGE: Final = 100  # letters on a line of a page, where there is no terminal


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    add_shop(parser)
    add_today(parser)
    parser.add_argument("set", nargs="?", default="", metavar="SET", help="a set's code or folder")
    parser.add_argument("--variant", default="", metavar="CODE", help="only this variant")
    parser.add_argument("--all", action="store_true", help="one table of all sets, those that leave least first")
    drawn_to = "draw how the pieces lie, into a file ending in .svg or, every variant, into a folder"
    parser.add_argument("--out", type=typed_path, metavar="PLACE", help=drawn_to)
    parser.add_argument("--wide", action="store_true", help="with --all: every column, however wide the terminal is")
    parser.add_argument("--csv", action="store_true", help="with --all: the table as CSV")


def run(args: argparse.Namespace) -> int:
    """Show one set or all of them; 1 when there is no such set, 2 when neither was asked for."""
    if not (args.set or args.all):
        say("Name a set, or ask for --all.")
        return 2
    if not is_shop_folder(args.shop):
        return 1
    with searching() as searches:
        catalog = build_catalog(open_shop(args.shop).shop, searches)
    return _show_all(catalog, args) if args.all else _show_set(args, catalog)


def _show_all(catalog: Catalog, args: argparse.Namespace) -> int:
    computed = replace(catalog, sets=tuple(facts for facts in catalog.sets if facts.variants))
    if args.json:
        with searching(catalog.searches):
            shown = [set_json(facts, facts.variants, computed) for facts in thin_first(computed)]
        print_json(shown)
    elif args.csv:
        heading, *rows = all_rows(computed, today(args))
        safe = ([*all_guarded(row[:2]), *row[2:]] for row in rows)  # code and name are words, all else are figures
        csv.writer(exact(sys.stdout), lineterminator="\n").writerows([all_guarded(heading), *safe])
    else:
        rows, left_out = fitting_rows(
            computed, sys.maxsize if args.wide else width_of(sys.stdout) or sys.maxsize, today(args)
        )
        print(table(rows, left=2))
        if left_out:
            print(f"{left_out} more columns do not go on this screen: --wide and --csv show them.")
    return 0


def _show_set(args: argparse.Namespace, catalog: Catalog) -> int:
    facts = next((each for each in catalog.listed if args.set in (each.code, each.source.folder)), None)
    shop = catalog.shop
    cost = shop.made.costs.get(args.set) if shop.made is not None else None
    if facts is None and cost is not None:
        if args.json:
            print_json(cost_json(cost, shop))
        else:
            print("\n".join(cost_lines(cost, shop)))
        return 0
    if facts is None:
        there = ", ".join(each.code for each in catalog.sets) or "none that can be computed"
        say(f"There is no set {quoted(args.set)}. There are: {there}.")
        return 1
    variants = tuple(variant for variant in facts.variants if args.variant in ("", variant.code))
    if not variants:
        there = ", ".join(variant.code for variant in facts.variants) or "none"
        say(f"{facts.code} has no variant {quoted(args.variant)}. There are: {there}.")
        return 1
    if args.out:
        return _draw(facts, variants if is_folder(args.out) else variants[:1], catalog, args.out)
    if args.json:
        reductions = reductions_json(facts, variants, catalog)
        with searching(catalog.searches):
            shown = set_json(facts, variants, catalog)
        costs = [cost_json(cost, shop) for cost in costs_of(facts, shop)]
        print_json(shown | {"reductions": reductions} | ({"costs": costs} if costs else {}))
    else:
        day = today(args)
        with searching(catalog.searches):
            text = set_text(facts, variants, catalog, today=day, width=width_of(sys.stdout) or _PAGE)
        costs_text = [line for cost in costs_of(facts, shop) for line in ("", *cost_lines(cost, shop))]
        print("\n".join([text, *reductions_text(facts, variants, catalog, day), *costs_text]))
    return 0


def _draw(facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog, place: Path) -> int:
    """Draw variants in their box and print the files; 1 when there is no box, no layout, or no place to write."""
    drawings, refusals = set_drawings(facts, variants, catalog)
    for refusal in refusals:
        say(refusal)
    try:
        for path in write_drawings(place, drawings, catalog.shop.root) if drawings else ():
            print(path)
    except FieldError as fault:
        say(f"{fault.message} {fault.hint}")
        return 1
    return 1 if refusals else 0
