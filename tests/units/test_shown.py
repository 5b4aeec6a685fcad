"""Amounts as people read them: NIST's factors, how figures are rounded, and what comes back from them."""

import doctest
import re
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import listkit
from listkit.units import shown
from listkit.units.length import Length, Size
from listkit.units.shown import CUSTOMARY, METRIC, pounds_and_ounces
from listkit.units.weight import NO_WEIGHT, Weight

SOURCES = [path.read_text(encoding="utf-8") for path in sorted(Path(listkit.__file__).parent.rglob("*.py"))]


def grams(text: str) -> Weight:
    return Weight(Decimal(text))


@pytest.mark.parametrize(
    ("text", "exact"), [("1 lb", "453.59237"), ("1 oz", "28.349523125"), ("2 lb 3 oz", "992.233309375")]
)
def test_weights_go_by_the_factors_of_nist_handbook_44_appendix_c(text: str, exact: str) -> None:
    """1 lb is 453.59237 g, 1 oz 28.349523125 g, both marked exact; 35 oz make the third."""
    assert CUSTOMARY.weight(grams(exact)) == CUSTOMARY.weight(grams(exact), rounded=True) == text


@pytest.mark.parametrize(("text", "exact"), [("1 in", "25.4"), ("36 in", "914.4"), ("0.5 in", "12.7")])
def test_lengths_go_by_the_inch_of_nist_special_publication_811(text: str, exact: str) -> None:
    """1 in is 25.4 mm, 1 yd 0.9144 m, both exact (Appendix B)."""
    assert CUSTOMARY.length(Decimal(exact)) == CUSTOMARY.length(Decimal(exact), rounded=True) == text


def test_a_volume_goes_by_the_gallon_of_231_cubic_inches() -> None:
    """NIST Handbook 44, Appendix C: a gallon is 3.785411784 l and 128 fl oz."""
    assert CUSTOMARY.volume(Decimal("3785.411784") / 128) == "1 fl oz"
    assert METRIC.volume(Decimal("133.56")) == "134 ml"


def test_densities_go_by_cubic_inches_and_square_feet() -> None:
    """NIST SP 811, Appendix B.8: 1 oz/in³ is 1729.994 kg/m³, 1 oz/ft² 0.3051517, 1 lb/ft² 4.882428 kg/m²."""
    assert CUSTOMARY.density(Decimal("1.729994")) == "1 oz in each in³"
    assert CUSTOMARY.surface(Decimal("305.1517")) == "1 oz in each ft²"
    assert CUSTOMARY.surface(Decimal("4882.428"), large=True) == "1 lb in each ft²"
    assert (METRIC.density(Decimal("2.404")), METRIC.surface(Decimal(450))) == ("2.4 g in each cm³", "450 g in each m²")
    assert METRIC.surface(Decimal(31500), large=True) == "31.5 kg in each m²"


@pytest.mark.parametrize(
    ("exact", "stated", "rounded"),
    [
        ("0", "0 oz", "0 oz"),
        ("0.01", "0.0004 oz", "0.0004 oz"),
        ("3", "0.11 oz", "0.11 oz"),
        ("119", "4.2 oz", "4.2 oz"),
        ("120.4854732812500", "4.25 oz", "4.3 oz"),
        ("453.58", "1 lb", "1 lb"),
        ("612", "1 lb 5.59 oz", "1 lb 5.6 oz"),
        ("907.18474", "2 lb", "2 lb"),
    ],
)
def test_ounces_are_whole_as_stated_and_to_a_tenth_where_computed(exact: str, stated: str, rounded: str) -> None:
    assert CUSTOMARY.weight(grams(exact)) == stated
    assert CUSTOMARY.weight(grams(exact), rounded=True) == rounded


def test_sixteenths_of_an_inch_that_an_owner_wrote_come_back_whole() -> None:
    assert CUSTOMARY.sides(Size.parse("6 5/16 x 4 3/4 x 2 1/2 in").sides) == "6.3125 × 4.75 × 2.5 in"
    assert CUSTOMARY.sides(Size.parse("162 x 122 x 68 mm").sides) == "6.38 × 4.8 × 2.68 in"
    assert CUSTOMARY.length(Decimal("160.3375"), rounded=True) == "6.31 in"


def test_what_is_the_least_or_the_most_that_will_do_does() -> None:
    assert (CUSTOMARY.at_least(Decimal(134)), CUSTOMARY.at_most(Decimal(134))) == ("5.28 in", "5.27 in")
    assert (METRIC.at_least(Decimal("134.05")), METRIC.at_most(Decimal("134.05"))) == ("134.05 mm", "134.05 mm")
    assert CUSTOMARY.weight(Weight(Decimal(3)), least=True) == "0.11 oz"
    assert CUSTOMARY.weight(Weight(Decimal(20)), rounded=True, least=True) == "0.71 oz"


def test_metric_figures_have_all_their_digits_as_stated_and_one_place_where_computed() -> None:
    assert (METRIC.weight(grams("119.55")), METRIC.weight(grams("119.55"), rounded=True)) == ("119.55 g", "119.6 g")
    assert (METRIC.weight(grams("1200")), METRIC.weight(NO_WEIGHT)) == ("1200 g", "0 g")
    assert METRIC.sides(Size.parse("6 x 4 x 2.5 in").sides, times="x") == "152.4 x 101.6 x 63.5 mm"


@given(st.decimals(0, 100_000, places=3))
def test_a_weight_reads_back_within_half_of_its_last_digit(exact: Decimal) -> None:
    ounce = Decimal("28.349523125")
    assert METRIC.weight(Weight(exact)) == f"{exact.normalize():f} g"
    for rounded, places in ((False, 2), (True, 1)):
        text = CUSTOMARY.weight(Weight(exact), rounded=rounded)
        assert abs(Weight.parse(text).grams - exact) <= ounce * Decimal(5).scaleb(-places - 1)
        pounds, ounces = pounds_and_ounces(Weight(exact), rounded=rounded)
        assert 0 <= ounces < 16
        assert ("lb" in text) == (pounds > 0)


@given(st.decimals(0, 5_000, places=2))
def test_a_length_reads_back_within_half_of_its_last_digit(exact: Decimal) -> None:
    half = Decimal("0.005") * Decimal("25.4")
    assert abs(Length.parse(CUSTOMARY.length(exact)).mm - exact) <= half
    assert Length.parse(CUSTOMARY.at_least(exact)).mm >= exact >= Length.parse(CUSTOMARY.at_most(exact)).mm
    assert Length.parse(METRIC.length(exact)).mm == exact


def test_facts_on_record_are_turned_and_nothing_else_is() -> None:
    assert CUSTOMARY.facts("weight 14.1747615625 g, cost 0.18") == "weight 0.5 oz, cost 0.18"
    assert CUSTOMARY.facts("50.8 x 25.4 x 25.4 mm") == "2 x 1 x 1 in"
    assert CUSTOMARY.facts("5000 cm³/kg, 3 games, 139 in³/lb") == "5000 cm³/kg, 3 games, 139 in³/lb"
    assert METRIC.facts("14.1747615625 g") == "14.1747615625 g"


def test_every_example_of_a_hint_has_a_customary_one_that_can_be_read() -> None:
    """Hints are gathered from the code itself, so that a new one is not forgotten."""
    quoted = {
        text for source in SOURCES for text in re.findall(r'(?:as in|outside =|weight =) "([\d x.]+ (?:g|mm))"', source)
    }
    quoted |= {text for source in SOURCES for text in re.findall(r'Example\("[^"]*", "([\d x.]+ (?:g|mm))"\)', source)}
    assert {"340 g", "86 x 58 x 28 mm", "3 mm", "100 x 140 mm", "10 g"} <= quoted
    for text in quoted:
        example = re.findall(r'"([^"]*)"', CUSTOMARY.example(f'Write it as in "{text}".'))[0]
        assert example != text
        assert METRIC.example(f'as in "{text}"') == f'as in "{text}"'
        if text.endswith("g"):
            Weight.parse(example)
        elif " x " in text:
            Size.parse(example if example.count("x") == 2 else example.replace(" in", " x 1 in"))
        else:
            Length.parse(example)


def test_the_examples_of_the_module_come_out_as_written() -> None:
    assert doctest.testmod(shown)[0] == 0


@pytest.mark.parametrize(("grams", "customary", "metric"), [("5", "0.2 oz", "5 g"), ("28.349523125", "1 oz", "28.3 g")])
def test_a_tolerance_is_no_finer_than_the_weight_beside_it(grams: str, customary: str, metric: str) -> None:
    """NIST SP 811, B.8: an ounce is 28.349523125 g, so 5 g are 0.176 oz, which no weight in tenths can keep."""
    weight = Weight(Decimal(grams))
    assert (CUSTOMARY.tolerance(weight), METRIC.tolerance(weight)) == (customary, metric)
