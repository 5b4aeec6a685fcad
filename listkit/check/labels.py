"""Checks of what an outside label must say and where: who answers for the goods, and what is inside, in which measure.

They remind: the rules in force where the goods are sold decide, and where it matters a licensed professional.
"""

import re
from collections.abc import Iterator
from decimal import Decimal
from math import ceil
from typing import Final

from listkit.check.alike import listed
from listkit.check.cautions import on_sale
from listkit.check.places import SHOP, CheckContext, item_place
from listkit.compute.allergens import EUROPE, NORTHERN_IRELAND
from listkit.compute.cautions import is_for_the_skin
from listkit.listing.label_fit import contents_reach
from listkit.listing.listings import Listings
from listkit.listing.papers import papers_of
from listkit.model.item import Item
from listkit.model.labels import Labels
from listkit.model.packaging import GiftBox
from listkit.model.shop import Shop
from listkit.problem import Place, Problem
from listkit.units.net import Measure

_SHOWN: Final = 4
"""Codes that a message names; the others are counted."""
# Five digits behind a state, or at the end of a line or the address; before a street they are the number of a house.
_ZIP: Final = re.compile(
    r"(?:(?<=[A-Za-z.] )|(?<![\w-])(?=\d{5}(?:-\d{4})?[\s,.]*(?:$|U\.?S|United)))\d{5}(?:-\d{4})?(?![\w-])",
    re.MULTILINE,
)
_UNION: Final = EUROPE - {"CH"}


def maker_unstated(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Once each, where labels are made: no address, none in the Union or the United Kingdom, no ZIP code.

    Where texts are made for the Union, once: what online offers show of the maker and is not stated.
    """
    shop = listings.catalog.shop
    settings, place = shop.settings, Place(SHOP, key=("address",))
    yield from _offered(shop)
    if not papers_of(listings).labels:
        return
    if not settings.address.strip():
        message = f"labels name {settings.name} and no address: buyers and, for cosmetics, the law ask who answers "
        message += "for the goods, and where."
        yield Problem(place, "maker-unstated", message, "Write name and postal address.")
        return
    if settings.country == "US" and not _ZIP.search(settings.address):
        message = f'the address "{settings.address}" has no ZIP code, and in the United States a label names street, '
        message += "city, state and ZIP code (21 CFR 701.12)."
        yield Problem(place, "maker-unstated", message, "Write it behind the state.")
    if any(is_for_the_skin(item) for item in on_sale(shop)):
        yield from _abroad(shop, place)


def _offered(shop: Shop) -> Iterator[Problem]:
    """Yield what offers of an online place in the Union or Northern Ireland show of the maker and nobody states."""
    settings, own = shop.settings, (shop.settings.country, shop.settings.region or "")
    sold = {
        (channel.country, channel.region or "") if channel.country else own
        for channel in shop.channels
        if "listings" in channel.make or channel.listing_address
    }
    there = sorted({at for at, region in sold if _in_union(at, region)})
    stated = {"address": ("postal address", settings.address), "email": ("e-mail address", settings.email)}
    missing = {key: what for key, (what, text) in stated.items() if not text.strip()}
    if there and missing:
        message = f"offers online to {listed(there)} show the maker's name, postal and e-mail address "
        message += (
            f"(Regulation (EU) 2023/988, Article 19(a), from memory), and there is no {listed([*missing.values()])}."
        )
        hint = (
            f"Write {listed([*missing])} into shop.toml, and see that the place shows both beside each offer; whoever "
        )
        hint += "sells from outside names who answers for the goods there too."
        yield Problem(Place(SHOP, key=(next(iter(missing)),)), "maker-unstated", message, hint)


def _abroad(shop: Shop, place: Place) -> Iterator[Problem]:
    """Yield where cosmetics are sold that have nobody there who answers for them."""
    settings = shop.settings
    own = (settings.country, settings.region or "")
    sold = {(channel.country, channel.region or "") for channel in shop.channels if channel.country} - {own}
    if not _in_union(*own) and (there := sorted({at for at, region in sold if _in_union(at, region)})):
        yield _nobody(there, "the Union (Northern Ireland with it)", "Regulation (EC) 1223/2009", place)
    if own[0] != "GB" and any(at == "GB" and not _in_union(at, region) for at, region in sold):
        yield _nobody(["GB"], "the United Kingdom", "Regulation (EC) 1223/2009 as the United Kingdom keeps it", place)


def _in_union(country: str, region: str) -> bool:
    return country in _UNION or (country, region) == ("GB", NORTHERN_IRELAND)


def _nobody(countries: list[str], where: str, law: str, place: Place) -> Problem:
    message = (
        f"cosmetics are sold to {listed(countries)}, and labels name nobody in {where}: there a responsible person "
    )
    message += f"answers for them, whose name and address the label has ({law}, Articles 4 and 19(1)(a))."
    hint = (
        "Write that name and address behind your own; accept this where they are on each piece, or importers add them."
    )
    return Problem(place, "maker-unstated", message, hint)


_LOWEST: Final = Decimal("0.3")
"""Of a panel, from below: where declared contents stand (21 CFR 701.13; FDA's guide, by summaries)."""


def net_high(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """In the United States contents are declared low on a panel of more than 5 square inches. Once a size of label."""
    catalog = listings.catalog
    settings, measures = catalog.shop.settings, catalog.shop.settings.measures
    boxes = {variant.code: variant.box for facts in catalog.sets for variant in facts.variants}
    for paper in papers_of(listings).labels if settings.country == "US" else ():
        high = dict[str, tuple[Decimal, Decimal]]()  # by code how far up it reaches, and how high the panel is
        for text in paper.texts:  # letters are no larger than the smallest up to 5 square inches
            reach, panel = (
                Decimal(ceil(contents_reach(text, paper.labels))),
                _panel_high(boxes[text.code], paper.labels),
            )
            if text.heights.letters > text.heights.small and reach > _LOWEST * panel:
                high[text.code] = reach, panel
        if high:
            code, (most, panel) = max(high.items(), key=lambda each: each[1][0] - _LOWEST * each[1][1])
            message = f"what {listed(list(high), _SHOWN)} declare{'s' * (len(high) == 1)} to be inside reaches up "
            message += f"{measures.length(most)} ({code}), and it belongs in the lowest 30 % of its panel, which are "
            message += f"{measures.length(_LOWEST * panel)} of {measures.length(panel)} (21 CFR 701.13)."
            hint = "Take a wider label, which needs fewer lines, or a box with a higher side, and put it at its foot."
            key: tuple[str | int, ...] = ("labels", "size")
            if paper.box:
                key = ("box_label", [own.box for own in settings.box_labels].index(paper.box), "size")
            yield Problem(Place(SHOP, key=key), "net-high", message, hint)


def _panel_high(box: GiftBox | None, labels: Labels) -> Decimal:
    """Return how high the panel of a label is: the box's largest side as the label lies on it, else the label."""
    size = labels.size
    if box is None:
        return size.height
    sides = sorted((box.outside or box.inside).sides)[1:]
    return max(size.height, sides[0] if size.width >= size.height else sides[1])


# Forms that are solid or a paste, and such as are liquid, whatever else they are; words of the trade, from memory.
_SOLID: Final = re.compile(
    r"\b(?:balms?|salves?|butters?|scrubs?|bombs?|fizz(?:es|er|ers)?|salts?|powders?|henna|candles?|wax|melts?|bars?)\b"
)
_LIQUID: Final = re.compile(  # a soap of milk or oil is not; a milk bath is a powder as often
    r"\bliquid\b|\b(?:oils?|mists?|sprays?|bubble bath|lotions?|wash|milk(?! bath)|serums?|gels?|diffusers?)\b"
    r"(?!.*\bsoap)"
)


def net_measure(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Once: what is solid is declared by weight in the United States, and what is liquid by volume."""
    shop = listings.catalog.shop
    if shop.settings.country != "US":
        return
    wrong: dict[str, Item] = {}
    for item in on_sale(shop):
        form, net = item.form.casefold(), item.net
        if net is None or bool(_SOLID.search(form)) is bool(_LIQUID.search(form)):
            continue
        if net.measure is (Measure.VOLUME if _SOLID.search(form) else Measure.MASS):
            wrong[f'"{net.text}" in {item.code} {item.form}'] = item
    if wrong:
        message = (
            f"{listed(list(wrong), _SHOWN)}: in the United States what is solid or a paste is declared by weight, "
        )
        message += "what is liquid by volume, unless the trade has another custom (21 CFR 701.13)."
        hint = "Weigh what is in one, or measure it, and write that; accept this where the custom is yours."
        first = next(iter(wrong.values()))
        yield Problem(item_place(shop, first, "net"), "net-measure", message, hint)
