"""What moved in the owner's files, in a line each."""

import json
from typing import Any

import pytest

from listkit.ledger.movements import KINDS, Movement, movements
from listkit.ledger.store import Facts


def moved(section: str, code: str, old: dict[str, Any] | None, new: dict[str, Any] | None) -> tuple[Movement, ...]:
    before, after = ({code: json.dumps(facts)} if facts is not None else {} for facts in (old, new))
    return movements(Facts(**{section: before}), Facts(**{section: after}))


@pytest.mark.parametrize(
    ("section", "code", "old", "new", "kind", "words"),
    [
        ("items", "OH-B01", {"retail": "7.50"}, {"retail": "8.00"}, "item price", "OH-B01 7.50 → 8.00"),
        ("items", "OH-B01", {"weight": "119 g"}, {"weight": "125 g"}, "item weight", "OH-B01, weight 119 g → 125 g"),
        ("items", "OH-B01", {"a": "1"}, {"a": "1", "on_hand": "4"}, "stock", "OH-B01, on hand – → 4"),
        (
            "items", "OH-B01", {"on_hand": "64", "moved": ["sold 100", "made 5"]},
            {"on_hand": "36", "moved": ["sold 140", "made 17"]},
            "stock", "OH-B01, on hand 64 → 36 (40 pieces sold, 12 pieces made)",
        ),
        (
            "items", "OH-B01", {"on_hand": "64"}, {"on_hand": "63", "moved": ["sold 1"]},
            "stock", "OH-B01, on hand 64 → 63 (1 piece sold)",
        ),
        ("items", "OH-B01", {"ingredients": "Aqua " * 20}, {"ingredients": "Mel"}, "item text", "OH-B01, ingredients"),
        ("items", "OH-B01", None, {"name": "Rind"}, "item", "OH-B01 is new"),
        ("sets", "OHS-1", {"name": "Nectar"}, None, "set gone", "OHS-1 is gone"),
        ("sets", "OHS-1", {"story": "1f"}, {"story": "2e"}, "text", "OHS-1, story written anew"),
        (
            "sets", "OHS-1", {"contents": ["B", "Jar: U"]}, {"contents": ["B", "Jar: V"]},
            "contents", "OHS-1: Jar: V added; Jar: U taken out",
        ),
        ("sets", "OHS-1", {"contents": ["A", "B"]}, {"contents": ["B", "A"]}, "contents", "OHS-1: in another order"),
        ("rules", "box S", {"cost": "0.95"}, {"cost": "1.05"}, "packaging", "box S, cost 0.95 → 1.05"),
        ("rules", "shop", {"name": "A"}, {"name": "B"}, "shop", "shop, name A → B"),
    ],
)  # fmt: skip
def test_a_movement_has_a_kind_and_words(
    section: str, code: str, old: dict[str, Any] | None, new: dict[str, Any] | None, kind: str, words: str
) -> None:
    [found] = moved(section, code, old, new)
    assert (found.kind, found.words) == (kind, words)


def test_a_rule_that_comes_or_goes_moves_fact_by_fact() -> None:
    assert [one.fact for one in moved("rules", "card", {"cost": "0.18", "weight": "14 g"}, None)] == ["cost", "weight"]


def test_nothing_moves_where_nothing_differs() -> None:
    assert moved("items", "OH-B01", {"retail": "7.50"}, {"retail": "7.50"}) == ()
    assert movements(Facts(), Facts()) == ()


def test_every_kind_of_thing_has_a_word_for_whatever_moves_in_it() -> None:
    whats = {key.partition(".")[0] for key in KINDS}
    assert all(f"{what}.*" in KINDS for what in whats)


def test_what_is_known_by_its_digest_alone_is_told_without_it() -> None:
    def told(code: str, fact: str, old: str, new: str) -> str:
        return Movement("rules" if code == "wording" else "sets", code, fact, old, new).words

    assert told("wording", "words/en.toml", "78f02c143d9a", "46536358833e") == "wording, words/en.toml written anew"
    assert told("wording", "words/fr.toml", "", "46536358833e") == "wording, words/fr.toml new"
    assert told("OHS-1", "story", "78f02c143d9a82fa", "") == "OHS-1, story gone"


def test_a_reduction_is_told_as_what_it_makes_of_the_prices() -> None:
    one = Movement("rules", "reduction OHS-1", "prices", "", "10 % less until 2026-11-29")
    assert (one.key, one.kind) == ("reduction.prices", "reduction")
    assert one.words == "reduction OHS-1, none → 10 % less until 2026-11-29"


def test_what_moved_is_no_fact_of_its_own_where_the_pieces_on_hand_are_as_they_were() -> None:
    assert moved("items", "OH-B01", {"on_hand": "9"}, {"on_hand": "9", "moved": ["sold 2", "made 2"]}) == ()
