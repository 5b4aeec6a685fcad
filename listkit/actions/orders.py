"""An order: a filled form read, held against its line sheet, and written as a confirmation and a pick list.

Its files go into out/wholesale/orders/, each written beside its place, read back, then put there. A build neither
makes nor removes them.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import Final

from listkit.check.orders import OrderCase, check_order, is_first, is_refused, no_version
from listkit.check.thresholds import read_thresholds
from listkit.check.wholesale import version_of
from listkit.compute.given_out import LinePrices, PriceBook, SheetHistory
from listkit.compute.orders import (
    Order,
    book_of,
    build_order,
    by_codes,
    lacking,
    odd_displays,
    quantities_of,
    shorts,
    with_own_displays,
)
from listkit.compute.wholesale import Sheet
from listkit.ledger.changes import amount_of
from listkit.ledger.store import LEDGER
from listkit.listing.photos import slug_of
from listkit.listing.print_words import PrintWords
from listkit.listing.sheet import Document, display_code, document_of
from listkit.model.codes import OldCodes
from listkit.model.shop import Shop
from listkit.model.wholesale import FormHeadings, OrderForm
from listkit.pipeline import Listed, given_out_rows, sheet_history
from listkit.problem import FieldError, Level, Place, Problem, must_fix
from listkit.read.order_file import read_order
from listkit.read.source import TEXT_LIMIT, read_bytes, real_path
from listkit.save.asked import asked_files, asked_folder
from listkit.save.job import digest_of
from listkit.write.line_sheet import FOLDER as PICTURES
from listkit.write.line_sheet import LOGO
from listkit.write.order_pages import Confirmed, confirmation_layout, pick_list_layout
from listkit.write.print import Layout, print_pdf, verify_pdf

ORDERS: Final = "wholesale/orders"
_TIER: Final = re.compile(r"(\d+): (\S+)")
_LONGEST_NAME: Final = 100
_BUYER: Final = ("shop", "address", "email", "phone", "order_number", "deliver_by", "notes", "first_order")


@dataclass(frozen=True, slots=True)
class CheckedOrder:
    """An order with its problems, at the levels that the owner set, and the line sheet that it is held against."""

    case: OrderCase
    document: Document
    problems: tuple[Problem, ...]

    @property
    def stopped(self) -> bool:
        """Whether it does not agree with its sheet."""
        return must_fix(self.problems)

    @property
    def refused(self) -> bool:
        """Whether it is not confirmed, not even when the rest of it is let pass."""
        return is_refused(self.case)

    @property
    def confirmed(self) -> Order:
        """The order as it is confirmed: displays under their own codes."""
        return with_own_displays(self.case.order)


def check_form(listed: Listed, path: Path, version: str = "") -> CheckedOrder | tuple[Problem, ...]:
    """Read a filled form and hold it against its line sheet; return the problems alone where it cannot be.

    `version` is the line sheet ordered by, where the form does not state it.

    Raises:
        FieldError: there is no line sheet or no such file, or the ledger cannot be used.
    """
    document = document_of(listed.catalog)
    if document is None:
        raise FieldError("there is no line sheet to order by.", "Write wholesale.toml; see the README.")
    form, problems = _read_form(path, document.voice.own)
    if form is None:
        return tuple(problems)
    form, renamed = _in_todays_codes(by_codes(form, document.sheet), listed.shop.old_codes)
    case = _order_case(listed, document.sheet, form, version)
    if isinstance(case, Problem):
        return (*problems, *renamed, case)
    answers = (document.voice.own.form.yes, document.voice.own.form.no)
    case = replace(case, first=is_first(case.form, answers, listed.shop.stockists))
    judged = read_thresholds(listed.shop.settings)[0].judged([*problems, *renamed, *check_order(case, listed.shop)])
    return CheckedOrder(case, document, tuple(judged))


def _read_form(path: Path, wording: PrintWords) -> tuple[OrderForm | None, list[Problem]]:
    form, sheet = wording.form, wording.sheet
    buyer = tuple((name, getattr(form, name)) for name in _BUYER)
    headings = FormHeadings(
        code=sheet.code,
        quantity=form.quantity,
        wholesale=sheet.wholesale,
        retail=sheet.retail,
        sheet=form.sheet,
        buyer=buyer,
    )
    whole = real_path(path)
    content = read_bytes(whole.parent, whole.name, limit=TEXT_LIMIT)
    return (None, [content]) if isinstance(content, Problem) else read_order(path.name, content, headings)


def _in_todays_codes(form: OrderForm, old_codes: OldCodes) -> tuple[OrderForm, list[Problem]]:
    """Return a form in today's codes, and a remark for each old one, display sets' among them."""
    now = dict(old_codes.now)
    now |= {display_code(old): display_code(new) for old, new in now.items()}
    old_rows = {row.code: row for row in reversed(form.rows) if row.code in now}
    remarks = [
        Problem(row.place, "old-code", f"{code} is {now[code]} now.", "It is confirmed under that code.", Level.LOOK_AT)
        for code, row in sorted(old_rows.items())
    ]
    return replace(form, rows=tuple(replace(row, code=now.get(row.code, row.code)) for row in form.rows)), remarks


def _order_case(listed: Listed, sheet: Sheet, form: OrderForm, version: str) -> OrderCase | Problem:
    """Return the order with all that it is held against; or the problem that its sheet is none of ours."""
    history = sheet_history(listed.catalog)
    version = version_of(version or form.sheet) or history.current
    book = price_book(listed.shop, sheet, history, version)
    if book is None:
        return no_version(Place(form.file), version, history)
    displays = {entry.code: display_code(entry.code) for entry in sheet.entries}
    order = build_order(sheet, book, quantities_of(form), displays)
    return OrderCase(form, order, sheet, book, history, today=listed.day, first=None)


def write_order(checked: CheckedOrder, listed: Listed, out: Path, form: Path) -> list[str]:
    """Write the confirmation and the pick list of an order, and return their paths below `out`.

    Raises:
        FieldError: they cannot be made or written.
    """
    case, document = checked.case, checked.document
    confirmed = _confirmed(checked)
    logo, name = logo_of(out), _stem(form, case)
    pages = (
        (f"{name}-confirmation.pdf", confirmation_layout(confirmed, document, listed.shop, logo=bool(logo))),
        (f"{name}-pick-list.pdf", pick_list_layout(confirmed, document, listed.shop)),
    )
    return write_pages(out, listed.shop.root, pages, logo)


def _confirmed(checked: CheckedOrder) -> Confirmed:
    """Return the order as it is confirmed, with all in which that is not as the form has it."""
    case = checked.case
    changed = {problem.place.row for problem in checked.problems if problem.code == "price-differs"}
    known = {line.code for line in case.order.lines}
    return Confirmed(
        checked.confirmed,
        case.form,
        case.today,
        left_out=tuple(row for row in case.form.rows if row.quantity is None or row.code not in known),
        other_prices=tuple(
            (row.code, f"{row.prices[0]}") for row in case.form.rows if row.code in changed and row.prices
        ),
        displays=tuple(odd_displays(case.order)),
        shorts=tuple(shorts(case.order)),
        later=tuple(lacking(case.order)),
    )


def _stem(path: Path, case: OrderCase) -> str:
    """Return a name for files that every system takes: the shop and its own number, and some digits of what is ordered.

    Without a number it is the shop and the day, else the form's name. Two orders of one day, or of one number, are
    two, and the same one again is the same.
    """
    shop, number = (slug_of(case.form.says(name)) for name in ("shop", "order_number"))
    name = f"{shop}-{number or case.today.isoformat()}" if shop else slug_of(path.stem) or "order"
    ordered = digest_of(case.order.version, tuple((line.code, line.quantity) for line in case.order.lines))
    return f"{name[:_LONGEST_NAME]}-{ordered[:6]}"


# The files


def logo_of(out: Path) -> tuple[tuple[str, Path], ...]:
    """Return the logo as the last build made it, if it did."""
    path = out / PICTURES / LOGO
    return ((LOGO, path),) if path.is_file() and not path.is_symlink() else ()


def write_pages(
    out: Path, shop: Path, pages: Sequence[tuple[str, Layout]], pictures: tuple[tuple[str, Path], ...]
) -> list[str]:
    """Print every layout to its name and return the paths below `out`; all are made before the first is put there.

    Raises:
        FieldError: a build is at work, a link leads out of the folder, a layout has a fault, or nothing can be written.
    """
    paths = [f"{ORDERS}/{name}" for name, _ in pages]
    with asked_folder(out, shop, paths) as folder, asked_files(folder, paths) as parts:
        for path, part, (_, layout) in zip(paths, parts, pages, strict=True):
            print_pdf(part, layout, pictures)
            if fault := verify_pdf(part, print_pdf, ()):
                raise FieldError(f"{path} does not read back as it was written: {fault}")
    return paths


def price_book(shop: Shop, sheet: Sheet, history: SheetHistory, version: str) -> PriceBook | None:
    """Return the prices of a version: today's from the shop, an older one's from the ledger; None for no version.

    Raises:
        FieldError: the ledger cannot be used.
    """
    if version == history.current:
        return book_of(sheet, version, {entry.code: display_code(entry.code) for entry in sheet.entries})
    given = history.find(version)
    if given is None:
        return None
    prices: dict[str, LinePrices] = {}
    for code, row in given_out_rows(shop.root / LEDGER, given, shop.old_codes).items():
        if (wholesale := amount_of(row.get("wholesalePrice"))) is not None:
            tiers = (match for text in row.get("tierPrices", ()) if (match := _TIER.fullmatch(str(text))))
            prices[code] = LinePrices(wholesale, tuple((int(tier[1]), Decimal(tier[2])) for tier in tiers))
        if (display := amount_of(row.get("displayPrice"))) is not None:
            prices.setdefault(display_code(str(row.get("inProductGroupWithID", code))), LinePrices(display))
    return PriceBook(version, given.valid_until, tuple(prices.items()))
