"""Weights against the published factors."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.problem import FieldError
from listkit.units.weight import Weight


@pytest.mark.parametrize(("text", "grams"), [("1 lb", "453.59237"), ("1 oz", "28.349523125")])
def test_factors_match_nist_handbook_44_appendix_c(text: str, grams: str) -> None:
    """NIST Handbook 44, Appendix C, table of equivalents; both values are marked exact."""
    assert Weight.parse(text) == Weight(Decimal(grams))


def test_a_pound_is_sixteen_ounces() -> None:
    """QUDT gives ONZ 0.028349523125 kg and LBR 0.45359237 kg, keyed by UN/CEFACT Recommendation 20."""
    assert Weight.parse("16 oz") == Weight.parse("1 lb") == Weight(Decimal("0.45359237") * 1000)


def test_an_exact_multiple_of_the_step_is_not_bumped() -> None:
    """2.000 kg in half-kilogram steps stays 2.0, never 2.5 (freight practice, common practice without source)."""
    half = Weight(Decimal(500))
    assert Weight(Decimal(2000)).up_to(half) == Weight(Decimal(2000))
    assert Weight(Decimal("2000.1")).up_to(half) == Weight(Decimal(2500))


@given(st.decimals(0, 100_000, places=4), st.decimals("0.001", 1000, places=3))
def test_rounding_up_to_a_step_covers_and_one_step_less_does_not(grams: Decimal, step: Decimal) -> None:
    up = Weight(grams).up_to(Weight(step)).grams
    assert up - step < grams <= up
    assert up % step == 0


def test_a_weight_is_told_in_the_units_of_a_channel() -> None:
    assert Weight.parse("1 lb").in_unit("oz") == 16
    assert Weight(Decimal(250)).in_unit("kg") == Decimal("0.25")


@pytest.mark.parametrize("text", ["12 oz / 340 g", "12 oz (340 g)", "340 g/12 oz", "340 g = 12 oz"])
def test_of_a_weight_in_both_measures_the_one_asked_for_is_read(text: str) -> None:
    assert Weight.parse(text) == Weight.parse("340 g")
    assert Weight.parse(text, customary=True) == Weight.parse("12 oz")


@pytest.mark.parametrize("text", ["12 oz / 300 g", "340 g / 0.34 kg", "12 oz / 12 oz", "12 oz / ?"])
def test_two_weights_that_are_not_one_are_refused(text: str) -> None:
    with pytest.raises(FieldError, match="weight"):
        Weight.parse(text)
