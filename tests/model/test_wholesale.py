"""wholesale.toml: every term optional, none invented; what cannot be is told with what to write."""

from decimal import Decimal
from typing import Any

import pytest
from pydantic import ValidationError

from listkit.model.wholesale import Stockist, Wholesale
from listkit.units.money import Money

GBP = {"currency": "GBP"}


def read(**says: Any) -> Wholesale:
    return Wholesale.model_validate(says, context=GBP)


def test_an_empty_file_states_nothing() -> None:
    terms = read()
    stated = {name: value for name in Wholesale.model_fields if (value := getattr(terms, name))}
    assert stated.keys() == {"design", "case_pack", "minimum", "window", "beyond_stock"}
    assert (terms.case_pack.items, terms.minimum.sets, terms.window.order_by, terms.paper) == (None, None, None, None)


@pytest.mark.parametrize(("price", "means"), [("half", "half"), ("free", "free"), ("5.00", Money(Decimal(5), "GBP"))])
def test_a_display_costs_half_nothing_or_a_sum(price: str, means: str | Money) -> None:
    display = read(display={"price": price}).display
    assert display is not None
    assert display.price == means or str(display.price) == str(means)


@pytest.mark.parametrize(
    ("says", "told"),
    [
        ({"barcodes": "79 %"}, "79 % is not a size that tills read."),
        ({"barcodes": "201 %"}, "201 % is not a size that tills read."),
        ({"case_pack": {"items": 0}}, "it is 0."),
        ({"display": {"price": "a third"}}, "a third"),
        ({"display": {"price": True}}, "it is neither a word nor a sum."),
        ({"line": [{"code": "A-1", "case_gtin": "19520000010018"}]}, "19520000010018"),
        ({"line": [{"code": "A-1", "case_gtin": "95200002"}]}, '"95200002" is no GTIN of a case.'),
        ({"paper": "A5"}, "A5"),
        ({"valid_util": "2027-07-14"}, "valid_util"),
    ],
)
def test_what_cannot_be_is_told(says: dict[str, Any], told: str) -> None:
    """80 % to 200 %: GS1 General Specifications 5.2, from memory; 1520123400000 has check digit 8 (GS1 Greece)."""
    with pytest.raises(ValidationError) as fault:
        read(**says)
    assert told in str(fault.value)


@pytest.mark.parametrize("number", ["19520000010017", "39520000010011", "09520000010010"])
def test_the_case_numbers_that_gs1_prints_are_taken(number: str) -> None:
    """GS1 Greece, GTIN-14 for cartons."""
    assert read(line=[{"code": "A-1", "case_gtin": number}]).notes[0].case_gtin == number


@pytest.mark.parametrize("email", ["shop at mill.example", "mill.example", "@mill.example", "shop@", "a@b c"])
def test_what_is_no_email_address_is_told(email: str) -> None:
    with pytest.raises(ValidationError, match="is no e-mail address"):
        Stockist.model_validate({"code": "MILL", "name": "The Sluice Shop", "email": email})
    assert Stockist.model_validate({"code": "MILL", "name": "The Sluice Shop", "email": "shop@mill.example"}).email
