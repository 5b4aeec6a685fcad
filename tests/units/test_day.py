"""Days as files of other programs write them."""

import datetime

import pytest

from listkit.units.day import day_text


@pytest.mark.parametrize("form", ["2027-02-28", "28/02/2027", "02/28/2027", "28.02.2027", "20270228"])
def test_the_example_of_a_form_is_written_as_it_stands(form: str) -> None:
    assert day_text(datetime.date(2027, 2, 28), form) == form


def test_a_day_keeps_its_zeros_and_its_order() -> None:
    """The three forms of ISO 8601, of Britain and of the United States (CLDR, short dates)."""
    day = datetime.date(2026, 12, 3)
    assert [day_text(day, form) for form in ("2027-02-28", "28/02/2027", "02/28/2027")] == [
        "2026-12-03", "03/12/2026", "12/03/2026"
    ]  # fmt: skip
