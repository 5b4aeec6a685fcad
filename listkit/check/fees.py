"""Checks of what a channel takes and what a price is made of: fees, taxes, zones, and prices of nothing."""

from collections.abc import Iterator
from decimal import ROUND_FLOOR, Decimal

from listkit.check.alike import counted, listed
from listkit.check.places import (
    CheckContext,
    item_place,
    line_codes,
    offered,
    offered_alone_too,
    offered_variants,
    set_place,
)
from listkit.compute.catalog import SetFacts
from listkit.compute.prices import net_share, tax_of
from listkit.compute.sales import net_on
from listkit.listing.listings import Listings
from listkit.model.channel import PRICE_AND_POSTAGE, Channel
from listkit.model.fields import Status
from listkit.problem import Place, Problem
from listkit.units.quantity import share_text


def zone_unknown(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A zone that no rate is for would make postage nothing, and a fee on postage needs one."""
    shop = listings.catalog.shop
    zones = tuple(dict.fromkeys(rate.zone for rate in shop.rates))
    names = listed([f'"{zone}"' for zone in zones])
    there = f"rates.csv has {names}." if zones else "There is no rates.csv with rates."
    for channel in shop.channels:
        if channel.zone is not None and channel.zone not in zones and not shop.left_out.rates:
            message = f'{channel.name} sends to the zone "{channel.zone}", for which there is no rate.'
            yield Problem(_place(channel, "zone"), "zone-unknown", message, there)
        elif channel.zone is None and channel.fee_on == PRICE_AND_POSTAGE:
            message = f"{channel.name} takes its fee of postage too, and does not say where it sends to."
            hint = f'Write its zone as in zone = "home". {there}'
            yield Problem(_place(channel, "fee_on"), "zone-unknown", message, hint)


def fee_above_price(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Fee and tax that leave nothing of a price, or a minimum fee that a price does not reach; once a channel."""
    usual = listings.catalog.shop.settings.prices.tax
    for channel, shown in listings.by_channel():
        nets = [net_on(channel, offer.variant) for each in shown for offer in each.offers] or [
            net_share(usual if channel.tax is None else channel.tax)
        ]
        most = min(net.of(Decimal(1)) for net in nets)
        if channel.fee >= most:
            within = (1 - most).quantize(Decimal("0.0001"))
            message = (
                f"{channel.name} takes {share_text(channel.fee)} of a price, and {share_text(within)} of it is tax: "
                "nothing is left."
            )
            hint = f"Write a fee below {share_text(most.quantize(Decimal('0.001'), ROUND_FLOOR))}."
            yield Problem(_place(channel, "fee"), "fee-above-price", message, hint)
        least = channel.minimum_fee
        cheap = [] if least is None else [offer for each in shown for offer in each.offers if offer.price <= least]
        if least is not None and cheap:
            offer = min(cheap, key=lambda offer: offer.price.amount)
            more = f", and so it is for {counted(len(cheap) - 1, 'other variant')}" if len(cheap) > 1 else ""
            message = f"the minimum fee of {least} is no less than {offer.variant.code} costs, {offer.price}{more}."
            hint = f"Write a minimum fee below {offer.price}, or do not sell it on {channel.name}."
            yield Problem(_place(channel, "minimum_fee"), "fee-above-price", message, hint)


def price_nothing(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Nothing is sold for nothing; once a set, and for each item that shops may order."""
    catalog = listings.catalog
    for facts in offered_alone_too(catalog):
        free = [variant for variant in offered_variants(facts) if not variant.prices.price.amount]
        if free:
            more = f" ({len(free)} of {len(facts.variants)} variants)" if len(free) > 1 else ""
            message = f"{free[0].code} would be sold for {free[0].price}{more}."
            hint = "Write what its items cost, or an uplift; or close it."
            hint = "Write its retail price, or take it out of [singles]." if facts.is_single else hint
            yield Problem(set_place(facts, "contents"), "price-nothing", message, hint)
    lines = line_codes(catalog)
    for item in catalog.shop.items:
        if item.code in lines and item.status is not Status.CLOSED and not item.retail.amount:
            message = f"{item.code} is on the line sheet, and costs {item.retail}."
            hint = "Write its retail price, or take it off the sheet."
            yield Problem(item_place(catalog.shop, item, "retail"), "price-nothing", message, hint)


def tax_split(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A set of goods of several rates, whose tax is split by the prices of its items; once a set."""
    tax = listings.catalog.shop.settings.prices.tax
    for facts in offered(listings.catalog):
        rates = _rates(facts, tax)
        if len(rates) > 1:
            message = (
                f"{facts.name} holds goods of {listed([share_text(rate) for rate in rates])} tax; "
                "the tax in its price is split by the prices of its items."
            )
            hint = "Some rules tax a whole set at one rate: check yours, and ask a licensed professional."
            yield Problem(set_place(facts, "contents"), "tax-split", message, hint)


def _rates(facts: SetFacts, tax: Decimal) -> tuple[Decimal, ...]:
    """Return the rates of the first variant that has several, from high to low; else those of the first."""
    mixes = [{tax_of(piece.item, tax) for piece in variant.pieces} for variant in offered_variants(facts)]
    mixed = next((rates for rates in mixes if len(rates) > 1), mixes[0] if mixes else set())
    return tuple(sorted(mixed, reverse=True))


def _place(channel: Channel, key: str) -> Place:
    return channel.place(key)
