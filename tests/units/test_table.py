"""The table of units: what its rows must hold, and that a new unit is one row."""

import subprocess
import sys
from collections import Counter
from decimal import Decimal
from pathlib import Path

from listkit.units.table import UNITS, UnitKind, channel_places, price_units, sizes_by_word, units_of

ROOT = Path(__file__).parents[2]
CASES = "tests/units/two_more_units.py"
TWO_ROWS = f"""
import sys
from decimal import Decimal

import pytest

from listkit.units import table
from listkit.units.table import LegalFactor, Unit, UnitKind

table.UNITS += (
    Unit(sign="pt", kind=UnitKind.VOLUME, size=Decimal("473.176473"), words="pt pint pints", also="pinte pinten",
         metric=False, legal=LegalFactor("ml", Decimal("473.177")), priced=1),
    Unit(sign="st", kind=UnitKind.MASS, size=Decimal("6350.29318"), words="st stone stones", metric=False, priced=1,
         places=4, digits=2, cldr="mass-stone"),
)
sys.exit(pytest.main(["-q", "--noconftest", "-p", "no:cacheprovider", "{CASES}"]))
"""


def test_a_new_unit_is_one_row() -> None:
    """The rest of the program makes its own tables from UNITS when it is imported, so the rows are added before."""
    made = subprocess.run([sys.executable, "-c", TWO_ROWS], cwd=ROOT, capture_output=True, text=True, check=False)
    assert made.returncode == 0, made.stdout + made.stderr
    assert "5 passed" in made.stdout


def test_the_same_cases_fail_without_the_rows() -> None:
    without = TWO_ROWS.replace("table.UNITS +=", "_ =")
    made = subprocess.run([sys.executable, "-c", without], cwd=ROOT, capture_output=True, text=True, check=False)
    assert "5 failed" in made.stdout


def test_a_word_means_one_unit() -> None:
    words = Counter(word for unit in UNITS for word in (*unit.words.split(), *unit.marks, *unit.also.split()))
    assert {word for word, count in words.items() if count > 1} == set()


def test_a_row_agrees_with_itself() -> None:
    by_sign = {unit.sign: unit for unit in UNITS}
    assert len(by_sign) == len(UNITS)
    for unit in UNITS:
        assert unit.size > 0
        assert unit.label in {"", *by_sign}
        assert set(unit.typed.split()) <= set(unit.words.split())
        assert unit.sign.replace(" ", "") in unit.words.split() or unit.kind is UnitKind.COUNT
        if unit.legal is not None:  # six digits, so within half of the sixth of the exact factor
            exact = unit.size / by_sign[unit.legal.sign].size
            assert abs(unit.legal.factor / exact - 1) < Decimal("0.000005")
            assert by_sign[unit.legal.sign].metric != unit.metric


def test_every_kind_that_is_measured_has_one_base_unit() -> None:
    for kind in UnitKind:
        assert sum(unit.size == 1 for unit in units_of(kind)) == 1


def test_sizes_are_those_of_nist_handbook_44_appendix_c() -> None:
    """Printed there: exactly 28.349523125 g, 453.59237 g and 25.4 mm; rounded, a fluid ounce is 29.57353 ml."""
    mass, volume = sizes_by_word(UnitKind.MASS), sizes_by_word(UnitKind.VOLUME)
    assert (mass["oz"], mass["lb"]) == (Decimal("28.349523125"), Decimal("453.59237"))
    assert sizes_by_word(UnitKind.LENGTH)["in"] == Decimal("25.4")
    assert round(volume["floz"], 5) == Decimal("29.57353")
    assert volume["floz"] == Decimal(231) * Decimal("2.54") ** 3 / 128


def test_choices_are_listed_as_an_owner_would_look_for_them() -> None:
    assert [unit.price_name for unit in price_units(UnitKind.MASS)] == ["kg", "100 g", "lb", "oz"]
    assert [unit.price_name for unit in price_units(UnitKind.VOLUME)] == ["l", "100 ml", "fl oz"]
    assert list(channel_places(UnitKind.MASS)) == ["g", "kg", "oz", "lb"]
    assert list(channel_places(UnitKind.LENGTH)) == ["mm", "cm", "in"]
