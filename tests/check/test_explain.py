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


@pytest.mark.parametrize(
    ("code", "law", "remembered"),
    [
        ("like-food", "Regulation (EU) 2023/988, Article 6, before it Directive 87/357/EEC", True),
        ("hazard-unlabelled", "Regulation (EC) 1272/2008", True),
        ("ingredient-plain", "21 CFR 701.3(c); the names are from memory", True),
        ("ingredient-nearly", "Regulation (EC) 1223/2009, Article 19(1)(g)", True),
        ("block-needed", "Regulation (EU) 2023/988, Article 19(d)", True),
        ("photo-shows-another", "Directive 2005/29/EC, Article 6", True),
        ("text-disagrees", "Directive 2005/29/EC, Article 6", True),
        ("option-not-offered", "Directive 2005/29/EC, Article 6", True),
        ("mini-not-named", "Directive 2005/29/EC, Article 6", True),
        ("alt-twice", "WCAG 2.2, success criterion 1.1.1", True),
        ("caution-age", "16 CFR 1501.2", True),
        ("reduction-unannounced", "Directive 98/6/EC, Article 6a", True),
        ("allergen-unnamed", "Regulation (EU) 2023/1545", False),
        ("net-overstated", "16 CFR 500.19", False),
        ("caution-missing", "21 CFR 740.17", False),
        ("ingredient-order", "21 CFR 701.3(f)", False),
    ],
)
def test_a_rule_that_a_law_stands_behind_names_it_and_says_what_is_from_memory(
    code: str, law: str, remembered: bool
) -> None:
    source = explain(code, settings()).partition("  From: ")[2].partition("\n")[0]
    assert law in source
    assert not source.startswith("common practice")
    assert ("from memory" in source) is remembered
