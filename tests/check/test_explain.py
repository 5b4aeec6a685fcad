"""What is said of a code.

Sources are those of the rules in check/rules.py; the form of what is said is our own, no source.
"""

import re
import tomllib
from pathlib import Path

import pytest

from listkit.check.rules import CODES
from listkit.check.thresholds import explain
from listkit.compute.cautions import FOAMING_SOURCE, RULES
from listkit.problem import FieldError
from tests.small_shop import settings

CAUTIONS = Path(__file__).resolve().parents[2] / "templates" / "cautions" / "en.toml"


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


# Every rule that a law, a standard or a publication stands behind, with all that it names; "?" before what is from
# memory. What is not marked was read in the act itself, in a copy of it, or in a summary that names it.
INCI = "Regulation (EC) 1223/2009, Article 19(1)(g)"
MISLEADS = ("?Directive 2005/29/EC, Article 6", "?15 USC 45")
BEHIND = {
    "folder-name": ("?Naming Files, Paths, and Namespaces", "?Unicode Standard Annex 15"),
    "letter-unseen": ("?Unicode Standard Annex 9",),
    "gtin-wrong": ("GS1 General Specifications, check digit and lengths", "?sections 7.9 and 2.1"),
    "gtin-shared": ("GS1 GTIN Management Standard",),
    "gtin-internal": ("?GS1 General Specifications, section 1.4",),
    "code-unsafe": ("?Genome Biology 17:177 (2016)",),
    "tax-split": ("?Value Added Tax Act 1994, section 19(4)",),
    "reduction-unannounced": ("Directive 98/6/EC, Article 6a", "CJEU C-330/23", "?16 CFR 233.1"),
    "sounds-like-saving": ("?16 CFR 233.1",),
    "weight-unlikely": ("NIST's ESTAR data base",),
    "net-unlikely": ("NIST's ESTAR data base",),
    "accent-faint": ("WCAG 2.2, success criterion 1.4.3",),
    "label-tight": (
        "21 CFR 701.13 and 701.3(b)", "16 CFR 500.21(a)", "Directive 76/211/EEC, Annex I, 3.1", "?21 CFR 740.2(b)",
        "?Regulation (EU) 1169/2011, Article 13(2)",
    ),
    "opening-unstated": ("Regulation (EC) 1223/2009, Article 19(1)(c)",),
    "maker-unstated": (
        "?Regulation (EC) 1223/2009, Articles 4 and 19(1)(a)", "21 CFR 701.12",
        "?Regulation (EU) 2023/988, Article 19(a)",
    ),
    "block-needed": ("?Regulation (EU) 2023/988, Article 19(d)",),
    "photo-shows-another": MISLEADS,
    "text-disagrees": MISLEADS,
    "option-not-offered": MISLEADS,
    "mini-not-named": MISLEADS,
    "photo-dark": ("ISO/CIE 11664-4",),
    "photo-blurred": ("?SPIE 6492 (2007)",),
    "alt-twice": ("?WCAG 2.2, success criterion 1.1.1",),
    "net-overstated": ("16 CFR 500.19", "NIST Handbook 130"),
    "net-measure": ("21 CFR 701.13",),
    "net-high": ("21 CFR 701.13", "?16 CFR 500.6(b)"),
    "ingredients-missing": ("21 CFR 701.3(a)", INCI),
    "ingredients-prose": (INCI, "21 CFR 701.3(a)"),
    "ingredient-plain": (INCI, "?21 CFR 701.3(c)"),
    "ingredient-nearly": (INCI,),
    "ingredient-unlisted": ("21 CFR 701.3(a)", INCI),
    "ingredient-order": ("21 CFR 701.3(f)", INCI),
    "allergen-unnamed": (f"{INCI} and Annex III", "Regulation (EU) 2023/1545", "SOR/2024-63"),
    "allergen-twofold": ("Regulation (EU) 2023/1545, annex",),
    "allergens-unknown": ("Regulation (EU) 2023/1545, annex",),
    "ingredient-forbidden": ("Regulation (EC) 1223/2009, Annex II, entries 1380 and 1666, and Annex III, entry 46",),
    "claim-medicine": ("US Food and Drug Administration, Is It a Cosmetic, a Drug, or Both?",),
    "claim-evidence": ("Regulation (EU) 655/2013", "16 CFR 260"),
    "claim-reword": ("EU technical document on cosmetic claims (2017)", "16 CFR 260.4"),
    "caution-missing": (
        "21 CFR 73.2190(d), 740.17, 740.19", "16 CFR 1501.4", "ASTM F2058-07(2021)", "EN 15494:2019",
        "?Regulation (EC) 1223/2009, Annex III",
    ),
    "like-food": (
        "?Regulation (EU) 2023/988, Article 6", "?Directive 87/357/EEC", "?Food Imitations (Safety) Regulations 1989",
    ),
    "hazard-unlabelled": ("?Regulation (EC) 1272/2008, Articles 4 and 17, Annex II",),
    "caution-age": ("16 CFR 1501.2(a)", "US Food and Drug Administration, Aromatherapy", "?monographs on them"),
}  # fmt: skip
LAW = re.compile(
    r"\b(?:CFR|USC|CJEU|SOR/|Directive|Regulations? \(|Act \d|ISO|WCAG|ASTM|EN \d|GS1|NIST|Unicode|SPIE|Biology|Admin)"
)


@pytest.mark.parametrize("code", CODES)
def test_each_rule_names_the_law_or_standard_behind_it_and_says_what_is_from_memory(code: str) -> None:
    source = explain(code, settings()).partition("  From: ")[2].partition("\n")[0]
    assert bool(LAW.search(source)) is (code in BEHIND)
    named = BEHIND.get(code, ())
    for citation in named:
        assert citation.lstrip("?") in source
    if named:
        assert not source.startswith("common practice")
    assert ("from memory" in source) is (any(one.startswith("?") for one in named) or code in NAMES_FROM_MEMORY)


NAMES_FROM_MEMORY = {"ingredient-nearly", "net-measure"}
"""Where the law was read, and words that the check goes by are remembered."""


def test_a_caution_that_a_law_asks_for_names_it_in_its_rule_and_beside_its_sentence() -> None:
    """Sections as in templates/cautions/en.toml: an owner who reads either finds the same law."""
    cited = re.compile(r"\d+ CFR \d+(?:\.\d+)?|Regulation \(EU\) \d+/\d+|EN \d+|ASTM F\d+")
    beside = {key: table["source"] for key, table in tomllib.loads(CAUTIONS.read_text(encoding="utf-8")).items()}
    for rule in RULES:
        assert set(cited.findall(rule.source)) <= set(cited.findall(beside[rule.key])), rule.key
    assert set(cited.findall(FOAMING_SOURCE)) == set(cited.findall(beside["foaming-bath"]))
