"""The command line: parse, call, report, exit code. Only here is anything printed and the time asked.

Exit status 0 is fine (warnings too), 1 something must be fixed or differs, 2 usage; those of what nobody foresaw are in
`last`. Commands are loaded when they are called, so that help and mistakes in typing answer at once.
"""

import argparse
import gc
import importlib
import os
import re
import sys
import textwrap
from collections.abc import Sequence
from types import ModuleType
from typing import Final

from listkit.cli.terminal import settle_signs, settle_zone
from listkit.waiting import hear

COMMANDS: Final[dict[str, str]] = {
    "new": "make a small shop that builds at once, or one from your own sheet",
    "desk": "the whole shop in your browser, on this machine alone",
    "add": "make a new set: what it could hold proposed, two lines and a picture left to you",
    "rename": "give an item or a set another code, in every file that names it",
    "check": "tell every problem, and what to write instead",
    "build": "check, then write every feed, listing, price list and picture",
    "pack": "all that a place takes in one ZIP, with a note of what to do with each file",
    "record": "remember the last build as published on a channel, or take that back",
    "order": "check a form that a shop filled in, confirm it, make its pick list, and follow it",
    "orders": "what stockists ordered: every order, totals by shop, how long ago each ordered last",
    "stock": "what is on hand, reserved and free; what came and went added from a sheet, counted, taken back",
    "season": "a season looked back on: what it left, what is left of it, what goes off where; next year's sets",
    "allot": "share out what there is among the places, so that no piece is promised twice",
    "plan": "what to make by when, what to buy, what is too late; the year as a calendar",
    "print": "labels and cards in the numbers you want, cards with buyers' words, papers of market and post day",
    "changes": "what differs from what was last published, why, and what to send again; also what a price would do",
    "compare": "hold what a channel shows now against the truth",
    "history": "every price that a variant, an item or a line for shops had, where and when",
    "show": "one set as numbers, step by step, or all sets in one table",
    "place": "make a place to sell at, without a sample: own shop, marketplace, stall or books",
    "learn": "draft a channel from a sample that a storefront gives out; doubts are marked",
    "schema": "print the JSON Schemas of the shop's files, for editors",
}
"""Each is a module of this package with `EXAMPLES`, `add_arguments(parser)` and `run(args) -> int`.

An example is what is typed, and what it is for.
"""


TRACE: Final = "--trace"


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; return its exit status. What nobody foresaw is raised, and caught in `last`."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    settle_signs(words)
    settle_zone()
    if not words or words[0] not in COMMANDS:
        return _no_command(words)
    if said := _word_fault(words):
        sys.stderr.write(f"{said}\n")
        return 2
    collect_rarely()
    hear(lambda said: sys.stderr.write(f"{said}\n"))
    command = importlib.import_module(f"listkit.cli.{words[0]}")
    parser = command_parser(words[0], command)
    # A file may stand behind options, but for what follows "--", which argparse takes for options when it mixes them.
    parsed = (parser.parse_args if "--" in words else parser.parse_intermixed_args)(words[1:])
    status: int = command.run(parsed)
    return status


class _Once(argparse.Action):
    """What takes one value: a second one would take the place of the first without a word."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: object,
        option_string: str | None = None,
    ) -> None:
        """Keep the value.

        Raises:
            ArgumentError: the option stands twice, with another value.
        """
        said = getattr(namespace, self.dest)
        if option_string is not None and said is not self.default and said != values:
            raise argparse.ArgumentError(self, "stands twice, with different values; write the one that is meant")
        setattr(namespace, self.dest, values)


def command_parser(name: str, command: ModuleType) -> argparse.ArgumentParser:
    """Return the parser of a command, with its examples below its options."""
    width = max(len(typed) for typed, _ in command.EXAMPLES)
    examples = "\n".join(f"  {typed:<{width}}  {says}" for typed, says in command.EXAMPLES)
    parser = argparse.ArgumentParser(
        prog=f"listkit {name}",
        description=textwrap.fill(COMMANDS[name].capitalize() + ".", 80),
        epilog=f"examples:\n{examples}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.register("action", None, _Once)
    command.add_arguments(parser)
    parser.add_argument(TRACE, action="store_true", help="print how a mistake of listkit's own came about")
    return parser


def collect_rarely() -> None:
    """Look for cycles seldom: frozen values have none, and a large shop's are looked through again each time."""
    gc.set_threshold(200_000, 50, 1000)


def _word_fault(arguments: Sequence[str]) -> str:
    """Return what to say of an empty word, or of bytes that are no UTF-8 and name nothing that is there; "" for none.

    A variable of a script that was not set makes an empty word, which must not stand for "all" or for this folder.
    """
    for typed in arguments:
        if not typed.strip() or re.fullmatch(r"--[a-z-]+=\s*", typed):
            return "An argument is empty. Write what is meant, or leave it out with its option."
        word = (typed.partition("=")[2] if typed.startswith("--") else "") or typed
        if any("\ud800" <= sign <= "\udfff" for sign in word) and not os.path.lexists(word):
            shown = importlib.import_module("listkit.problem").quoted(word.encode("utf-8", "replace").decode())
            return f"{shown} has bytes that are no letters of UTF-8, and no file has that name. Type it anew."
    return ""


def _no_command(arguments: list[str]) -> int:
    """Help, or a word that is no command, with the one that was probably meant."""
    if not arguments or arguments[0].startswith("-"):
        _parser().parse_args(arguments or ["--help"])
        return 2
    wording = importlib.import_module("listkit.read.wording")
    meant = wording.write_instead(arguments[0], COMMANDS) or "listkit --help tells which there are."
    # "print" is a command, and its module in place of the function of that name once it is loaded.
    shown = importlib.import_module("listkit.problem").quoted(arguments[0])
    sys.stderr.write(f"There is no command {shown}. {meant}\n")
    return 2


def _parser() -> argparse.ArgumentParser:
    lines = "\n".join(f"  {name:<9}{says}" for name, says in COMMANDS.items())
    parser = argparse.ArgumentParser(
        prog="listkit",
        description="One folder of plain files is the truth; listkit builds everything else from it.",
        epilog=f"commands:\n{lines}\n\nlistkit COMMAND --help tells more.",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        usage="listkit COMMAND [options]",
    )
    parser.add_argument("command", choices=COMMANDS, metavar="COMMAND", help="one of the commands below")
    return parser
