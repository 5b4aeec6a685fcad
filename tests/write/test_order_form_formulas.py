"""Formulas of the order form as LibreOffice works them out, against the figures of our own orders."""

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from python_calamine import CalamineWorkbook

from listkit.compute.orders import book_of, build_order, shorts
from listkit.listing.listings import Listings
from listkit.listing.order_form import form_of
from listkit.listing.sheet import document_of
from listkit.write.form_formulas import Layout
from listkit.write.order_form import layout_of, write_form_sheet
from tests.office import needs_office, typed
from tests.write.sheets import hard

TERMS: dict[str, Any] = {
    "case_pack": {"items": 6, "sets": 4, "mixed": True},
    "minimum": {"items": 12, "sets": 8},
    "tier": [{"from": 12, "wholesale": "47 %"}, {"from": 48, "wholesale": "45 %"}],
    "display": {"price": "half", "free_from": 24},
    "opening": "150",
}
WANTED = ({"SET-1-00": 5, "SET-1-39": 6, "B-1": 6}, {"SET-1-07": 48, "SET-1 display": 1, "B-1": 12}, {"SET-1-01": 3})


Worked = tuple[dict[str, tuple[Any, Any]], float, float, tuple[float, float]]
"""Total and what is missing by code, the sum and the pieces, what it sells for and the share that a shop keeps."""


def worked_out(of: Listings, folder: Path) -> list[Worked]:
    """Return what the form works out for each of WANTED."""
    document = document_of(of.catalog)
    assert document is not None
    form = form_of(document, of.catalog.shop)
    write_form_sheet(folder / "blank.xlsx", form)
    layout = layout_of(form)
    rows = {line.code: layout.rows[at] for at, line in enumerate(form.lines)}
    forms = [folder / f"form-{number}.xlsx" for number, _ in enumerate(WANTED)]
    typed(
        (folder / "blank.xlsx", target, {f"{layout.quantity}{rows[code]}": n for code, n in wanted.items()})
        for target, wanted in zip(forms, WANTED, strict=True)
    )
    return [_worked(filled, layout, rows) for filled in forms]


def _worked(filled: Path, layout: Layout, rows: dict[str, int]) -> Worked:
    cells: list[list[Any]] = CalamineWorkbook.from_path(filled).get_sheet_by_index(0).to_python(skip_empty_area=False)
    total, missing = (ord(letter) - ord("A") for letter in (layout.total, layout.missing))
    told = {code: (cells[row - 1][total], cells[row - 1][missing]) for code, row in rows.items()}
    summed = int(layout.sum.rpartition("$")[2])
    shelf = ord(layout.retail) - ord("A")
    return told, cells[summed - 1][1], cells[summed][1], (cells[summed - 1][shelf], cells[summed][shelf])


@needs_office
def test_the_sheets_own_sums_and_words_are_those_of_our_orders(tmp_path: Path) -> None:
    """Two ways to one figure: formulas that LibreOffice works out, and compute/order.py."""
    of = hard(**TERMS)
    document = document_of(of.catalog)
    assert document is not None
    sheet, displays = document.sheet, {"SET-1": "SET-1 display"}
    for wanted, (told, summed, pieces, (shelf, margin)) in zip(WANTED, worked_out(of, tmp_path), strict=True):
        order = build_order(sheet, book_of(sheet, "CN69X", displays), wanted, displays)
        assert (f"{summed:.2f}", int(pieces)) == (str(order.total), order.pieces)
        assert {one.code: f"{told[one.code][0]:.2f}" for one in order.lines} == {
            one.code: str(one.total) for one in order.lines
        }
        worth = sum((one.line.retail.amount * one.quantity for one in order.lines if one.line), Decimal(0))
        assert f"{shelf:.2f}" == f"{worth:.2f}"
        assert margin == pytest.approx(float((worth - order.total.amount) / worth))
        named = {code: missing for code, (_, missing) in told.items() if missing}
        assert len(named) == len({one.codes[0].rpartition("-")[0] for one in shorts(order)})
        assert all(any(f"{one.missing} more make" in words for one in shorts(order)) for words in named.values())
