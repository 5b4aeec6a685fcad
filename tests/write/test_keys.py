"""Tests of keys over rows."""

from hypothesis import given
from hypothesis import strategies as st

from listkit.write.context import codes_of, stream_key
from tests.write.two_sets import channel, own

ROWS = st.lists(st.tuples(st.text(), st.text()), max_size=600)


@given(ROWS, ROWS)
def test_keys_are_equal_when_the_rows_are_and_only_then(
    one: list[tuple[str, str]], other: list[tuple[str, str]]
) -> None:
    assert (stream_key(iter(one), "1") == stream_key(iter(other), "1")) == (one == other)


@given(ROWS)
def test_what_stands_before_the_rows_counts_too(rows: list[tuple[str, str]]) -> None:
    assert stream_key(rows, "1") != stream_key(rows, "2")


def test_rows_may_be_more_than_one_batch() -> None:
    rows = [(str(number), "a") for number in range(1000)]
    changed = [*rows[:-1], ("999", "b")]
    assert stream_key(rows) != stream_key(changed) != stream_key(rows[:-1])


def test_codes_are_of_sets_variants_and_items_each_once() -> None:
    codes = codes_of(own(channel()))
    assert codes[:3] == ("OHS-1", "OHS-1-M02-L01", "OH-B01")
    assert {"OHS-2", "OH-L02"} <= set(codes)
    assert len(codes) == len(set(codes)) == 1 + 4 + 5 + 1
