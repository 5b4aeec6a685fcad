"""The code of a new set follows those that are there."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.edit.new_set import next_set_code


@pytest.mark.parametrize(
    ("sets", "code"),
    [
        ((), "SET-1"),
        (("OHS-1", "OHS-2", "OHS-6"), "OHS-7"),
        (("G08", "G09"), "G10"),
        (("G009",), "G010"),
        (("SPRING",), "SET-1"),
        (("A-1", "A-2", "B-9"), "A-3"),
        (("9",), "10"),
    ],
)
def test_the_next_number_of_the_commonest_pattern_is_taken(sets: tuple[str, ...], code: str) -> None:
    assert next_set_code(sets) == code


def test_a_code_in_use_anywhere_is_passed_over() -> None:
    assert next_set_code(("OHS-1",), ("ohs-2", "OHS-3")) == "OHS-4"


@given(st.lists(st.from_regex(r"\A[A-Za-z0-9-]{1,8}\Z")), st.lists(st.from_regex(r"\A[A-Za-z0-9-]{1,8}\Z")))
def test_the_code_is_always_new(sets: list[str], others: list[str]) -> None:
    assert next_set_code(sets, others).casefold() not in {code.casefold() for code in (*sets, *others)}
