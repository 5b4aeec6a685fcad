"""Claims in a shop: every public text, evidence on file, and what cannot be covered by any."""

import datetime
import time
from itertools import product
from typing import Any

import pytest

from listkit.check.claims import tables_of
from listkit.check.claims_match import search
from listkit.check.claims_table import parse_claims
from listkit.model.shop import Templates
from listkit.read.templates import own_templates
from tests.check.found import found, told
from tests.small_shop import channel, gift_set, item, settings, shop

ALL = dict(own_templates())


def clean(**says: Any) -> Any:
    """A shop of one set, with our own templates and `says` of the set."""
    items = says.pop("items", [item("A-1", name="Rosemary & Rind"), item("A-2", name="Clover & Cream", form="balm")])
    contents = says.pop("contents", [{"item": "A-1"}, {"slot": "Jar", "choose": ["A-2"]}])
    others = {key: says.pop(key) for key in ("settings", "stories", "photos", "channels") if key in says}
    owners = says.pop("templates", {})
    templates = Templates(tuple((ALL | owners).items()), frozenset(owners))
    return shop(items, [gift_set(contents, **says)], templates=templates, **others)


@pytest.mark.parametrize("language", ["en", "de", "es", "fr"])
def test_a_clean_shop_and_our_own_wording_have_no_claims(language: str) -> None:
    assert told("claim-medicine", clean(settings=settings(language=language, country="FR"))) == []


def test_tables_of_languages_that_nothing_is_written_in_are_not_read() -> None:
    assert set(tables_of(clean())) == {"en"}
    assert set(tables_of(clean(channels=(channel(language="fr-CA"),), stories={"SET-1": "One."}))) == {"en", "fr"}
    assert set(tables_of(clean(templates={"claims/de.toml": ALL["claims/de.toml"]}))) == {"en", "de"}


CLAIM = "Clears acne"


@pytest.mark.parametrize(
    ("says", "where"),
    [
        ({"settings": settings(name=CLAIM)}, "shop.toml"),
        ({"name": CLAIM}, "sets/set-1/set.toml"),
        ({"title": CLAIM}, "sets/set-1/set.toml"),
        ({"theme": CLAIM}, "sets/set-1/set.toml"),
        ({"keywords": ["soap", CLAIM]}, "sets/set-1/set.toml"),
        ({"contents": [{"slot": CLAIM, "choose": ["A-1"]}]}, "sets/set-1/set.toml"),
        ({"contents": [{"slot": "Jar", "choose": [{"item": "A-1", "says": CLAIM}]}]}, "sets/set-1/set.toml"),
        ({"stories": {"SET-1": f"One line.\n{CLAIM}"}}, "sets/set-1/story.md, line 2"),
        ({"items": [item("A-1", name=CLAIM), item("A-2")]}, "items.csv, row A-1, column name"),
        ({"items": [item("A-1", scent=CLAIM), item("A-2")]}, "items.csv, row A-1, column scent"),
        ({"items": [item("A-1", cautions=[CLAIM]), item("A-2")]}, "items.csv, row A-1, column cautions"),
        ({"channels": (channel(column=[{"heading": "Tag", "value": CLAIM}]),)}, "channels/stall.toml"),
        (
            {"templates": {"listing/listing.txt": f"a\n{CLAIM} {{{{ theme }}}}"}},
            "templates/listing/listing.txt, line 2",
        ),
        ({"templates": {"words/en-GB.toml": f'[sentences]\ncare = "{CLAIM}."'}}, "templates/words/en-GB.toml, line 2"),
        ({"templates": {"cautions/en-GB.toml": f'[a]\ntext = "{CLAIM}."'}}, "templates/cautions/en-GB.toml, line 2"),
    ],
)
def test_every_public_text_is_looked_through(says: dict[str, Any], where: str) -> None:
    (problem,) = told("claim-medicine", clean(**says))
    assert problem.startswith(f'Must fix · {where}: "Clears acne" makes a medicine of it: ')
    assert "21 CFR 701.20" in problem
    assert 'Write for example "cleanses and leaves skin feeling fresh".' in problem


def test_words_for_photos_are_looked_through() -> None:
    stated = gift_set([{"item": "A-1"}], photos=[{"file": "a.jpg", "alt": CLAIM}])
    of = shop([item("A-1")], [stated], templates=clean().templates)
    assert [problem.place.key for problem in found("claim-medicine", of)] == [("photos", 0, "alt")]


def test_a_caution_may_speak_of_children_and_pregnancy() -> None:
    assert told("claim-medicine", clean(items=[item("A-1", cautions=["Ask first in pregnancy."]), item("A-2")])) == []


def test_computed_words_are_passed_over() -> None:
    assert (
        told(
            "claim-medicine", clean(stories={"SET-1": "{{ acne.treatment }} [here](https://acne.example/treats-acne)"})
        )
        == []
    )


def test_a_closed_set_and_a_closed_item_are_passed_over() -> None:
    assert told("claim-medicine", clean(theme=CLAIM, status="closed")) == []


def evidence(**says: Any) -> Any:
    return settings(evidence=[{"claim": "vegan", "document": "Statement of 3 May, in the binder", **says}])


def test_evidence_on_file_silences_what_needs_evidence() -> None:
    assert [one.code for one in found("claim-medicine", clean(theme="A vegan bar."))] == ["claim-evidence"]
    assert told("claim-medicine", clean(theme="A vegan bar.", settings=evidence())) == []


def test_evidence_may_name_the_words_themselves() -> None:
    of = clean(theme="Small-batch bars, and vegan too.", settings=evidence(claim="small batch"))
    assert [one.message.partition(" ")[0] for one in found("claim-medicine", of)] == ['"vegan"']


def test_evidence_holds_to_its_last_day() -> None:
    of = clean(theme="A vegan bar.", settings=evidence(until=datetime.date(2026, 11, 25)))
    assert told("claim-medicine", of, datetime.date(2026, 11, 25)) == []
    assert len(told("claim-medicine", of, datetime.date(2026, 11, 26))) == 1


@pytest.mark.parametrize("claim", ["acne", "heals eczema", "chemical-free", "vegn"])
def test_no_document_covers_a_medicine_or_what_is_never_true(claim: str) -> None:
    (problem,) = found("claim-medicine", clean(settings=evidence(claim=claim)))
    assert (problem.code, problem.place.key) == ("claim-evidence", ("evidence", 0, "claim"))
    assert "vegan" in problem.hint


def test_evidence_does_not_silence_a_medicine_in_the_same_text() -> None:
    of = clean(theme="A vegan bar that clears acne.", settings=evidence())
    assert [one.code for one in found("claim-medicine", of)] == ["claim-medicine"]


def test_rules_of_the_european_union_count_where_it_is_sold() -> None:
    theme = "A paraben-free bar."
    american = settings(country="US")
    assert told("claim-medicine", clean(theme=theme, settings=american)) == []
    sold_in_france = clean(theme=theme, settings=american, channels=(channel(country="FR"),))
    assert [one.code for one in found("claim-medicine", sold_in_france)] == ["claim-reword"]


def test_a_shop_may_bring_words_for_another_language() -> None:
    table = ALL["claims/en.toml"].replace('"for acne"', '"for acne", "gegen akne"')
    of = clean(settings=settings(language="de"), theme="Seife gegen Akne", templates={"claims/de.toml": table})
    assert [one.code for one in found("claim-medicine", of)] == ["claim-medicine"]


def test_a_table_that_cannot_be_read_is_told_and_the_others_count() -> None:
    of = clean(theme=CLAIM, templates={"claims/de.toml": "[[family]]"})
    assert [one.code for one in found("claim-medicine", of)] == ["template-fault", "claim-medicine"]


def test_a_text_that_is_not_looked_through_to_its_end_is_told() -> None:
    long, short = "healing skin " * 4_000, "healing skin " * 3_000
    told_of = [each for each in found("claim-medicine", clean(stories={"SET-1": long})) if "letters" in each.message]
    assert [(each.code, each.place.file) for each in told_of] == [("not-looked-for", "sets/set-1/story.md")]
    assert all("letters" not in each for each in told("claim-medicine", clean(stories={"SET-1": short})))


def test_texts_in_which_too_many_phrases_would_be_walked_are_told_and_the_rest_is_left(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("listkit.check.claims.steps_for", lambda _: 10)
    told_of = found("claim-medicine", clean(stories={"SET-1": "healing skin, soothing skin. " * 9}))
    assert [(each.code, each.place.file) for each in told_of] == [("not-looked-for", "sets/set-1/story.md")]


@pytest.mark.parametrize("phrase", ["soap ^{}", "soap {}..soap ^{}", "soap {}..soap {}"])
def test_a_table_that_anybody_made_is_held_against_texts_within_bounds(phrase: str) -> None:
    """Thousands of phrases that begin and end alike, each with many ways to be there."""
    words = ["".join(letters) for letters in product("abcdefghijklm", repeat=3)]
    phrase = phrase.replace("..", " .. soap" * 12 + " .. ")
    phrases = ",\n".join(f'"{phrase.format(word, word)}"' for word in words)
    texts = "\n".join(f'{key} = "x"' for key in ("key", "why", "source", "write"))
    table = parse_claims(f'[[family]]\n{texts}\nnumber = 1\nlevel = "reword"\nphrases = [{phrases}]')
    begun = time.process_time()
    for text in ("soap " * 30_000, " ".join(f"soap {word}" for word in words) * 5, "A soap of soap. " * 50):
        search(text, table, "eu")
    assert time.process_time() - begun < 20
