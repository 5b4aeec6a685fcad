"""How large the type of a label must be at least: by the area of the panel it stands on, or by what is inside.

Heights are millimetres of what the rule measures: in words of small letters the letter "o" or its equal, so
without ascenders; of a quantity's figures the figures themselves. The rules in force where one sells decide, not
this module.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from listkit.model.fields import Shape
from listkit.units.length import MM_PER_INCH, Size

PI: Final = Decimal("3.14159265358979323846")
SQUARE_INCH: Final = MM_PER_INCH**2  # in mm²
# 21 CFR 701.13(i) and 16 CFR 500.21(a): panels up to so many square inches, the height in inches. The last step is
# 16 CFR 500.21 alone.
_PANEL: Final = (
    (Decimal(5), Decimal("0.0625")),
    (Decimal(25), Decimal("0.125")),
    (Decimal(100), Decimal("0.1875")),
    (Decimal(400), Decimal("0.25")),
)
_LARGEST: Final = Decimal("0.5")
# Directive 76/211/EEC, Annex I, 3.1: up to so many grams or millilitres, the figures' height in mm. From memory.
_QUANTITY: Final = ((Decimal(50), Decimal(2)), (Decimal(200), Decimal(3)), (Decimal(1000), Decimal(4)))
_LARGEST_QUANTITY: Final = Decimal(6)
# 21 CFR 701.3(b) for ingredients and 740.2(b) for warnings: a sixteenth of an inch.
SMALL_IN_US: Final = MM_PER_INCH / 16
# Regulation (EU) No 1169/2011, article 13(2), of food: the nearest that is published for what must be legible.
SMALL_ELSEWHERE: Final = Decimal("1.2")


@dataclass(frozen=True, slots=True)
class TypeHeights:
    """The least heights on one label, in mm.

    `letters` of the declared contents (their small letters), `figures` of its figures, `small` of everything else
    that must be read (its small letters). Zero where a rule asks for none.
    """

    letters: Decimal
    figures: Decimal
    small: Decimal


def panel_area(outside: Size, shape: Shape = Shape.BOX) -> Decimal:
    """Return the area of the principal display panel in mm², as 21 CFR 701.13(e) measures it.

    Of a box its largest side; of a cylinder that stands 40 % of height by circumference; of any other shape 40 % of
    the whole surface. A lying cylinder is taken as it stands, its height being its third side.
    """
    length, width, height = outside.sides
    if shape is Shape.CYLINDER:
        return Decimal("0.4") * height * PI * length
    if shape is Shape.BALL:
        return Decimal("0.4") * PI * length**2
    return max(length * width, length * height, width * height)


def panel_height(area: Decimal) -> Decimal:
    """Return the least height of declared contents on a panel of `area` mm², in mm; its bounds belong below them."""
    inches = area / SQUARE_INCH
    height = next((height for most, height in _PANEL if inches <= most), _LARGEST)
    return height * MM_PER_INCH


def quantity_height(amount: Decimal) -> Decimal:
    """Return the least height of the figures of a quantity in grams or millilitres, in mm."""
    return next((height for most, height in _QUANTITY if amount <= most), _LARGEST_QUANTITY)


def small_height(country: str) -> Decimal:
    """Return the least height of ingredients and cautions in a country, in mm."""
    return SMALL_IN_US if country == "US" else SMALL_ELSEWHERE


def type_heights(area: Decimal, amount: Decimal, country: str, *, rule: str = "panel area") -> TypeHeights:
    """Return the least heights on a label.

    Args:
        area: of the panel, in mm².
        amount: the largest single quantity that is declared, in grams or millilitres; 0 where there is none.
        country: where the shop is; outside the United States figures go by the quantity as well.
        rule: "panel area", or "quantity", which leaves the panel aside.
    """
    letters = panel_height(area) if rule == "panel area" else Decimal(0)
    figures = quantity_height(amount) if amount and (country != "US" or rule == "quantity") else Decimal(0)
    small = small_height(country)
    return TypeHeights(max(letters, small), figures, small)
