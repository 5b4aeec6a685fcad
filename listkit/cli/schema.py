"""`listkit schema`: the JSON Schemas of the shop's files, so that an editor can help while typing."""

import argparse
from typing import Final

from listkit.cli.report import print_json
from listkit.present.schema import FILES, schema_of
from listkit.problem import quoted

EXAMPLES: Final = (
    ("listkit schema", "all of them"),
    ("listkit schema shop.toml", "of one file"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("file", nargs="?", default="", metavar="FILE", help=f"one of {', '.join(FILES)}")
    parser.add_argument("--json", action="store_true", help="the schemas are JSON in any case")


def run(args: argparse.Namespace) -> int:
    """Print one schema, or all in one object by file; 2 when there is no such file."""
    if args.file and args.file not in FILES:
        print(f"There is no file {quoted(args.file)}. There are: {', '.join(FILES)}.")
        return 2
    schemas = {file: schema_of(model) for file, model in FILES.items() if args.file in ("", file)}
    print_json(schemas[args.file] if args.file else schemas)
    return 0
