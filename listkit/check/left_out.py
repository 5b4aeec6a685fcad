"""Checks of sets that cannot be computed: one doubtful code hides nothing of what their texts and photos say.

A set whose item or box cannot be read is left out, and none of its figures is known. What it says and shows of itself
is looked at all the same, so that its owner need not mend it in two rounds.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Final

from listkit.check import check_listings
from listkit.check.places import CheckContext
from listkit.compute.build import build_catalog
from listkit.listing.build import build_listings
from listkit.listing.listings import OnDay
from listkit.model.shop import Shop
from listkit.problem import Problem

_OF_TEXTS: Final = frozenset(
    {
        *("title-loud", "title-long", "keyword-twins", "keyword-long", "keywords-many", "alt-twice", "unwritten"),
        *("season-word", "date-passed", "season-over", "season-not-yet", "claim-medicine", "claim-evidence"),
        *("claim-reword", "photo-small", "photo-twice", "photo-dark", "photo-blurred", "photo-shows-another"),
        *("photos-many", "crop-tight", "option-twins", "options-alike"),
        *("letter-unseen", "gtin-wrong", "gtin-internal", "code-unsafe"),
    }
)
"""Rules about what a set says and shows of itself, which hold whatever else is wrong with it."""


def of_sets_left_out(shop: Shop, context: CheckContext, known: Iterable[Problem]) -> Iterator[Problem]:
    """Yield what is wrong with texts and photos of sets that are left out, less what was told of others already."""
    if not shop.reduced:
        return
    there = {(problem.code, problem.place) for problem in known}
    folders = tuple(f"sets/{folder.folder}/" for folder in shop.reduced)
    alone = replace(shop, sets=shop.reduced, reduced=(), singles=(), wholesale=None)
    listings = build_listings(build_catalog(alone), OnDay(context.today))
    for problem in check_listings(listings, context):
        own = problem.place.file.startswith(folders) or problem.code.startswith("season-")
        if own and problem.code in _OF_TEXTS and (problem.code, problem.place) not in there:
            yield problem
