"""German compounds: gender and plural are those of the last part.

Words and plurals: Duden, from memory.
"""

import pytest

from listkit.listing.words import Words, counted, many, one, parse_words, small
from listkit.read.templates import own_templates


def german() -> Words:
    words, problems = parse_words("de", (("words/de.toml", dict(own_templates())["words/de.toml"]),))
    assert problems == ()
    assert words is not None
    return words


@pytest.mark.parametrize(
    ("noun", "single", "several"),
    [
        ("Seife", "eine Seife", "Seifen"),
        ("Ziegenmilchseife", "eine Ziegenmilchseife", "Ziegenmilchseifen"),
        ("Lippenbalsam", "ein Lippenbalsam", "Lippenbalsame"),
        ("Körperbutter", "eine Körperbutter", "Körperbuttern"),
        ("Mini-Butter", "eine Mini-Butter", "Mini-Buttern"),
        ("Zuckerpeeling", "ein Zuckerpeeling", "Zuckerpeelings"),
        ("Badekugel", "eine Badekugel", "Badekugeln"),
        ("Badeöl", "ein Badeöl", "Badeöle"),
        ("Handcreme", "eine Handcreme", "Handcremes"),
        ("Seifenschale", "eine Seifenschale", "Seifenschalen"),
        ("Glastiegel", "ein Glastiegel", "Glastiegel"),
        ("Blechdose", "eine Blechdose", "Blechdosen"),
        ("Windlichtglas", "ein Windlichtglas", "Windlichtgläser"),
        ("Duftteelichter", "ein Satz Duftteelichter", "Sätze Duftteelichter"),
        ("feste Seife", "eine feste Seife", "feste Seifen"),
        ("fester Balsam", "ein fester Balsam", "feste Balsame"),
        ("festes Shampoo", "ein festes Shampoo", "feste Shampoos"),
    ],
)
def test_a_compound_goes_as_its_last_part_does(noun: str, single: str, several: str) -> None:
    words = german()
    assert (one(words, noun), many(words, noun)) == (single, several)
    assert counted(words, noun, 2) == f"zwei {several}"


@pytest.mark.parametrize(
    ("slot", "within"),
    [("Kleiner Tiegel", "kleiner Tiegel"), ("Feste Seife", "feste Seife"), ("Seife Nummer zwei", "Seife Nummer zwei"),
     ("Tiegel", "Tiegel"), ("Wärme nach Wunsch", "Wärme nach Wunsch"), ("LED Lampe", "LED Lampe")],
)  # fmt: skip
def test_an_adjective_before_a_noun_is_written_small_and_a_noun_is_not(slot: str, within: str) -> None:
    assert small(german(), slot) == within
