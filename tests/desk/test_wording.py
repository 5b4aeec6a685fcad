"""Every page speaks each language whole: the same words in every file of words, with the same values in them."""

import string
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from listkit.desk import wording
from listkit.desk.page import say
from tests.desk.desks import form, opened
from tests.shops import clean_shop

OTHERS = tuple(tag for tag in wording.languages() if tag != "en")
KINDS = {"pages": wording.page_words, "fields": wording.field_words}


def texts_of(table: Any, key: str = "") -> Iterator[tuple[str, str]]:
    """Yield each text of a file with its dotted key; those of a list by their places."""
    if isinstance(table, str):
        yield key, table
        return
    pairs = table.items() if isinstance(table, dict) else enumerate(table)
    for part, entry in pairs:
        yield from texts_of(entry, f"{key}.{part}" if key else str(part))


def values_of(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


def in_language(tag: str, kind: str) -> dict[str, str]:
    with wording.speaking(tag):
        return dict(texts_of(KINDS[kind]()))


@pytest.mark.parametrize(("tag", "kind"), tuple(product(OTHERS, KINDS)))
def test_a_language_says_all_that_english_says_with_the_same_values(tag: str, kind: str) -> None:
    english, spoken = in_language("en", kind), in_language(tag, kind)
    assert list(spoken) == list(english), "the same keys in the same order"
    assert [key for key in english if values_of(english[key]) != values_of(spoken[key])] == []


# CLDR's plural rules, cardinals: English has its form for one with 1 alone, French with 0 and 1.
@pytest.mark.parametrize(("tag", "single"), [("en", {1}), ("fr", {0, 1})])
def test_a_count_takes_the_form_of_its_language(tag: str, single: set[int]) -> None:
    if tag not in wording.languages():
        pytest.skip(f"there are no words in {tag} yet")
    with wording.speaking(tag):
        assert {count for count in range(12) if wording.is_single(count)} == single


def test_a_language_without_words_is_answered_in_english() -> None:
    with wording.speaking("nl"):
        assert (wording.language(), say("count.sets", count=1)) == ("en", "1 set")


@pytest.mark.parametrize(
    ("accepted", "tag"),
    [
        ("", "en"),
        ("en-GB,en;q=0.9", "en"),
        ("nl,en;q=0.1", "en"),
        ("*;q=0.5", "en"),
        (";;;q=,,", "en"),
        ("q" * 9000, "en"),
    ],
)
def test_what_a_browser_asks_for_is_understood_or_left_alone(accepted: str, tag: str) -> None:
    assert wording.preferred(accepted) == tag


def test_the_language_of_a_reader_is_chosen_on_the_page_and_stays(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        for tag in wording.languages():
            answer = client.post("/language", data=form(desk, language=tag, here="/sets"), follow_redirects=False)
            assert (answer.status_code, answer.headers["location"]) == (303, "/sets")
            page = client.get("/sets").text
            assert f'<html lang="{tag}">' in page
            assert all(name in page for other, name in wording.languages().items() if other != tag), "a way to each"


@pytest.mark.parametrize("here", ["https://example.org/", "//example.org", "/\\example.org", ""])
def test_a_choice_of_language_leads_nowhere_but_to_the_desk(tmp_path: Path, here: str) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        answer = client.post("/language", data=form(desk, language="xx", here=here), follow_redirects=False)
        assert (answer.headers["location"], "set-cookie" in answer.headers) == ("/", False)
