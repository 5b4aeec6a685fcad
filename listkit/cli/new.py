"""`listkit new`: a small shop that builds at once, to be filled with one's own goods."""

import argparse
import json
import sys
from pathlib import Path

from listkit.edit.new_shop import copy_starter
from listkit.problem import FieldError
from listkit.shipped import shipped_templates


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("folder", type=Path, metavar="FOLDER", help="the new shop folder; it must not be there yet")
    parser.add_argument("--json", action="store_true", help="print JSON, for scripts")


def run(args: argparse.Namespace) -> int:
    """Make the folder and say what to do next; 1 when it cannot be made."""
    try:
        files = copy_starter(shipped_templates() / "new_shop", args.folder)
    except FieldError as fault:
        print(f"{fault.message} {fault.hint}", file=sys.stderr)
        return 1
    if args.json:
        print(json.dumps({"folder": str(args.folder), "files": list(files)}, indent=2))
        return 0
    print(f"{args.folder}: {len(files)} files. Next:")
    print(f"  listkit build --shop {args.folder}    see what comes out")
    print("  then put your own goods into items.csv, your boxes into packaging.toml, your sets under sets/")
    return 0
