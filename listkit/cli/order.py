"""`listkit order`: a form that a shop filled in, checked against its line sheet, confirmed, and made a pick list."""

import argparse
import datetime
import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from listkit.check.orders import OrderCase, check_order, is_first, no_version
from listkit.check.thresholds import read_thresholds
from listkit.check.wholesale import version_of
from listkit.cli.options import add_shop, add_today
from listkit.cli.order_files import logo_of, write_pages
from listkit.cli.report import done, problems_json, report, tell
from listkit.cli.sheets import price_book, sheet_history
from listkit.cli.table import table
from listkit.cli.truth import Truth, read_truth
from listkit.compute.orders import Order, build_order, by_codes, odd_displays, quantities_of, shorts, with_own_displays
from listkit.listing.cells import money_digits
from listkit.listing.photos import slug_of
from listkit.listing.print_words import PrintWords
from listkit.model.wholesale import FormHeadings, OrderForm
from listkit.problem import FieldError, Place, Problem, must_fix
from listkit.read.order_file import read_order
from listkit.read.source import TEXT_LIMIT, read_bytes
from listkit.save.job import digest_of
from listkit.write.order_pages import Confirmed, confirmation_layout, pick_list_layout
from listkit.write.sheet_text import Document, display_code, document_of

_LONGEST_NAME: Final = 100
_BUYER: Final = ("shop", "address", "email", "phone", "order_number", "deliver_by", "notes", "first_order")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_shop(parser)
    add_today(parser)
    parser.add_argument("form", type=Path, metavar="FORM", help="the filled form, or a CSV of code and quantity")
    parser.add_argument("--sheet", default="", metavar="VERSION", help="the line sheet ordered by, if the form is mute")
    parser.add_argument("--anyway", action="store_true", help="confirm what can be, though not all of it agrees")
    parser.add_argument("--out", type=Path, metavar="DIR", help="where the build is, if not in out")


def run(args: argparse.Namespace) -> int:
    """Check the order; write its confirmation and pick list when all agrees, or anyway; 1 when it does not."""
    args.out = args.out or args.shop / "out"
    args.today = args.today or datetime.date.today()  # noqa: DTZ011 - the owner's own day
    truth = read_truth(args.shop, args.out, args.today)
    if must_fix(truth.problems):
        report(truth.problems, sys.stderr)
        tell("Until this is mended, lines are left out that are not gone.")
        return 1
    try:
        return _answer(args, truth)
    except FieldError as fault:
        tell(f"{fault.message} {fault.hint}".rstrip())
        return 1


def _answer(args: argparse.Namespace, truth: Truth) -> int:
    document = document_of(truth.catalog)
    if document is None:
        raise FieldError("there is no line sheet to order by.", "Write wholesale.toml; see the README.")
    form, problems = _read(args.form, document.voice.own)
    if form is None:
        return _refused(args, problems)
    case = _case(args, truth, document, form)
    if isinstance(case, Problem):
        return _refused(args, [*problems, case])
    wanted = read_thresholds(truth.shop.settings)[0]
    told = wanted.judged([*problems, *check_order(case, truth.shop)])
    stopped = must_fix(told) and not (args.anyway and case.order.lines)
    files = [] if stopped else _write(args, truth, document, (case, tuple(told)))
    _tell(args, case if stopped else replace(case, order=with_own_displays(case.order)), told, files)
    return 1 if must_fix(told) else 0


def _read(path: Path, words: PrintWords) -> tuple[OrderForm | None, list[Problem]]:
    form, own = words.form, words.sheet
    buyer = tuple((name, getattr(form, name)) for name in _BUYER)
    headings = FormHeadings(own.code, form.quantity, own.wholesale, own.retail, form.sheet, buyer)
    try:
        whole = path.resolve(strict=True)
    except (OSError, RuntimeError, ValueError):
        raise FieldError(f"{path.name}: there is no such file.", "Look at the name, and where it lies.") from None
    content = read_bytes(whole.parent, whole.name, limit=TEXT_LIMIT)
    return (None, [content]) if isinstance(content, Problem) else read_order(path.name, content, headings)


def _case(args: argparse.Namespace, truth: Truth, document: Document, form: OrderForm) -> OrderCase | Problem:
    """Return the order with all that it is held against; or the problem that its sheet is none of ours."""
    form = by_codes(form, document.sheet)
    history = sheet_history(truth.shop.root, truth.catalog)
    version = version_of(args.sheet or form.sheet) or history.current
    book = price_book(truth.shop.root, document.sheet, history, version)
    if book is None:
        return no_version(Place(form.file), version, history)
    displays = {entry.code: display_code(entry.code) for entry in document.sheet.entries}
    order = build_order(document.sheet, book, quantities_of(form), displays)
    answers = (document.voice.own.form.yes, document.voice.own.form.no)
    first = is_first(form, answers, truth.shop.stockists)
    return OrderCase(form, order, document.sheet, book, history, args.today, first)


def _refused(args: argparse.Namespace, problems: list[Problem]) -> int:
    print(problems_json(problems)) if args.json else report(problems, sys.stderr)
    return 1


def _write(
    args: argparse.Namespace, truth: Truth, document: Document, checked: tuple[OrderCase, tuple[Problem, ...]]
) -> list[str]:
    case, told = checked
    confirmed = _confirmed(case, told)
    logo, name = logo_of(args.out), _stem(args.form, case)
    pages = (
        (f"{name}-confirmation.pdf", confirmation_layout(confirmed, document, truth.shop, logo=bool(logo))),
        (f"{name}-pick-list.pdf", pick_list_layout(confirmed, document, truth.shop)),
    )
    return write_pages(args.out, pages, logo)


def _confirmed(case: OrderCase, told: tuple[Problem, ...]) -> Confirmed:
    """Return the order as it is confirmed, with all in which that is not as the form has it."""
    changed = {one.place.row for one in told if one.code == "price-differs"}
    known = {line.code for line in case.order.lines}
    return Confirmed(
        with_own_displays(case.order),
        case.form,
        case.today,
        left_out=tuple(row for row in case.form.rows if row.quantity is None or row.code not in known),
        other_prices=tuple(
            (row.code, f"{row.prices[0]}") for row in case.form.rows if row.code in changed and row.prices
        ),
        displays=tuple(odd_displays(case.order)),
        shorts=tuple(shorts(case.order)),
    )


def _stem(path: Path, case: OrderCase) -> str:
    """Return a name for files that every system takes: the shop and its own number, and some digits of what is ordered.

    Without a number it is the shop and the day, else the form's name. Two orders of one day, or of one number, are
    two, and the same one again is the same.
    """
    shop, number = (slug_of(case.form.says(name)) for name in ("shop", "order_number"))
    name = f"{shop}-{number or case.today.isoformat()}" if shop else slug_of(path.stem) or "order"
    ordered = digest_of(case.order.version, tuple((one.code, one.quantity) for one in case.order.lines))
    return f"{name[:_LONGEST_NAME]}-{ordered[:6]}"


def _tell(args: argparse.Namespace, case: OrderCase, told: list[Problem], files: list[str]) -> None:
    if args.json:
        facts = {**_order_json(case.order, case.form), "files": files, **json.loads(problems_json(told))}
        print(json.dumps(facts, indent=2, ensure_ascii=False))
        return
    rows = [("code", "pieces", "each", "total")]
    rows += [(one.code, str(one.quantity), str(one.each), str(one.total)) for one in case.order.lines]
    rows.append(("", str(case.order.pieces), "", str(case.order.total)))
    print(table(rows, left=1))
    print(f"By the prices of line sheet {case.order.version}.")
    if told:
        report(told, sys.stderr)
    if files:
        done(f"{args.out}: {', '.join(files)}.")
    else:
        tell("Nothing was confirmed. Settle it with the shop, or confirm what can be with --anyway.")


def _order_json(order: Order, form: OrderForm) -> dict[str, Any]:
    lines = [
        {
            "code": one.code,
            "quantity": one.quantity,
            "each": money_digits(one.each),
            "total": money_digits(one.total),
        }
        for one in order.lines
    ]
    return {
        "sheet": order.version,
        "buyer": dict(form.buyer),
        "lines": lines,
        "pieces": order.pieces,
        "total": money_digits(order.total),
    }
