"""Checks that the lines which a new set leaves to its owner are written: the theme and the story."""

from collections.abc import Iterator

from listkit.check.context import CheckContext
from listkit.check.places import offered, set_place
from listkit.listing.listings import Listings
from listkit.model.to_write import TO_WRITE
from listkit.problem import Place, Problem


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
