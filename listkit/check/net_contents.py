"""Checks of declared net contents: a rounded figure never says more than there is."""

from collections.abc import Iterator

from listkit.check.alike import listed
from listkit.check.context import CheckContext
from listkit.check.places import SHOP
from listkit.compute.declaration import Rules, declaration_of_item
from listkit.listing.listings import Listings
from listkit.model.fields import Status
from listkit.model.item import Item
from listkit.problem import Place, Problem
from listkit.units.declared import Figure


def net_overstated(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Rounding half up overstates some items (16 CFR 500.19(b) lets a packer round down). Told once."""
    shop = listings.catalog.shop
    if shop.settings.net_contents.rounding != "half up":
        return
    countries = {shop.settings.country, *(channel.country for channel in shop.channels if channel.country)}
    orders = sorted({shop.settings.net_contents.order_in(country) for country in countries})
    raised: dict[str, str] = {}
    for item in (one for one in shop.items if one.net and one.status is not Status.CLOSED):
        for order in orders:
            for up, down in zip(_figures(item, order, "half up"), _figures(item, order, "down"), strict=True):
                if up != down:
                    raised.setdefault(item.code, f"{item.code} {_text(up)} for {_text(down)}")
    if raised:
        message = f'rounding "half up" says more than there is: {listed(list(raised.values()))}.'
        place = Place(SHOP, key=("net_contents", "rounding"))
        yield Problem(place, "net-overstated", message, 'Write "down": a declaration may never overstate.')


def _figures(item: Item, order: str, rounding: str) -> tuple[Figure, ...]:
    rules = Rules(order, "half up" if rounding == "half up" else "down")
    quantity = declaration_of_item(item, rules).groups[0].quantity
    return quantity.figures if quantity else ()


def _text(figure: Figure) -> str:
    return f"{' x '.join(f'{number:f}' for number in figure.numbers)} {figure.unit}"
