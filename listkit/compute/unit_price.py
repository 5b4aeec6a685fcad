"""What a unit of goods costs: the price by the kilogram, 100 g, fluid ounce or any other unit with a price.

Rounded once, half up, from the unrounded ratio: to the currency's minor unit, below one whole unit of it to a
tenth of the minor unit where the rule wants that (Price Marking Order (Northern Ireland) 2004, Article 13;
NIST Handbook 130, Uniform Unit Pricing Regulation). Packages of unlike pieces, which are exempt in the United
Kingdom and Germany, have none. Whether one is asked for is decided where one sells.
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from listkit.compute.catalog import Piece
from listkit.compute.declaration import total_amount
from listkit.model.labelling import UnitPricing
from listkit.units.declared import Figure, base_amount
from listkit.units.money import Money, minor_digits
from listkit.units.net import Measure
from listkit.units.table import UnitKind, price_units

_UNITS: Final = {
    unit.price_name: Figure((Decimal(unit.priced),), unit.sign)
    for kind in (UnitKind.MASS, UnitKind.VOLUME)
    for unit in price_units(kind)
}


@dataclass(frozen=True, slots=True)
class UnitPrice:
    """`amount` of `currency`, with the digits that are printed, for `unit` of goods."""

    amount: Decimal
    currency: str
    unit: Figure


def unit_price(price: Money, pieces: tuple[Piece, ...], rule: UnitPricing | None) -> UnitPrice | None:
    """Return what a unit costs; None where none is asked for, or nothing adds up to weight or volume."""
    total = total_amount(pieces) if rule is not None else None
    if rule is None or total is None:
        return None
    measure, amount = total
    unit = _UNITS[rule.weight if measure is Measure.MASS else rule.volume]
    if amount < rule.smallest:
        return None
    exact = price.amount * base_amount(unit) / amount
    digits = minor_digits(price.currency)
    if exact < 1 and rule.below_one == "tenth":
        digits += 1
    return UnitPrice(exact.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP), price.currency, unit)
