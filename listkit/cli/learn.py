"""`listkit learn`: a channel drafted from a storefront's sample; what is sure is filled in, doubts are marked."""

import argparse
from typing import Final

from listkit.actions.learn import learn_channel
from listkit.cli.options import add_shop, typed_path
from listkit.cli.report import print_json, say_fault
from listkit.present.starting import learnt_json, learnt_lines
from listkit.problem import FieldError

EXAMPLES: Final = (
    ('listkit learn sample.csv --name "The Fair"', "a draft from the file that they give you"),
    ('listkit learn template.xlsx --name "The Fair" --shop my_shop', "into that shop"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    parser.add_argument(
        "sample", type=typed_path, metavar="SAMPLE", help="a storefront's own sample file (CSV, .xlsx, .ods)"
    )
    parser.add_argument("--name", required=True, metavar="NAME", help="what people call the place")
    add_shop(parser)


def run(args: argparse.Namespace) -> int:
    """Write channels/<name>.toml and print what was understood; 1 when it cannot be made."""
    try:
        learnt = learn_channel(args.shop, args.name, args.sample)
    except FieldError as fault:
        say_fault(fault)
        return 1
    if args.json:
        print_json(learnt_json(learnt))
    else:
        for line in learnt_lines(args.shop, learnt):
            print(line)
    return 0
