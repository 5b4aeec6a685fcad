"""`listkit place`: a place to sell at, made without a sample; a file to look through, with plain columns."""

import argparse
from typing import Final

from listkit.actions.learn import PLACE_KINDS, new_place
from listkit.cli.options import add_shop
from listkit.cli.report import print_json, say_fault
from listkit.problem import FieldError, as_typed

EXAMPLES: Final = (
    ('listkit place "Saturday stall" --kind stall', "a price list and a table"),
    ('listkit place "My books" --kind bookkeeper --shop my_shop', "figures for your accounts"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    parser.add_argument("name", metavar="NAME", help='what people call the place, as in "Saturday stall"')
    parser.add_argument("--kind", required=True, choices=PLACE_KINDS, help="what kind of place it is")
    add_shop(parser)


def run(args: argparse.Namespace) -> int:
    """Write channels/<name>.toml and print what to do next; 1 when it cannot be made."""
    try:
        path = new_place(args.shop, " ".join(args.name.split()), args.kind)
    except FieldError as fault:
        say_fault(fault)
        return 1
    if args.json:
        print_json({"file": str(path), "kind": args.kind})
    else:
        print(f"{path}: look it through; a line that begins with # waits for you.")
        print(f"Next: listkit check --shop {as_typed(args.shop)}")
    return 0
