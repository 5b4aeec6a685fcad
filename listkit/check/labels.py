"""Checks of labels and price cards: whether they lie on their sheet, fit their box and hold their text; their words.

What a label holds is an estimate here; the page is the judge when the label is made.
"""

from collections.abc import Iterator
from decimal import Decimal
from math import ceil
from typing import Final

from listkit.check.alike import listed
from listkit.check.places import SHOP, CheckContext, offered
from listkit.compute.labels import misfits
from listkit.listing.label_fit import shorts_of
from listkit.listing.listings import Listings
from listkit.listing.papers import papers_of
from listkit.listing.print_words import voice_in
from listkit.model.labels import Face, Laid
from listkit.model.packaging import GiftBox
from listkit.model.settings import Settings
from listkit.problem import Place, Problem
from listkit.units.colour import WHITE, contrast, in_grey

_MOST_TOLD: Final = 4


def _laid(settings: Settings) -> Iterator[tuple[str, Laid]]:
    if settings.labels:
        yield "labels", settings.labels
    if settings.cards:
        yield "cards", settings.cards


def label_sheet(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Labels and cards lie on their sheet, and none upon another."""
    for what, laid in _laid(listings.catalog.shop.settings):
        for one in misfits(laid, what):
            yield Problem(Place(SHOP, key=(what, one.key)), "label-sheet", one.message, one.hint)


def label_large(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """No box is smaller than the label that goes on it; told once a box, at the largest side that it has."""
    labels = listings.catalog.shop.settings.labels
    if labels is None:
        return
    boxes = {facts.box.code: facts.box for facts in offered(listings.catalog) if facts.box}
    small = [box for box in boxes.values() if not _goes_on(labels.size, box)]
    if small:
        size = f"{_plain(labels.size.width)} x {_plain(labels.size.height)} mm"
        told = listed([f"{box.code} ({' x '.join(_plain(side) for side in _sides(box))} mm)" for box in small])
        message = f"a label of {size} is larger than any side of box {told}."
        hint = "Take a smaller one, with two faces (faces = 2) where one cannot hold the text; larger ones are folded."
        yield Problem(Place(SHOP, key=("labels", "size")), "label-large", message, hint)


def label_tight(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A label holds its text in the smallest type that is allowed; told once, the worst labels first."""
    paper = papers_of(listings).labels
    shorts = sorted(shorts_of(paper), key=lambda short: -short.missing) if paper else []
    if paper is None or not shorts:
        return
    size = paper.labels.size
    label = f"a label of {_plain(size.width)} x {_plain(size.height)} mm"
    told = [f"{one.code} is about {ceil(one.missing)} mm short of {one.side}" for one in shorts[:_MOST_TOLD]]
    more = f"; and {len(shorts) - _MOST_TOLD} more" if len(shorts) > _MOST_TOLD else ""
    message = f"{label} may not hold its text in the smallest type allowed: {'; '.join(told)}{more}."
    faces = "two faces (faces = 2) " if paper.labels.faces == 1 else ""
    hint = f"Take a larger one, {faces}or fewer words; when it is made the page measures it."
    yield Problem(Place(SHOP, key=("labels", "size")), "label-tight", message, hint)


def _goes_on(size: Face, box: GiftBox) -> bool:
    long, short = _sides(box)
    return max(size.width, size.height) <= long and min(size.width, size.height) <= short


def _sides(box: GiftBox) -> tuple[Decimal, Decimal]:
    """Return the sides of a box's largest face, the longer first."""
    long, short, _ = sorted((box.outside or box.inside).sides, reverse=True)
    return long, short


def _plain(length: Decimal) -> str:
    return f"{length.normalize():f}"


def label_words(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Every language of the labels has its words and cautions, cards are in the shop's own; their channel is there."""
    shop = listings.catalog.shop
    labels, cards, told = shop.settings.labels, shop.settings.cards, set(listings.problems)
    languages = dict.fromkeys((labels.languages if labels else ()) or (shop.settings.language,))
    if labels or cards:
        for language in languages:
            yield from (one for one in voice_in(shop, language)[1] if one not in told)
    known = {name for channel in shop.channels for name in (channel.key, channel.name)}
    if cards and cards.channel and cards.channel not in known:
        message = f'there is no channel "{cards.channel}".'
        hint = f"Write {listed([channel.key for channel in shop.channels])}, or leave it out."
        yield Problem(Place(SHOP, key=("cards", "channel")), "unknown-code", message, hint)


# Checks of what documents look like: the accent is read on paper, in colour and in grey.


def accent_faint(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Headings and rules in the accent are read on white paper, printed in colour or in grey."""
    accent = listings.catalog.shop.settings.accent
    least = float(context.thresholds["accent-faint"])
    in_colour, grey = contrast(accent, WHITE), contrast(in_grey(accent), WHITE)
    if min(in_colour, grey) < least:
        where = "on white" if in_colour <= grey else "printed in grey"
        message = f"the accent {accent} has a contrast of {min(in_colour, grey):.1f} to 1 {where}."
        hint = f"Take a darker one: from {least:g} to 1 on it is read well."
        yield Problem(Place(SHOP, key=("accent",)), "accent-faint", message, hint)
