"""What whole columns of cells say of a field."""

import pytest

from listkit.learn.values import Verdict, filled, lacks_unit, verdict

AGAINST, SILENT, FOR, TELLING = Verdict


@pytest.mark.parametrize(
    ("field", "cells", "says"),
    [
        ("code", ("OH-B01", "OH-B02", "OH-B03"), TELLING),
        ("code", ("101", "102", "103"), FOR),
        ("code", ("soap", "soap", "soap", "balm"), AGAINST),
        ("code", ("9520123456788", "061414100007", "614141999996"), AGAINST),
        ("name", ("Rosemary & Rind", "Plain Oat"), FOR),
        ("name", ("OH-B01", "OH-B02"), AGAINST),
        ("form", ("bar soap", "body butter"), TELLING),
        ("form", ("Badesalz", "Handcreme"), TELLING),
        ("form", ("box", "cylinder"), AGAINST),
        ("form", ("jar", "tin"), FOR),
        ("container", ("mini jar", "tin"), TELLING),
        ("net", ("110 g", "4 x 25 g", "100 ml"), TELLING),
        ("net", ("7.50", "8.50"), AGAINST),
        ("retail", ("£7.50", "8.00"), TELLING),
        ("retail", ("7", "8"), FOR),
        ("retail", ("call me", "8"), AGAINST),
        ("weight", ("119", "232"), FOR),
        ("weight", ("119 g", "4oz"), TELLING),
        ("weight", ("100 ml", "50 ml"), AGAINST),
        ("size", ("86 x 58 x 28 mm",), TELLING),
        ("size", ("large", "small"), AGAINST),
        ("shape", ("box", "Zylinder"), TELLING),
        ("upright", ("yes", "no", "x"), TELLING),
        ("upright", ("oui", "non"), TELLING),
        ("shelf life", ("18", "24"), FOR),
        ("shelf life", ("18 months",), TELLING),
        ("shelf life", ("2027-03-01",), AGAINST),
        ("on hand", ("12", "0"), FOR),
        ("on hand", ("plenty",), AGAINST),
        ("gtin", ("9520123456788", "061414100007"), TELLING),
        ("gtin", ("9.52012E+12", "9.52012E+12"), FOR),
        ("gtin", ("yes", "no"), AGAINST),
        ("ingredients", ("Sodium Olivate, Aqua, Parfum",), TELLING),
        ("ingredients", ("no", "yes"), AGAINST),
        ("cautions", ("avoid-eyes",), FOR),
        ("larger", ("OH-U01", "OH-S01"), FOR),
        ("status", ("on sale", "closed"), TELLING),
        ("status", ("yesterday",), AGAINST),
        ("status", (), SILENT),
    ],
)
def test_a_column_speaks_for_or_against_a_field(field: str, cells: tuple[str, ...], says: Verdict) -> None:
    assert verdict(field, cells) is says


def test_one_odd_cell_in_four_changes_nothing() -> None:
    assert verdict("weight", ("119 g", "120 g", "90 g", "ask Tom")) is TELLING


def test_bare_numbers_lack_a_unit_where_one_is_needed() -> None:
    assert lacks_unit("weight", ("119", "120"))
    assert lacks_unit("size", ("80 x 55 x 25",))
    assert not lacks_unit("size", ("80 x 55 x 25 mm",))
    assert not lacks_unit("on hand", ("12",))
    assert not lacks_unit("weight", ())


def test_cells_are_cut_and_put_in_one_line() -> None:
    assert filled(("", "  a\n b ", "x" * 999)) == ("a b", "x" * 400)
