"""Words for problems: near misses, lists, and lines that are safe to print."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.problem import one_line, quoted, times
from listkit.read.wording import distance, listed, nearest, perhaps, slips, write_instead


@pytest.mark.parametrize(
    ("one", "other", "steps"),
    [
        ("kitten", "sitting", 3),  # the textbook example of the Levenshtein distance, from memory
        ("ca", "abc", 3),  # optimal string alignment, where the unrestricted Damerau distance is 2; from memory
        ("seasn", "season", 1),
        ("wieght", "weight", 1),
        ("", "ab", 2),
        ("same", "same", 0),
    ],
)
def test_the_distance_of_two_words_is_that_of_the_textbook(one: str, other: str, steps: int) -> None:
    assert distance(one, other, 9) == steps


@given(st.text("abc", max_size=7), st.text("abc", max_size=7), st.integers(0, 8))
def test_the_distance_is_symmetric_and_never_beyond_what_was_asked(one: str, other: str, most: int) -> None:
    exact = distance(one, other, 20)
    assert distance(other, one, 20) == exact
    assert distance(one, other, most) == min(exact, most + 1)


@given(st.text("abcdef", min_size=3, max_size=12), st.integers(0, 11), st.sampled_from("xyz"))
def test_one_wrong_letter_is_always_recognised(word: str, at: int, letter: str) -> None:
    slip = word[: at % len(word)] + letter + word[at % len(word) + 1 :]
    assert nearest(slip, [word, "quite another"]) == word


def test_of_equally_near_words_the_one_that_begins_alike_is_meant() -> None:
    assert nearest("RR-B2", {"RR-J2", "RR-B1"}) == "RR-B1"
    assert nearest("oh-b01", ["OH-B02", "OH-B01"]) == "OH-B01"


def test_short_words_allow_fewer_slips() -> None:
    assert (slips("fee"), slips("ok"), slips("season")) == (1, 0, 2)
    assert nearest("date", ["name"]) == ""


def test_hints_name_the_near_word_or_nothing() -> None:
    assert write_instead("fea", ["fee", "feed"]) == 'Write "fee".'
    assert perhaps("OH-B1", ["OH-B01"]) == 'Perhaps "OH-B01" is meant.'
    assert write_instead("colour", ["fee"]) == ""


def test_lists_and_counts_read_as_people_say_them() -> None:
    assert listed(["a", "b", "c"]) == "a, b or c"
    assert listed(["a"], "and") == "a"
    many = [f"a{number}" for number in range(105)]
    assert listed(many).endswith(", a99 or one of 5 more")
    assert listed(many, "and").endswith(", a99 and 5 more")
    assert listed([]) == ""
    assert (times(1, "set"), times(3, "set"), times(2, "box", "boxes")) == ("1 set", "3 sets", "2 boxes")


@given(st.text())
def test_a_message_is_one_line_without_control_signs_whatever_stands_in_it(text: str) -> None:
    line = one_line(text)
    assert len(line) <= 300
    assert line.isprintable() or all(
        sign.isprintable() or not (ord(sign) < 32 or 126 < ord(sign) < 160) for sign in line
    )
    line.encode("utf-8")
    assert "\n" not in quoted(text)


def test_a_value_with_double_quotes_stands_in_single_ones() -> None:
    assert quoted('say "x"') == "'say \"x\"'"
    assert quoted("esc\x1b[31m") == '"esc␛[31m"'


def test_a_code_of_thousands_of_digits_is_near_to_none_but_itself_with_other_zeros() -> None:
    digits = "9" * 5_000  # more than Python reads as a number
    assert perhaps(f"OH-{digits}", ["OH-1"]) == ""
    assert f"OH-{digits}" in perhaps(f"OH-0{digits}", [f"OH-{digits}", "OH-1"])


def test_what_is_no_code_itself_is_never_offered_as_one() -> None:
    assert perhaps("RR-B1", ["RR–B1", "RR-B1\u200b"]) == ""
    assert perhaps("oliveoil", ["olive oil"], names=True) == 'Perhaps "olive oil" is meant.'
