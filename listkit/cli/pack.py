"""`listkit pack`: everything that the last build made for a place, in one ZIP with a note of what to do with it."""

import argparse
from typing import Final

from listkit.actions.pack import pack_of, write_pack
from listkit.cli.options import add_out, add_shop, add_today, out_folder, today, typed_path
from listkit.cli.progress import reading
from listkit.cli.report import print_json, print_refusal, say, say_done, say_fault
from listkit.pipeline import check_shop, find_place
from listkit.problem import FieldError

EXAMPLES: Final = (
    ("listkit pack web_shop web-shop.zip", "feed, texts and photos of a place"),
    ("listkit pack wholesale for-shops.zip", "the papers and pictures for shops"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    parser.add_argument("place", metavar="PLACE", help="a channel's name or key, or wholesale")
    parser.add_argument("file", type=typed_path, metavar="FILE.zip", help="the ZIP to be written")
    add_shop(parser)
    add_today(parser)
    add_out(parser, meaning="where the build is, if not in out")


def run(args: argparse.Namespace) -> int:
    """Write the ZIP and print the note that is in it; 1 when something comes first."""
    out = out_folder(args)
    with reading(args.shop, out) as (photos, searches):
        checked = check_shop(args.shop, today(args), out, searches, photos=photos)
    if checked.stopped:
        print_refusal(checked.problems, as_json=args.json, brief=True)
        return 1
    try:
        pack = pack_of(checked, find_place(checked, args.place), out)
        write_pack(args.file, pack, args.shop)
    except FieldError as fault:
        say_fault(fault)
        return 1
    if args.json:
        files = [{"path": file.path, "kind": file.kind, "size": file.size} for file in pack.files]
        print_json({"file": str(args.file), "files": files, "behind": pack.behind})
        return 0
    print(pack.note, end="")
    if pack.behind:
        say("The shop was changed since the last build, and this ZIP holds what that build made.")
    say_done(f"{args.file}: {len(pack.files)} files.")
    return 0
