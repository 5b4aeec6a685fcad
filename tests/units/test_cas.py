"""CAS numbers and their check digit."""

import pytest

from listkit.problem import FieldError
from listkit.units.cas import check_digit, parse_cas


@pytest.mark.parametrize("number", ["78-70-6", "5392-40-5", "90028-68-5", "7732-18-5", "58-08-2"])
def test_known_numbers_are_read(number: str) -> None:
    """Linalool, citral, oak moss; water 7732-18-5 and caffeine 58-08-2 are usual examples (from memory)."""
    assert parse_cas(f" {number} ") == number


def test_the_check_digit_of_linalool_is_worked_by_hand() -> None:
    """78-70-6: 0·1 + 7·2 + 8·3 + 7·4 = 66."""
    assert check_digit("7870") == "6"


@pytest.mark.parametrize(
    ("number", "hint"),
    [
        ("90028-68-55", "A CAS number ends with one digit; it may be 90028-68-5."),
        ("78-70-7", "If the others are right, it is 78-70-6; look at the supplier's document."),
        ("linalool", 'Write it as in "78-70-6".'),
        ("1-70-6", 'Write it as in "78-70-6".'),
        ("", 'Write it as in "78-70-6".'),
    ],
)
def test_anything_else_is_refused_with_what_it_may_be(number: str, hint: str) -> None:
    """90028-68-55 is printed in a public list of allergens; oak moss is 90028-68-5."""
    with pytest.raises(FieldError) as fault:
        parse_cas(number)
    assert fault.value.hint == hint
