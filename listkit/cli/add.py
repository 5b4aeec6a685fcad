"""`listkit add`: the folder of a new set, what it could hold proposed, two lines and a picture left to the owner."""

import argparse
from typing import Final

from listkit.actions.new_set import add_set
from listkit.cli.options import add_shop, add_today, today
from listkit.cli.report import print_json, say_fault
from listkit.present.starting import new_set_json, new_set_lines
from listkit.problem import FieldError

EXAMPLES: Final = (
    ('listkit add "First Light"', "a new set in this folder, a draft"),
    ('listkit add "Frost on the Panes" --from OHS-3', "begun with last year's set, its photos left behind"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    parser.add_argument("name", metavar="NAME", help='the set\'s name, as in "First Light"')
    parser.add_argument("--from", dest="begin_with", default="", metavar="CODE", help="begin with a set that is there")
    add_shop(parser)
    add_today(parser)


def run(args: argparse.Namespace) -> int:
    """Make the folder and print what is left to do; 1 when it cannot be made."""
    try:
        added = add_set(args.shop, " ".join(args.name.split()), today(args), args.begin_with)
    except FieldError as fault:
        say_fault(fault)
        return 1
    if args.json:
        print_json(new_set_json(added))
    else:
        for line in new_set_lines(args.shop, added):
            print(line)
    return 0
