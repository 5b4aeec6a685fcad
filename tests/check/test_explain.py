"""What is said of a code.

Sources are those of the rules in check/rules.py; the form of what is said is our own, no source.
"""

import pytest

from listkit.check.rules import CODES
from listkit.check.thresholds import explain
from listkit.problem import FieldError
from tests.small_shop import settings


def test_rule_figure_source_and_switch_are_said_as_they_are_in_this_shop() -> None:
    assert explain("margin-thin", settings(prices={"lowest_margin": "25 %"})).splitlines() == [
        "margin-thin · Look at",
        "  What a channel leaves of a price is at least the lowest margin.",
        "  Figure: 25 % what a channel leaves, of the price before tax (yours).",
        "  From: lowest_margin of shop.toml.",
        '  Switch it off in shop.toml, under [checks]: margin-thin = "off"; or "look at", "must fix", or "30 %" for '
        "another figure.",
    ]


def test_what_the_shop_says_of_a_code_is_said() -> None:
    rules = settings(checks={"gtin-wrong": "look at", "sheet-long": "off", "band-missed": "0.50"})
    assert explain("gtin-wrong", rules).startswith("gtin-wrong · Look at, by your shop.toml\n")
    assert explain("sheet-long", rules).startswith("sheet-long · off in your shop.toml\n")
    assert "0.50 above a ceiling, at most (yours)" in explain("band-missed", rules)


@pytest.mark.parametrize("code", CODES)
def test_every_code_has_a_rule_a_source_and_a_way_to_change_it(code: str) -> None:
    text = explain(code, settings())
    assert CODES[code].sentence in text
    assert "  From: " in text
    assert ("cannot be switched off" if CODES[code].always else f'{code} = "off"') in text


def test_a_code_that_is_not_there_has_a_near_miss() -> None:
    with pytest.raises(FieldError, match="there is no check") as fault:
        explain("margin-thn", settings())
    assert fault.value.hint == 'Write "margin-thin".'
