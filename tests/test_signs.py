"""Signs that turn the writing, by the classes that the Unicode character database gives them (UAX 9, table 4)."""

import json
import time
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.problem import escaped, never_turned_back, on_screen

CLASSES = ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")
BY_CLASS = {
    unicodedata.bidirectional(sign): sign
    for sign in map(chr, range(0x2000, 0x2070))
    if unicodedata.bidirectional(sign) in CLASSES
}
EMBEDDED = [BY_CLASS[name] for name in ("LRE", "RLE", "LRO", "RLO")]
ISOLATED = [BY_CLASS[name] for name in ("LRI", "RLI", "FSI")]
PDF, PDI = BY_CLASS["PDF"], BY_CLASS["PDI"]
HEBREW, ARABIC = "סבון לבנדר", "صابون"


@pytest.mark.parametrize(("signs", "end"), [(EMBEDDED, PDF), (ISOLATED, PDI)])
def test_what_turns_and_turns_back_is_told_from_what_does_not(signs: list[str], end: str) -> None:
    other = PDI if end == PDF else PDF
    for sign in signs:
        assert list(never_turned_back(f"a{sign}b{end}c")) == []
        assert list(never_turned_back(f"a{sign}b")) == [1]
        assert list(never_turned_back(f"a{sign}b{other}")) == [1]
        assert list(never_turned_back(f"a{sign}b\n{end}")) == [1], "a paragraph ends whatever is open in it"


def test_an_isolate_ends_what_is_open_in_it_and_nothing_in_it_ends_what_is_open_around() -> None:
    """UAX 9, X6a and X7."""
    embedded, isolated = BY_CLASS["RLE"], BY_CLASS["RLI"]
    assert list(never_turned_back(f"{isolated}{embedded}a{PDI}b")) == []
    assert list(never_turned_back(f"{embedded}{isolated}a{PDF}b{PDI}c")) == [0]


def test_many_signs_of_which_none_ends_another_take_no_longer_each() -> None:
    """A story has room for 300,000; that took hours when each looked through all that was open."""
    many = 150_000
    began = time.process_time()
    assert list(never_turned_back(BY_CLASS["RLE"] * many + PDI * many)) == list(range(many))
    assert time.process_time() - began < 5


SIGNS = st.sampled_from([*BY_CLASS.values(), "a", "א", "\n", " "])


@given(st.lists(SIGNS, max_size=30).map("".join))
def test_a_text_whose_every_turn_is_taken_back_at_its_end_turns_nothing(text: str) -> None:
    open_at = list(never_turned_back(text.replace("\n", " ")))
    ends = "".join(PDF if text[at] in EMBEDDED else PDI for at in reversed(open_at))
    assert list(never_turned_back(text.replace("\n", " ") + ends)) == []


def test_words_that_are_written_from_the_right_stay_readable_on_a_screen() -> None:
    for name in (HEBREW, ARABIC, f"{HEBREW}\u200f!", f"\u2067{HEBREW}\u2069 soap", f"\u202b{ARABIC} 12\u202c"):
        assert on_screen(name) == name


@given(st.text())
def test_nothing_that_steers_or_turns_what_follows_comes_to_a_screen(text: str) -> None:
    shown = on_screen(text)
    assert not list(never_turned_back(shown))
    assert not {unicodedata.bidirectional(sign) for sign in shown} & {"LRO", "RLO", "B"}
    assert not {unicodedata.category(sign) for sign in shown} & {"Cc", "Zl", "Zp"}
    assert len(shown) == len(text)


def test_json_means_the_same_and_sends_no_sign_that_steers() -> None:
    every = " ".join(map(chr, range(0x20000)))
    sent = escaped(json.dumps(every, ensure_ascii=False))
    assert json.loads(sent) == every
    assert on_screen(sent) == sent
    assert not [sign for sign in sent if unicodedata.category(sign) == "Cs"]
