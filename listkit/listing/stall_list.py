"""The printed price list of a channel in words: a line a variant, as its price-list.csv has them, with short names."""

from dataclasses import dataclass

from listkit.listing.listings import Listing
from listkit.listing.print_words import SheetWords, print_words
from listkit.listing.sheet import contact_of
from listkit.model.shop import Shop
from listkit.units.spoken import money_text


@dataclass(frozen=True, slots=True)
class PriceLine:
    """What one variant is called and costs; `more` is what was chosen."""

    code: str
    name: str
    more: str
    price: str


@dataclass(frozen=True, slots=True)
class StallList:
    """The list of one channel, called by the channel's name; `contact` is how the shop is reached."""

    title: str
    language: str
    currency: str
    words: SheetWords
    lines: tuple[PriceLine, ...]
    contact: tuple[str, ...]


def stall_list(listings: tuple[Listing, ...], shop: Shop) -> StallList | None:
    """Return the list of a channel's listings; None where there are none, or no words, which is told."""
    language = listings[0].language if listings else ""
    words = print_words(shop.templates, language)[0] if listings else None
    if words is None:
        return None
    currency = listings[0].currency
    lines = tuple(
        PriceLine(
            offer.variant.code,
            listing.facts.name,
            ", ".join(offer.choices),
            money_text(offer.price.amount, currency, language),
        )
        for listing in listings
        for offer in listing.offers
    )
    return StallList(
        title=listings[0].channel.name,
        language=language,
        currency=currency,
        words=words.sheet,
        lines=lines,
        contact=contact_of(shop),
    )
