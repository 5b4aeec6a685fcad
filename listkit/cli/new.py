"""`listkit new`: a small shop that builds at once, or a shop around the sheet that the owner keeps already."""

import argparse
import json
import re
import sys
from pathlib import Path
from typing import Any, Final

from listkit.cli.new_told import tell_own_shop
from listkit.cli.own_columns import OwnColumns, own_columns
from listkit.cli.own_sheet import SheetRead, read_own_sheet
from listkit.edit.starter import OwnSheet, ShopWords, copy_starter, make_own_shop
from listkit.learn.header import CurrencyGuess
from listkit.problem import FieldError
from listkit.shipped import shipped_templates

_ASK_CURRENCY: Final = '? three letters, as in "GBP": all money in the folder is in it'
_ASK_COUNTRY: Final = '? two letters, as in "GB"'


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("folder", type=Path, metavar="FOLDER", help="the new shop folder; it must not be there yet")
    parser.add_argument(
        "--items", type=Path, metavar="SHEET", help="your own sheet (CSV, .xlsx, .ods); it is copied, never changed"
    )
    parser.add_argument("--json", action="store_true", help="print JSON, for scripts")


def run(args: argparse.Namespace) -> int:
    """Make the folder and say what to do next; 1 when it cannot be made."""
    try:
        return _around_sheet(args) if args.items else _starter(args)
    except FieldError as fault:
        print(f"{fault.message} {fault.hint}".rstrip(), file=sys.stderr)
        return 1


def _starter(args: argparse.Namespace) -> int:
    files = copy_starter(shipped_templates() / "new_shop", args.folder)
    if args.json:
        print(json.dumps({"folder": str(args.folder), "files": list(files)}, indent=2))
        return 0
    print(f"{args.folder}: {len(files)} files. Next:")
    print(f"  listkit build --shop {args.folder}    see what comes out")
    print("  then put your own goods into items.csv, your boxes into packaging.toml, your sets under sets/")
    return 0


def _around_sheet(args: argparse.Namespace) -> int:
    read = read_own_sheet(args.items)
    columns = own_columns(read)
    own = OwnSheet(read.file, read.content, read.sheet, columns.lines, columns.missing)
    files = make_own_shop(shipped_templates(), args.folder, own, _shop_words(args.folder, read.currency))
    if args.json:
        print(json.dumps(_json(args.folder, files, read, columns), indent=2, ensure_ascii=False))
    else:
        tell_own_shop(args.folder, read, columns)
    return 0


def _shop_words(folder: Path, currency: CurrencyGuess) -> ShopWords:
    """Return the shop's name from its folder, and its currency and country where the sheet leaves no doubt.

    The first two letters of a currency are its country's (ISO 4217), except in those of several countries: EUR, X..
    """
    name = " ".join(re.sub(r"[_\W]+", " ", folder.absolute().name).split())
    code = currency.code
    country = code[:2] if code and code != "EUR" and not code.startswith("X") else ""
    signs = " and ".join(currency.signs)
    asked = _ASK_CURRENCY + (f"; the prices carry {signs}" if signs else "")
    return ShopWords(
        name=(name.title() if name.islower() else name) or "My Shop",
        currency=code,
        currency_remark=f"as the prices carry {signs}" if code else asked,
        country=country,
        country_remark="as of the currency; mend it if you are elsewhere" if country else _ASK_COUNTRY,
    )


def _json(folder: Path, files: tuple[str, ...], read: SheetRead, columns: OwnColumns) -> dict[str, Any]:
    filled = {line.heading for line in columns.understood}
    return {
        "folder": str(folder),
        "files": list(files),
        "items": {
            "file": read.file,
            "sheet": read.sheet or None,
            "header": read.header_line,
            "currency": read.currency.code or None,
            "columns": [
                {
                    "heading": heading,
                    "field": match.field,
                    "confidence": match.confidence,
                    "second": match.second,
                    "reason": match.reason,
                    "filled_in": heading in filled,
                }
                for heading, match in zip(read.header.headings, read.matches, strict=True)
            ],
            "missing": [text.split(".")[0] for text in columns.missing],
        },
    }
