"""GTINs against the examples that GS1 prints, and against a library that was written by others."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum import ean

from listkit.problem import FieldError
from listkit.units.gtin import check_digit, in_fourteen, parse_gtin


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
        ("7351353", "7"),  # GTIN-8 in the documentation of python-stdnum
        ("03600029145", "2"),  # a UPC-A sample printed widely; from memory
    ],
)
def test_check_digits_are_those_that_gs1_prints(digits: str, last: str) -> None:
    assert check_digit(digits) == last
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
        ("36000291452", '"36000291452" has lost its leading zero. Write "036000291452".'),
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
    """GS1 Hong Kong: 036000291452 and 0036000291452 are one number."""
    assert in_fourteen("036000291452") == in_fourteen("0036000291452") == in_fourteen("00036000291452")
