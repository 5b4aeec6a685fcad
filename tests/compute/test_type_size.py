"""How large type must be: the published tables at their bounds, and panels as the rule measures them."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.labels import (
    SQUARE_INCH,
    panel_area,
    panel_height,
    panel_of,
    quantity_height,
    small_height,
    type_heights,
)
from listkit.model.fields import Shape
from listkit.model.labels import Face
from listkit.units.length import Size

INCH = Decimal("25.4")
SIXTEENTH = INCH / 16


@pytest.mark.parametrize(
    ("inches", "sixteenths"),
    [
        ("0.01", 1), ("4.99", 1), ("5", 1), ("5.01", 2), ("25", 2), ("25.01", 3), ("100", 3), ("100.01", 4), ("400", 4),
        ("400.01", 8),
    ],
)  # fmt: skip
def test_the_height_of_declared_contents_follows_the_panel(inches: str, sixteenths: int) -> None:
    """21 CFR 701.13(i) and, above 400 square inches, 16 CFR 500.21(a), from memory: 1/16, 1/8, 3/16, 1/4, 1/2 inch."""
    assert panel_height(Decimal(inches) * SQUARE_INCH) == sixteenths * SIXTEENTH


@pytest.mark.parametrize(
    ("grams", "mm"),
    [("5", 2), ("50", 2), ("50.1", 3), ("200", 3), ("200.1", 4), ("1000", 4), ("1000.1", 6), ("5000", 6)],
)
def test_the_height_of_figures_follows_the_quantity(grams: str, mm: int) -> None:
    """Directive 76/211/EEC, Annex I, 3.1, from memory: 2, 3, 4 and 6 mm."""
    assert quantity_height(Decimal(grams)) == mm


def test_a_cylinders_panel_is_two_fifths_of_height_by_circumference() -> None:
    """21 CFR 701.13(e)(2), from memory: a jar of 3 in across and 2 in high has
    0.4 * pi * 3 * 2 = 7.54 square inches, so 1/8 in.
    """
    area = panel_area(Size.parse("3 x 3 x 2 in"), Shape.CYLINDER)
    assert round(area / SQUARE_INCH, 2) == Decimal("7.54")
    assert panel_height(area) == 2 * SIXTEENTH


def test_a_boxs_panel_is_its_largest_side() -> None:
    """21 CFR 701.13(e)(1), from memory: height by width of the side; a box of 8 x 6 x 3 in
    that lies shows its lid of 48.
    """
    assert panel_area(Size.parse("8 x 6 x 3 in")) == 48 * SQUARE_INCH
    assert panel_area(Size.parse("3 x 6 x 8 in")) == 48 * SQUARE_INCH


def test_any_other_shapes_panel_is_two_fifths_of_its_surface() -> None:
    """21 CFR 701.13(e)(3), from memory: of a ball 2 in across 0.4 * 4 * pi = 5.03 square inches."""
    assert round(panel_area(Size.parse("2 x 2 x 2 in"), Shape.BALL) / SQUARE_INCH, 2) == Decimal("5.03")


@pytest.mark.parametrize(
    ("outside", "shape", "label", "square_inches"),
    [
        ("8 x 6 x 3 in", Shape.BOX, ("4", "3"), 48),  # on the lid
        ("3 x 2 x 1 in", Shape.BOX, ("2", "8"), 6),  # a band round a soap, whose surface is 22
        ("3 x 2 x 1 in", Shape.BOX, ("5", "5"), 25),  # a card tied to it
        ("1 x 1 x 3 in", Shape.CYLINDER, ("3.14", "3"), "3.77"),  # round a tube, whose surface is 3.5 pi
        ("1 x 1 x 3 in", Shape.CYLINDER, ("4", "3"), 12),
        ("2 x 2 x 2 in", Shape.BALL, ("3", "4"), "5.03"),  # a sleeve: the surface is 4 pi
        ("2 x 2 x 2 in", Shape.BALL, ("4", "4"), 16),
    ],
)
def test_a_label_larger_than_all_that_it_could_lie_on_is_the_panel_itself(
    outside: str, shape: Shape, label: tuple[str, str], square_inches: str
) -> None:
    """21 CFR 701.10 and 701.13(e), from memory: the panel is what is shown to a buyer; areas by plane geometry."""
    face = Face(*(Decimal(side) * INCH for side in label))
    area = panel_of(Size.parse(outside), shape, face)
    assert round(area / SQUARE_INCH, 2) == Decimal(square_inches)


def test_ingredients_and_warnings_have_a_sixteenth_of_an_inch_in_the_united_states() -> None:
    """21 CFR 701.3(b) and 740.2(b), from memory; elsewhere 1.2 mm, Regulation (EU) No 1169/2011, article 13(2), of
    food, from memory.
    """
    assert small_height("US") == Decimal("1.5875")
    assert small_height("GB") == Decimal("1.2")


def test_outside_the_united_states_figures_go_by_the_quantity_and_the_panel_where_it_is_asked_for() -> None:
    """Directive 76/211/EEC, Annex I, 3.1; Regulation (EU) No 1169/2011, article 13(2); 21 CFR 701.13; from memory."""
    there = type_heights(4 * SQUARE_INCH, Decimal(150), "GB")
    assert (there.letters, there.figures, there.small) == (Decimal("1.2"), Decimal(3), Decimal("1.2"))
    there = type_heights(4 * SQUARE_INCH, Decimal(150), "GB", rule="panel area")
    assert (there.letters, there.figures, there.small) == (SIXTEENTH, Decimal(3), Decimal("1.2"))
    assert type_heights(4 * SQUARE_INCH, Decimal(150), "US").figures == 0


def test_the_quantity_alone_leaves_the_panel_aside_but_never_what_is_legible() -> None:
    by_quantity = type_heights(60 * SQUARE_INCH, Decimal(150), "GB", rule="quantity")
    assert (by_quantity.letters, by_quantity.figures) == (Decimal("1.2"), Decimal(3))


@given(area=st.decimals("1", "500000", places=1), more=st.decimals(0, "500000", places=1))
def test_a_larger_panel_never_has_smaller_type(area: Decimal, more: Decimal) -> None:
    assert panel_height(area + more) >= panel_height(area)
