"""What spreadsheets make of codes: published cases, and month names against CLDR.

Sources stand beside the cases.
"""

from typing import Literal

import pytest
from babel.dates import get_month_names

from listkit.check.codes import made_of, months_of


@pytest.mark.parametrize(
    "code",
    [
        *("SEPT2", "MARCH1", "DEC1", "3-5", "MAR-2", "2-mar", "3/5", "3.5"),
        *("12-1999", "1-2-03", "2024-01-05", "31-12-99"),
    ],
)
def test_a_code_that_looks_like_a_date_becomes_one(code: str) -> None:
    """SEPT2, MARCH1 and DEC1: Ziemann, Eren, El-Osta, Genome Biology 17:177 (2016)."""
    assert made_of(code) == "a date"


@pytest.mark.parametrize("code", ["2310009E13", "1E5", "12e3", "123456789012"])
def test_a_code_that_looks_like_a_large_number_gets_an_exponent(code: str) -> None:
    """2310009E13: Ziemann, Eren, El-Osta, Genome Biology 17:177 (2016)."""
    assert made_of(code) == "a number with an exponent"


def test_leading_zeros_are_lost_and_a_word_becomes_a_truth_value() -> None:
    assert made_of("007") == "the number 7"
    assert made_of("True") == "a truth value"


@pytest.mark.parametrize(
    "code",
    [
        *("OH-B01", "OHS-1-U01", "S", "104", "0", "35-40", "12-345", "MARE-2"),
        *("E5", "OCTO1", "1E", "A-1", "13-14-2020", "32-1-32"),
    ],
)
def test_other_codes_stay_as_they_are(code: str) -> None:
    assert made_of(code) == ""


def test_months_of_another_language_are_known_in_a_shop_of_that_language_only() -> None:
    assert made_of("OKT-3", "de-DE") == "a date"
    assert made_of("OKT-3", "en-GB") == ""
    assert made_of("SET-1", "it") == "a date"
    assert made_of("SET-1", "en") == ""


@pytest.mark.parametrize("language", ["en", "de", "fr", "es", "it", "nl"])
@pytest.mark.parametrize("width", ["wide", "abbreviated"])
def test_month_names_are_those_of_cldr(language: str, width: Literal["wide", "abbreviated"]) -> None:
    """CLDR, as Babel ships it; full stops are left out because nobody writes them in codes."""
    for name in get_month_names(width, locale=language).values():
        assert name.rstrip(".").casefold() in months_of(language)
