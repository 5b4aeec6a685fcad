"""How phrases of a table are written.

Our own notation: no source.
"""

import math
import re
import time
import tomllib
from collections import Counter

import pytest

from listkit.check.claims_match import find_claims
from listkit.check.claims_table import parse_claims
from listkit.read.templates import own_templates
from tests.check.claim_weights import PENALTY, fit, weights_in

HEAD = """
[words]
verb = "mow~/cut back"
end = "?"
[friends]
phrases = ["mown hay"]
[[family]]
number = 1
key = "lawn"
level = "reword"
why = "w"
source = "s"
write = "Write it."
phrases = [{phrase}]
"""


def finds(phrase: str, text: str) -> list[str]:
    table = parse_claims(HEAD.replace("{phrase}", f'"{phrase}"'))
    return [text[find.start : find.end] for find in find_claims(text, table)]


@pytest.mark.parametrize(
    ("phrase", "text", "found"),
    [
        ("<verb> .. lawn", "He mowed the wide lawn.", ["mowed the wide lawn"]),
        ("<verb> .. lawn", "She cut back the lawn.", ["cut back the lawn"]),
        ("<verb> .. lawn", "He mows one two three four five lawn", []),
        ("carry~", "carries carried carrying", ["carries"]),
        ("dig~", "digging", ["digging"]),
        ("prune~", "pruning", ["pruning"]),
        ("rak*", "", []),
        ("rake*", "rakers", ["rakers"]),
        ("*meadow", "A watermeadow.", ["watermeadow"]),
        ("the? green lawn/meadow", "green meadow", ["green meadow"]),
        ("the? green lawn/meadow", "The green lawn", ["The green lawn"]),
        ("<verb>/edge~ lawn", "edging lawn", ["edging lawn"]),
        ("hay", "mown hay", []),
        ("lawn of ^moss/clover", "A lawn of daisies, a lawn of moss.", ["lawn of daisies"]),
        ("lawn <end>", "A green lawn? A lawn, then.", ["lawn?"]),
    ],
)
def test_forms_lists_gaps_beginnings_and_friends(phrase: str, text: str, found: list[str]) -> None:
    if phrase == "rak*":
        with pytest.raises(ValueError, match="takes too many words"):
            finds(phrase, text)
    else:
        assert finds(phrase, text) == found


@pytest.mark.parametrize(
    "text",
    [
        "[[family]]\nnumber = 1",
        "= 3",
        "[words]\nverb = 3",
        HEAD.replace("{phrase}", '"<noun>"'),
        HEAD.replace("{phrase}", '"hay ~"'),
        HEAD.replace("{phrase}", '"hay"').replace('key = "', 'key = { x = "').replace('"\nlevel', '" }\nlevel'),
        HEAD.replace("{phrase}", '"hay"').replace("number = ", "number = 1e400 # "),
        HEAD.replace("{phrase}", '"' + "a/b? " * 40 + '"'),
        "[friends]\nphrases = [" + '"a b? c? d? e? f? g?",' * 5000 + "]",
        "a = " + "[" * 5000,
    ],
)
def test_a_table_with_a_fault_is_no_table(text: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        parse_claims(text)


def test_an_end_of_a_word_that_takes_too_many_words_is_refused() -> None:
    with pytest.raises(ValueError, match="takes too many words"):
        finds("*ow", "")


def test_a_weight_that_is_no_number_is_called_by_its_name() -> None:
    with pytest.raises(ValueError, match=r'^"heavy" under \[weights\] is no whole number, as in -2 or 3$'):
        parse_claims('[weights]\nheavy = "hay/straw"')


@pytest.mark.parametrize("language", PENALTY)
def test_weights_are_those_of_the_sentences_built_on(language: str) -> None:
    table = parse_claims(dict(own_templates())[f"claims/{language}.toml"])
    assert table.weights == weights_in(language)


def test_weights_are_where_the_likelihood_is_greatest() -> None:
    """Where the slope of the penalised likelihood is zero for each weight, after A. E. Hoerl and R. W. Kennard (1970)
    for the penalty and D. R. Cox (1958) for the regression; the slope is worked out here from the sentences alone.
    """
    sentences = [(True, {"rain", "barn"}), (True, {"rain"}), (False, {"heals", "rain"}), (False, {"heals", "barn"})]
    begun, penalty = {"heals": -0.5}, 0.6
    weights = fit(sentences, begun, penalty)
    likely = [1 / (1 + math.exp(-sum(weights[word] for word in words))) for _, words in sentences]
    for word, weight in weights.items():
        pull = sum(share - sound for (sound, words), share in zip(sentences, likely, strict=True) if word in words)
        assert pull + penalty * (weight - begun.get(word, 0.0)) == pytest.approx(0, abs=1e-6)


def test_no_phrase_stands_in_two_families() -> None:
    for path, text in own_templates():
        if path.startswith("claims/"):
            phrases = [phrase for family in tomllib.loads(text)["family"] for phrase in family["phrases"]]
            assert {phrase: times for phrase, times in Counter(phrases).items() if times > 1} == {}, path


def test_every_family_says_why_by_whose_rule_and_what_to_write() -> None:
    for path, text in own_templates():
        if path.startswith("claims/"):
            table = parse_claims(text)
            assert {family.number for family in table.families} >= set(range(1, 49))
            assert all(family.why and family.source and family.write.endswith(".") for family in table.families)
            assert len(table.keys) == len(table.families)


ONE = HEAD.replace("{phrase}", '"mow~ lawn"')


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (ONE.replace('"mow~ lawn"', '""'), 'of [[family]] "lawn" is no list of texts'),
        (ONE.replace('["mow~ lawn"]', '"mow~ lawn"'), 'of [[family]] "lawn" is no list of texts'),
        (ONE.replace('["mow~ lawn"]', "[]"), "without phrases"),
        (ONE + "unles = ['hay']", 'knows no "unles"'),
        (ONE + "unless = ['hay?']", '"hay?" has no word that must be there'),
        (ONE + "always = 'false'", "neither true nor false"),
        (ONE + "where = 'us'", 'is not "eu"'),
        (ONE.replace("number = 1", "number = true"), "no whole number"),
        (ONE + ONE.partition("[[family]]")[2].join(("[[family]]", "")), "no key of its own"),
        (ONE.replace("[friends]", "[friend]"), 'no section "friend"'),
        (ONE.replace('["mown hay"]', '["mown hay & "]'), "no word that must be there"),
        (ONE.replace('["mown hay"]', '["^mown hay"]'), "begins or ends with what may be any word"),
        (ONE.replace('["mown hay"]', '["mown .."]'), "begins or ends with what may be any word"),
        (ONE.replace('["mown hay"]', '["hay2"]'), '"hay2" is no word'),
        (
            ONE.replace('["mown hay"]', '["mown hay?/straw"]'),
            '"hay?" of "mown hay?/straw" is no word: what may be left out',
        ),
        (ONE.replace('"mow~/cut back"', '"<end>/cut"'), "names another list"),
        (ONE + "[denials]\nbefore = 'not'", "of [denials] is no list of texts"),
        (ONE + '[denials]\nbefore = ["don\'t"]', "is no word"),
        (ONE + "[denials]\nbefor = ['not']", 'knows no "befor"'),
        (ONE + "[weights]\n3 = 'barn/a barn'", '"a barn" is no word'),
        ("[friends]\nphrases = ['hay']", "or none"),
    ],
)
def test_a_slip_that_would_make_a_phrase_be_found_never_or_everywhere_is_told(text: str, said: str) -> None:
    with pytest.raises(ValueError, match=re.escape(said)):
        parse_claims(text)


def test_numbers_beside_letters_are_two_words_in_phrases_as_in_texts() -> None:
    assert finds("spare co_2", "This spares CO2, CO₂ and paper. It spare CO2.") == ["spare CO2"]


@pytest.mark.parametrize(
    "phrases",
    [
        '"' + " ".join(f"{letter}{letter}?" for letter in "abcdefghijklmn") + " moss" * 30 + '"',
        '"' + "moss " * 100_000 + '"',
        ",".join(f'"<many>/{"ab" * length}"' for length in range(1, 200)),
        ",".join(f'"{"ab" * length} <many>"' for length in range(1, 500)),
        '"' + "/".join(f"{'abcd' * length}*" for length in range(1, 400)) + '"',
    ],
)
def test_few_phrases_that_come_to_very_many_words_are_refused_before_they_are_made(phrases: str) -> None:
    many = "/".join("xy" * length for length in range(1, 1200))
    text = (
        HEAD.replace('"{phrase}"', phrases).replace("{phrase}", phrases).replace("[words]", f'[words]\nmany = "{many}"')
    )
    begun = time.process_time()
    with pytest.raises(ValueError, match=r"too many|more than"):
        parse_claims(text)
    assert time.process_time() - begun < 2
