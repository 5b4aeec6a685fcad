"""Unit prices in words: "£6.82 per 100 g", by the language's formats and templates/words, [net]."""

from listkit.compute.catalog import Variant
from listkit.compute.unit_price import UnitPrice, unit_price
from listkit.listing.declared import figure_text
from listkit.listing.formats import money_digits_text
from listkit.listing.words import Words, fill
from listkit.model.labelling import UnitPricing


def unit_price_text(words: Words, told: UnitPrice | None) -> str:
    """Return what a unit costs, "" for none."""
    if told is None:
        return ""
    unit = figure_text(words, told.unit)
    return fill(words.net.unit_price, price=_money(words, told), unit=unit.removeprefix("1 "))


def unit_price_of(words: Words, variant: Variant, rule: UnitPricing | None) -> str:
    """Return what a unit costs in one variant."""
    return unit_price_text(words, unit_price(variant.prices.price, variant.pieces, rule)) if rule else ""


def unit_prices_text(words: Words, variants: tuple[Variant, ...], rule: UnitPricing | None) -> str:
    """Return what a unit costs in a set: one price, or the lowest as "from"; "" where any variant has none."""
    told = [unit_price(one.prices.price, one.pieces, rule) for one in variants] if rule else []
    known = [one for one in told if one is not None]
    if not known or len(known) < len(told) or len({one.unit for one in known}) > 1:
        return ""
    lowest = min(known, key=lambda one: one.amount)
    text = unit_price_text(words, lowest)
    return text if all(one == lowest for one in known) else fill(words.sentences.from_price, price=text)


def _money(words: Words, told: UnitPrice) -> str:
    digits = len(f"{told.amount:f}".partition(".")[2])
    return money_digits_text(told.amount, told.currency, words.language, digits=digits)
