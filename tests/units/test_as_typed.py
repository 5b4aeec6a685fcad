"""Sizes and amounts as owners type them: one meaning for each, and none where two are possible."""

from decimal import Decimal

import pytest

from listkit.problem import FieldError
from listkit.units.length import Size
from listkit.units.net import NetContent
from listkit.units.weight import Weight

SAME = (Decimal(86), Decimal(58), Decimal(28))
INCHES = (Decimal("63.5"), Decimal("50.8"), Decimal("25.4"))  # 2.5, 2 and 1 of 25.4 mm (NIST Handbook 44, Appendix C)


@pytest.mark.parametrize(
    "text",
    [
        "86 x 58 x 28 mm", "8,6 x 5,8 x 2,8", "8,6 x 5,8 x 2,8 cm", "8.6×5.8×2.8cm", "8,6×5,8×2,8cm",
        "L 86 W 58 H 28 mm", "L86 x W58 x H28 mm", "86L x 58W x 28H mm", "H 28 x W 86 x D 58 mm", "L 86 W 58 D 28 mm",
        "l 86 b 58 h 28 mm", "L 86 x l 58 x H 28 mm", "l 58 x L 86 x h 28 mm", "86 by 58 by 28 mm",
        "86 par 58 par 28 mm",
        "86 x 58 x 28 mm (L x W x H)", "28 x 58 x 86 mm (HxWxL)", "L: 86 mm, W: 58 mm, H: 28 mm",
        "length 86 mm, width 58 mm, height 28 mm", "Höhe 28 mm, Länge 86 mm, Breite 58 mm", "86 х 58 х 28 mm",
        "86 x 58 x 28mm.", "86mm×58mm×28mm", "8,6x5,8x2,8",
    ],
)  # fmt: skip
def test_a_size_is_read_as_owners_type_it_in_a_column_of_centimetres(text: str) -> None:
    assert Size.parse(text, unit="cm").sides == SAME


@pytest.mark.parametrize(
    "text",
    [
        "2½ x 2 x 1 in", '2½" x 2" x 1"', "2 1/2 x 2 x 1 in", "2-1/2 in x 2 in x 1 in", '2 1/2" L x 2" W x 1" H',
        "W2.5 x D2 x H1 in", "2½in × 2in × 1in", "2,5 x 2 x 1 in",
    ],
)  # fmt: skip
def test_so_it_is_in_inches_whatever_the_heading_says(text: str) -> None:
    size = Size.parse(text, unit="cm")
    assert size.sides == INCHES
    assert size.inches


@pytest.mark.parametrize(
    "text",
    ["70 mm diameter x 60 mm high", "Ø 70 x 60 mm", "70 x 60 mm dia", "Ø7,0 x 6,0 cm", "round 70 mm x H 60 mm"],
)
def test_something_round_may_say_which_side_is_its_height(text: str) -> None:
    assert Size.parse(text, unit="cm").sides == (Decimal(70), Decimal(70), Decimal(60))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("1,250 x 58 x 28 mm", "has a comma"),  # a thousand and 250, or one and a quarter
        ("8,6 x 5.8 x 2,8 cm", "has a comma"),
        ("86-58-28 mm", "is not a size"),
        ("86/58/28 mm", "does not end as a decimal number"),
        ("3in x 2 x 25mm", "has a number without unit"),
        ("L 86 L 58 H 28 mm", "is not a size"),
        ("H 60 Ø 70 mm", "is not a size"),
    ],
)
def test_what_may_mean_two_things_is_asked_for(text: str, message: str) -> None:
    with pytest.raises(FieldError, match=message):
        Size.parse(text, unit="cm")


@pytest.mark.parametrize(
    "text",
    [
        "2 1/2 oz / 71 g", "2½ oz / 71 g", "71 g / 2 1/2 oz", "2 1/2 oz (71 g)", "2 1/2 oz = 71 g", "2-1/2 oz / 71 g",
        "71g/2.5oz",
    ],
)  # fmt: skip
def test_of_a_weight_in_both_measures_the_one_of_the_shop_is_read(text: str) -> None:
    """An avoirdupois ounce is 28.349523125 g, NIST Handbook 44, Appendix C."""
    assert Weight.parse(text).grams == 71
    assert Weight.parse(text, customary=True).grams == Decimal("70.8738078125")


def test_two_weights_that_are_not_the_same_are_told() -> None:
    """Half an ounce is 14 g, so what is rounded to halves may be 7 g off, and 14 are too many."""
    with pytest.raises(FieldError, match="are not the same"):
        Weight.parse("2 1/2 oz / 85 g")
    with pytest.raises(FieldError, match="are two weights"):
        Weight.parse("71 g / 0.071 kg")


@pytest.mark.parametrize(
    ("text", "shown", "total"),
    [
        ("2 1/2 oz / 71 g", "71 g", 71), ("100 ml / 3.4 fl oz", "100 ml", 100), ("3.4 fl. oz. / 100 ml", "100 ml", 100),
        ("100ml (3.4 fl oz)", "100 ml", 100), ("110 g e", "110 g", 110), ("℮ 110 g", "110 g", 110),
        ("110g ℮", "110 g", 110), ("Net wt. 110 g", "110 g", 110), ("4×25g", "4 × 25 g", 100),
    ],
)  # fmt: skip
def test_a_net_content_is_read_as_labels_have_it(text: str, shown: str, total: int) -> None:
    net = NetContent.parse(text)
    assert net.text == shown
    assert net.total == total


def test_a_net_content_of_a_weight_and_a_volume_is_two() -> None:
    with pytest.raises(FieldError):
        NetContent.parse("100 ml / 100 g")
