"""Checks of prices on small shops; the sums are worked out by hand beside them.

Words of a saving by 16 CFR 233.1, from memory; other rules are common practice, no source.
"""

from typing import Any

import pytest

from listkit.model.shop import Shop
from listkit.problem import Level
from tests.check.found import all_found, found, told
from tests.small_shop import channel, gift_set, item, settings, shop

JAR = {"slot": "Jar", "choose": ["A-1", "A-2"]}
ITEMS = [item("A-1", retail="14.00", cost="3.50"), item("A-2", retail="16.00", cost="3.95")]


def one_set(*, of: list[Any] = ITEMS, rules: dict[str, Any] | None = None, **says: Any) -> Shop:
    """A box of one jar: 14.00 or 16.00 and 1.00 uplift."""
    return shop(of, [gift_set([JAR], **says)], channels=(channel(),), settings=settings(**(rules or {})))


def test_a_stated_price_is_compared_with_every_variant() -> None:
    """14.00 + 1.00 = 15.00 and 16.00 + 1.00 = 17.00."""
    assert told("price-differs", one_set(price="15.00")) == [
        "Must fix · sets/set-1/set.toml: £15.00 is stated, but 1 of 2 variants come to £17.00 "
        "(items £16.00 + uplift £1.00). Write 17.00, or take the line out: prices are computed."
    ]
    assert "2 of 2 variants come to £15.00 to £17.00" in told("price-differs", one_set(price="14.99"))[0]


def test_a_variants_own_stated_price_is_told_at_its_line_and_one_that_agrees_is_not() -> None:
    notes = [{"options": {"Jar": "A-1"}, "price": "15.00"}, {"options": {"Jar": "A-2"}, "price": "16.50"}]
    (problem,) = found("price-differs", one_set(variant=notes))
    assert problem.place.key == ("variant", 1, "price")
    assert "SET-1-2 comes to £17.00" in problem.message


def test_a_line_for_several_variants_and_one_for_a_single_one_are_told_apart() -> None:
    """The line that names all slots goes before the one that names none."""
    notes = [{"options": {}, "price": "15.00"}, {"options": {"Jar": "A-2"}, "price": "17.00"}]
    assert found("price-differs", one_set(variant=notes)) == []
    notes[0]["price"] = "15.01"
    (problem,) = found("price-differs", one_set(variant=notes))
    assert problem.place.key == ("variant", 0, "price")


def test_unlike_options_are_a_problem_only_where_they_are_to_be_equal() -> None:
    assert told("options-unlike", one_set(option_prices="equal")) == [
        "Must fix · sets/set-1/set.toml: options are to cost the same, but SET-1-1 is £15.00 and SET-1-2 £17.00. "
        'Choose options of one price, or write option_prices = "own" or "dearest".'
    ]
    assert found("options-unlike", one_set(option_prices="equal"))[0].place.key == ("contents", 0, "choose")
    assert found("options-unlike", one_set(option_prices="dearest")) == []
    assert len(found("options-unlike", one_set(rules={"prices": {"option_prices": "equal"}}))) == 1


def test_a_thin_margin_is_told_once_for_a_set_and_channel_with_the_thinnest_variant() -> None:
    """SET-1-1: 3.50 + 0.95 + 0.10 + 0.18 + 4 min x 18/60 = 1.20 is 5.93; 15.00 - 5.93 = 9.07, which is 60.5 %.
    SET-1-2: 3.95 + 2.43 is 6.38; 17.00 - 6.38 = 10.62, which is 62.5 %."""
    assert told("margin-thin", one_set(rules={"prices": {"lowest_margin": "63 %"}})) == [
        "Look at · sets/set-1/set.toml: Stall leaves £9.07, 60.5 %, of £15.00 for SET-1-1 (2 of 2 variants are thin). "
        "63 % is the least: raise the uplift or an item, or sell it elsewhere."
    ]
    assert "of £15.00 for SET-1-1." in told("margin-thin", one_set(rules={"prices": {"lowest_margin": "61 %"}}))[0]
    assert found("margin-thin", one_set(rules={"prices": {"lowest_margin": "60 %"}})) == []


def test_a_margin_of_exactly_the_least_is_enough() -> None:
    """15.00 - (8.82 + 2.43) = 3.75, which is 25 %."""
    rules = {"prices": {"lowest_margin": "25 %"}}
    assert found("margin-thin", one_set(of=[item("A-1", retail="14.00", cost="8.82"), ITEMS[1]], rules=rules)) == []
    assert len(found("margin-thin", one_set(of=[item("A-1", retail="14.00", cost="8.83"), ITEMS[1]], rules=rules))) == 1


def test_the_checks_table_overrides_the_lowest_margin() -> None:
    assert len(found("margin-thin", one_set(rules={"checks": {"margin-thin": "61 %"}}))) == 1


def test_a_loss_is_thin_without_any_threshold() -> None:
    dear = [item("A-1", retail="5.00", cost="9.00"), item("A-2", retail="0.00", cost="1.00")]
    assert len(found("margin-thin", one_set(of=dear))) == 1


@pytest.mark.parametrize(
    ("retail", "count"), [("19.00", 0), ("19.01", 1), ("20.00", 1), ("20.01", 0)]
)  # with the uplift of 1.00: 20.00, 20.01, 21.00, 21.01
def test_a_price_is_just_above_a_ceiling_from_a_penny_to_a_whole_unit(retail: str, count: int) -> None:
    of = [item("A-1", retail=retail), item("A-2", retail=retail)]
    assert len(found("band-missed", one_set(of=of, rules={"prices": {"bands": ["20", "30"]}}))) == count


def test_the_distance_to_a_ceiling_is_the_owners_to_choose() -> None:
    of = [item("A-1", retail="19.60"), item("A-2", retail="19.60")]
    rules = {"prices": {"bands": ["20"]}}
    (line,) = told("band-missed", one_set(of=of, rules=rules))
    assert "SET-1-1 at £20.60 and 1 more lie up to £0.60 above £20.00" in line
    assert found("band-missed", one_set(of=of, rules={**rules, "checks": {"band-missed": "0.50"}})) == []


@pytest.mark.parametrize(
    ("theme", "word"),
    [
        ("Save on three jars.", "Save"),
        ("29.00 instead of 34.00", "instead of"),
        ("A box worth 40.00.", "worth"),
        ("A real bargain!", "bargain"),
    ],
)
def test_words_of_a_saving_are_quoted(theme: str, word: str) -> None:
    """16 CFR 233.1, from memory: a former price must have been a real one; a set has none."""
    (problem,) = found("sounds-like-saving", one_set(theme=theme))
    assert problem.message.startswith(f'"{word}" sounds like a saving: "')
    assert problem.place.key == ("theme",)


@pytest.mark.parametrize(
    "theme", ["A gift worth giving.", "Savory herbs, worth the wait", "The saviour of winter", "Unsaved"]
)
def test_other_words_are_no_saving(theme: str) -> None:
    assert found("sounds-like-saving", one_set(theme=theme)) == []


def test_a_saving_in_a_story_is_told_at_its_line_and_placeholders_are_passed_over() -> None:
    story = "First line.\n{{ set.name | save }} is new.\nYou save a walk and\nsave it again."
    of = shop(ITEMS, [gift_set([JAR])], stories={"SET-1": story})
    (problem,) = found("sounds-like-saving", of)
    assert problem.place.line == 3


def test_a_saving_in_french_is_told_in_french_texts_only() -> None:
    rules = {"language": "fr"}
    assert len(found("sounds-like-saving", one_set(theme="Un coffret d'une valeur de 40", rules=rules))) == 1
    assert found("sounds-like-saving", one_set(theme="worth 40", rules=rules)) == []


def test_the_owner_turns_a_check_off_and_changes_its_level() -> None:
    others = ("box-loose", "box-high", "ingredients-missing", "wholesale-thin")
    checks = {"sounds-like-saving": "Must fix", **dict.fromkeys(others, "off")}
    of = one_set(theme="Save on three jars.", rules={"checks": checks})
    assert [(one.code, one.level) for one in all_found(of)] == [("sounds-like-saving", Level.MUST_FIX)]
    checks["sounds-like-saving"] = "off"
    assert all_found(one_set(theme="Save on three jars.", rules={"checks": checks})) == []
