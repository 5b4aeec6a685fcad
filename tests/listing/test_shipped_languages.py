"""Languages that we ship: each says all that English says, and puts in the same values."""

import re
import tomllib
from collections.abc import Iterator, Mapping

import pytest

from listkit.listing.words import parse_words
from listkit.read.templates import own_templates

TEXTS = dict(own_templates())
FOLDERS = ("words", "cautions", "label", "print", "day", "pack", "plan", "proof")
OTHERS = ("fr", "de", "es")
RULES_OF_A_LANGUAGE = {"forms", "nouns", "counted"}  # what differs from language to language


def texts_of(table: Mapping[str, object], *above: str) -> Iterator[tuple[tuple[str, ...], str]]:
    for key, value in table.items():
        if isinstance(value, Mapping):
            yield from texts_of(value, *above, key)
        elif isinstance(value, str) and (above or (key,))[0] not in RULES_OF_A_LANGUAGE:
            yield (*above, key), value


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("folder", FOLDERS)
def test_every_sentence_is_there_and_holds_the_same_places(folder: str, language: str) -> None:
    english = dict(texts_of(tomllib.loads(TEXTS[f"{folder}/en.toml"])))
    other = dict(texts_of(tomllib.loads(TEXTS[f"{folder}/{language}.toml"])))
    leave_out = {key for key in english if folder == "cautions" and key[-1] == "source"}
    assert english.keys() - other.keys() - leave_out == set()
    assert {key for key in english.keys() & other.keys() if places(english[key]) != places(other[key])} == set()


def places(text: str) -> set[str]:
    return set(re.findall(r"\{(\w+)\}", text))


@pytest.mark.parametrize("language", OTHERS)
def test_the_words_are_read_without_a_problem(language: str) -> None:
    words, problems = parse_words(language, ((f"words/{language}.toml", TEXTS[f"words/{language}.toml"]),))
    assert problems == ()
    assert words is not None


# What is the same word in the other language, or no word at all.
SAME = {
    "fr": {"version", "total", "code", "notes", "gtin", "minimum", "date", "pages", "stock"},
    "de": {"gtin", "tester", "sets", "text", "code", "bytes", "box"},
    "es": {"total", "no", "gtin", "bytes"},
}
UNITS = {"g", "kg", "ml", "cl", "l", "oz", "lb", "fl", "mm", "cm", "m", "in", "po", "n", "nr"}
ENGLISH = {
    "the",
    "and",
    "with",
    "your",
    "from",
    "this",
    "where",
    "keep",
    "before",
    "please",
    "is",
    "are",
    "of",
    "until",
}


def words_of(text: str) -> set[str]:
    return set(re.findall(r"[^\W\d_]+", re.sub(r"\{\w+\}", " ", text).casefold()))


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("folder", FOLDERS)
def test_no_sentence_is_left_in_english_or_half_in_it(folder: str, language: str) -> None:
    english = dict(texts_of(tomllib.loads(TEXTS[f"{folder}/en.toml"])))
    other = dict(texts_of(tomllib.loads(TEXTS[f"{folder}/{language}.toml"])))
    kept = {key for key in other if key[-1] == "source" or key == ("titles", "shared")}
    left = {
        key: text
        for key, text in other.items()
        if key not in kept and text == english.get(key) and words_of(text) - UNITS - SAME[language]
    }
    half = {key: text for key, text in other.items() if key not in kept and words_of(text) & ENGLISH}
    assert (left, half) == ({}, {})


@pytest.mark.parametrize("folder", FOLDERS)
def test_every_language_has_all_its_files(folder: str) -> None:
    assert {language for language in ("en", *OTHERS) if f"{folder}/{language}.toml" not in TEXTS} == set()


LAYOUTS = sorted(path for path in TEXTS if path.endswith(".typ") and path.split("/")[0] in {"print", "day", "pack"})


@pytest.mark.parametrize("path", LAYOUTS)
def test_no_layout_of_a_paper_says_anything_in_english(path: str) -> None:
    """Sheets, cards, labels, packing, market and post papers take their words from the files of the language."""
    shown = re.sub(r"(?m)//.*$", "", TEXTS[path])
    said = re.findall(r'\[([^\[\]#]*)\]|"([^"\n]*)"', shown)
    assert {text for pair in said for text in pair if len(words_of(text) & ENGLISH) > 0} == set()


@pytest.mark.parametrize("folder", FOLDERS)
def test_french_has_no_sign_alone_on_a_line_and_one_kind_of_apostrophe(folder: str) -> None:
    """Imprimerie nationale, Lexique des règles typographiques (from memory): : ; ! ? » never part from their word."""
    texts = dict(texts_of(tomllib.loads(TEXTS[f"{folder}/fr.toml"])))
    shown = {key: text for key, text in texts.items() if folder != "cautions" or key[-1] != "source"}
    assert {key: text for key, text in shown.items() if re.search(r" [:;!?»]|« |\w'\w", text)} == {}


@pytest.mark.parametrize("language", ["en", *OTHERS])
def test_no_count_of_market_day_stands_before_what_is_counted(language: str) -> None:
    """So it is right of one as of several."""
    market = tomllib.loads(TEXTS[f"day/{language}.toml"])["market"]
    assert [says for says in market.values() if re.search(r"\{count\}\s*\w", says)] == []
