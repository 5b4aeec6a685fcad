"""`listkit add`: the folder of a new set, what it could hold proposed; or a list of what could be made."""

import argparse
from typing import Final

from listkit.actions.new_set import ProposalList, add_set, proposals_for
from listkit.cli.options import add_shop, add_today, today, typed_number
from listkit.cli.report import print_json, say_fault, say_part
from listkit.present.starting import new_set_json, new_set_lines, proposal_cards, proposal_lines, proposals_json
from listkit.problem import FieldError

EXAMPLES: Final = (
    ('listkit add "First Light"', "a new set in this folder, a draft"),
    ('listkit add "Frost on the Panes" --propose 3', "the third of what listkit add --propose shows"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    parser.add_argument("name", metavar="NAME", nargs="?", default="", help='the set\'s name, as in "First Light"')
    parser.add_argument("--from", dest="begin_with", default="", metavar="CODE", help="begin with a set that is there")
    parser.add_argument(
        "--propose", nargs="?", type=typed_number, const=0, default=None, metavar="N",
        help="show the best sets of what is on hand; with NAME and N the one of that number is made",
    )  # fmt: skip
    parser.add_argument("--one-scent", action="store_true", help="propose pieces of one scent too")
    parser.add_argument("--place", default="", metavar="PLACE", help="propose what leaves enough at this place")
    add_shop(parser)
    add_today(parser)


def run(args: argparse.Namespace) -> int:
    """Make the folder and print what is left to do; 1 when it cannot be made."""
    name, chosen, card = " ".join(args.name.split()), None, None
    try:
        if args.propose is not None and args.begin_with:
            message = "--from begins with a set that is there, and --propose with what is on hand."
            raise FieldError(message, "Write one of them.")
        if args.propose is not None:
            proposals = proposals_for(args.shop, today(args), args.place, one_scent=args.one_scent)
            if not name:
                return _show(args, proposals)
            chosen = proposals.number(args.propose)
            card = tuple(proposal_cards(proposals))[args.propose - 1]
        added = add_set(args.shop, name, today(args), args.begin_with, chosen)
    except FieldError as fault:
        say_fault(fault)
        return 1
    if args.json:
        print_json(new_set_json(added, card))
    else:
        for line in new_set_lines(args.shop, added, card):
            print(line)
    return 0


def _show(args: argparse.Namespace, proposals: ProposalList) -> int:
    """Print what could be made; 1 where nothing could."""
    if args.json:
        print_json(proposals_json(proposals))
    else:
        for line in proposal_lines(proposals):
            print(line)
    in_part = say_part(proposals.shop.movements.in_part)
    return 0 if proposals.proposals.best and not in_part else 1
