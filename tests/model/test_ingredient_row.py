"""Rows of ingredients.csv: percentages and CAS numbers."""

from decimal import Decimal

import pytest
from pydantic import ValidationError

from listkit.model.item import IngredientRow


def row(percent: str, cas: str = "") -> IngredientRow:
    return IngredientRow.model_validate({"item": "HH-B1", "ingredient": "Linalool", "cas": cas, "percent": percent})


@pytest.mark.parametrize(
    ("text", "share"), [("0.5", "0.005"), ("0.5 %", "0.005"), ("100", "1"), ("0", "0"), ("0.001%", "0.00001")]
)
def test_a_percentage_is_read_with_and_without_its_sign(text: str, share: str) -> None:
    assert row(text).percent == Decimal(share)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("100.5", "is not from 0 to 100 %"), ("-1", "is not from 0 to 100 %"), ("3 g", "is in g, not in per cent"),
        ("2 ‰", "is in ‰, not in per cent"), ("0,5", "has a comma"), ("some", "is not a percentage"),
    ],
)  # fmt: skip
def test_what_is_no_percentage_is_told(text: str, said: str) -> None:
    with pytest.raises(ValidationError) as fault:
        row(text)
    assert said in str(fault.value)


def test_a_cas_number_is_held_against_its_check_digit() -> None:
    assert row("1", "78-70-6").cas == "78-70-6"
    assert row("1", "").cas == ""
    with pytest.raises(ValidationError) as fault:
        row("1", "90028-68-55")
    assert '"90028-68-55" is not a CAS number' in str(fault.value)
