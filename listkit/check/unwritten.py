"""Checks that what a new shop or set leaves to its owner is written: theme and story, her address and her website."""

from collections.abc import Iterator
from typing import Final

from listkit.check.context import CheckContext
from listkit.check.places import offered, set_place
from listkit.listing.listings import Listings
from listkit.model.to_write import TO_WRITE
from listkit.problem import Place, Problem

STARTER_SITE: Final = "my-shop.example"
STARTER_ADDRESS: Final = "1 Lane End, Anytown"
"""What the starter has where an owner's own website and address belong."""


def unwritten(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a line. No text goes out that still asks its owner to write it."""
    for facts in offered(listings.catalog):
        if TO_WRITE in facts.source.gift_set.theme:
            hint = "Write the set in one sentence in its place: who or which hour it is for."
            yield Problem(set_place(facts, "theme"), "unwritten", "the theme is still to be written.", hint)
        for story in facts.source.stories:
            for number, line in enumerate(story.text.splitlines(), 1):
                if TO_WRITE in line:
                    hint = "Write two or three sentences in place of this line."
                    yield Problem(Place(story.file, number), "unwritten", "the story is still to be written.", hint)


def starter_left(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a file. Nobody is sent to the starter's website, and no label names its address."""
    shop = listings.catalog.shop
    if STARTER_SITE in shop.settings.website:
        message = f'"{shop.settings.website}" is the starter\'s website.'
        yield Problem(Place("shop.toml", key=("website",)), "starter-left", message, "Write your own, or take it out.")
    if STARTER_ADDRESS in shop.settings.address:
        hint = "Write who answers for the goods, and where; labels and sheets name it."
        message = "the address is still the starter's."
        yield Problem(Place("shop.toml", key=("address",)), "starter-left", message, hint)
    for channel in shop.channels:
        for name in ("photo_address", "listing_address"):
            stated = str(getattr(channel, name))
            if STARTER_SITE in stated:
                place = Place(f"channels/{channel.key}.toml", key=(name,))
                message = f'"{stated}" is the starter\'s, and buyers find nothing there.'
                yield Problem(place, "starter-left", message, "Write your own address, or take it out.")
