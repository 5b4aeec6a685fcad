"""A number of more digits than anybody means is told as that, and not as no number."""

import pytest
from pydantic import TypeAdapter, ValidationError

from listkit.model.fields import Count

COUNT = TypeAdapter[int](Count)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1234567890", '"1234567890" has more than nine digits.'),
        ("-12345678901", '"-12345678901" is negative.'),
        ("1e9", '"1e9" is not a whole number.'),
    ],
)
def test_a_count_that_is_none_is_told_as_what_it_is(text: str, says: str) -> None:
    with pytest.raises(ValidationError, match=says):
        COUNT.validate_python(text)


def test_a_count_may_be_in_digits_of_another_script() -> None:
    assert COUNT.validate_python("١٢") == 12


def test_zeros_before_a_count_say_nothing() -> None:
    assert COUNT.validate_python("0000000012.0") == 12
