"""wholesale/order-form.xlsx: the lines of the sheet with a cell for each quantity; it adds up and says what is missing.

All is text and figures computed here; only totals and what is missing are formulas, which any spreadsheet works out.
What is written is read again by a reader that knows nothing of the writer, and compared cell by cell.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from listkit.job import File, Job, Recipe, key_of
from listkit.listing.listings import Listings
from listkit.write.context import WriteContext
from listkit.write.line_sheet import codes_of
from listkit.write.order_form_plan import Form, form_of
from listkit.write.order_form_sheet import form_fault, write_form_sheet
from listkit.write.sheet_text import document_of
from listkit.write.xlsx_table import LIBRARY


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield the form; nothing without terms for shops."""
    catalog = listings.catalog
    document = document_of(catalog)
    if document is None:
        return
    form = form_of(document, catalog.shop)
    file = File(
        "wholesale/order-form.xlsx",
        key_of(context.version, LIBRARY, form),
        codes_of(document),
        tuple(f"{line.prices[0]:f}" for line in form.lines),
        channel="wholesale",
        verify=verify_form,
    )
    yield Job(write_form, (form,), (file,))


def write_form(form: Form, paths: tuple[Path, ...]) -> None:
    """Write the workbook: a recipe."""
    write_form_sheet(paths[0], form)


def verify_form(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when the workbook reads as the form it should be, else the first difference."""
    return form_fault(path, inputs[0])
