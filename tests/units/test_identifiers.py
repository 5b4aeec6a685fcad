"""GTINs against the examples that GS1 prints, and against a library that was written by others; CAS numbers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum import ean

from listkit.problem import FieldError
from listkit.units.identifiers import cas_check_digit, gtin_check_digit, in_fourteen, parse_cas, parse_gtin


@pytest.mark.parametrize(
    ("digits", "last"),
    [
        ("629104150021", "3"),  # GS1 Hong Kong, check digit page: the sum is 57
        ("890400021003", "7"),  # GS1 India, check digit page: 3 x 18 + 9 = 63
        ("730001100001", "7"),  # GS1 Sweden, check digit page
        ("952012345678", "8"),  # GS1 Digital Link standard, its examples
        ("520123400000", "1"),  # GS1 Greece, GTIN-14 for cartons: the item itself
        ("1520123400000", "8"),  # same, a carton of 12, indicator 1
        ("3520123400000", "2"),  # same, a carton of 24, indicator 3
        ("520123400003", "2"),  # same, a mixed carton
        ("06141410000", "7"),  # company prefix 0614141, which GS1 US keeps for examples; from memory
    ],
)
def test_check_digits_are_those_that_gs1_prints(digits: str, last: str) -> None:
    assert gtin_check_digit(digits) == last
    assert parse_gtin(digits + last) == digits + last


@given(st.sampled_from([8, 12, 13, 14]).flatmap(lambda n: st.text("0123456789", min_size=n, max_size=n)))
def test_a_gtin_is_right_when_python_stdnum_says_so(text: str) -> None:
    try:
        right = parse_gtin(text) == text
    except FieldError:
        right = False
    assert right == (ean.is_valid(text) and bool(text.strip("0")))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("61414100007", '"61414100007" has lost its leading zero. Write "061414100007".'),
        ("9520000010011", "Its last digit would be 0 if the others are right"),
        ("9.52E+12", "is what a spreadsheet left of a GTIN"),
        ("9,52e12", "is what a spreadsheet left of a GTIN"),
        ("9520000010010.0", 'Write "9520000010010".'),
        ("952 0000 010010", 'Write "9520000010010".'),
        ("12345", "has 5 digits"),
        ("95200000100100000", "has 17 digits"),
        ("00000000", "nothing but zeros"),
        ("ISBN 12", "is not all digits"),
        ("٩٥٢٠٠٠٠٠١٠٠١٠", "is not all digits"),
    ],
)
def test_a_wrong_gtin_is_named_with_what_to_do(text: str, says: str) -> None:
    with pytest.raises(FieldError) as fault:
        parse_gtin(text)
    assert says in f"{fault.value.message} {fault.value.hint}"


def test_gtins_are_compared_right_justified_in_14_digits() -> None:
    """GS1 General Specifications: a GTIN-12 is stored in 14 digits with zeros before it (from memory)."""
    assert in_fourteen("061414100007") == in_fourteen("0061414100007") == in_fourteen("00061414100007")


@pytest.mark.parametrize("number", ["78-70-6", "5392-40-5", "90028-68-5", "7732-18-5", "58-08-2"])
def test_known_numbers_are_read(number: str) -> None:
    """Linalool, citral, oak moss; water 7732-18-5 and caffeine 58-08-2 are usual examples (from memory)."""
    assert parse_cas(f" {number} ") == number


def test_the_check_digit_of_linalool_is_worked_by_hand() -> None:
    """78-70-6: 0·1 + 7·2 + 8·3 + 7·4 = 66."""
    assert cas_check_digit("7870") == "6"


@pytest.mark.parametrize(
    ("number", "hint"),
    [
        ("90028-68-55", "A CAS number ends with one digit; it may be 90028-68-5."),
        ("78-70-7", "If the others are right, it is 78-70-6; look at the supplier's document."),
        ("linalool", 'Write it as in "78-70-6".'),
        ("1-70-6", 'Write it as in "78-70-6".'),
        ("", 'Write it as in "78-70-6".'),
        (
            "78-70-6 / 106-24-1",
            "Write the one of the supplier's document, as 78-70-6; two ingredients have a row each.",
        ),
    ],
)
def test_anything_else_is_refused_with_what_it_may_be(number: str, hint: str) -> None:
    """90028-68-55 is printed in a public list of allergens; oak moss is 90028-68-5."""
    with pytest.raises(FieldError) as fault:
        parse_cas(number)
    assert fault.value.hint == hint


def test_two_numbers_in_a_cell_are_told_as_two() -> None:
    """Both stand in the annex of Regulation (EU) 2023/1545: linalool and geraniol."""
    with pytest.raises(FieldError, match=r"is 2 CAS numbers: 78-70-6, 106-24-1\."):
        parse_cas("78-70-6, 106-24-1")
