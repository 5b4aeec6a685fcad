"""`listkit desk`: the shop in a browser, on this machine alone, until the page closes it or Ctrl-C does."""

import argparse
import datetime
import webbrowser
from functools import partial
from typing import Final

from listkit.cli.options import add_shop, add_today, today, typed_number
from listkit.cli.report import say, say_fault
from listkit.desk.app import DeskServer
from listkit.problem import FieldError

EXAMPLES: Final = (
    ("listkit desk --shop my_shop", "that shop in your browser"),
    ("listkit desk", "the shop in this folder, or the making of a new one"),
)
_TURN: Final = 0.2  # seconds between two looks whether a signal came


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    add_shop(parser, as_json=False)
    parser.add_argument(
        "--port", type=typed_number, metavar="N", help="the port on this machine; a free one if left out"
    )
    parser.add_argument("--no-browser", action="store_true", help="only print the address that opens it")
    add_today(parser)


def run(args: argparse.Namespace) -> int:
    """Serve the desk until it is closed; 1 when it cannot be served."""
    day: partial[datetime.date] = partial(today, args)
    try:
        server = DeskServer(args.shop.absolute(), args.port, day, lambda: datetime.datetime.now(datetime.UTC))
    except FieldError as fault:
        say_fault(fault)
        return 1
    try:
        server.start()
        print(server.address, flush=True)
        if args.no_browser or not webbrowser.open(server.address):
            say("Open this address in your browser. It opens once; whoever has it has your shop.")
        say("The desk is open. Close it on the page, or with Ctrl-C.")
        while not server.wait(_TURN):
            pass
    finally:
        server.end()
    say("The desk is closed.")
    return 0
