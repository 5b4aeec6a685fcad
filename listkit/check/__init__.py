"""Checks: Listings -> Problems. Every rule is a row of the table in check/rules.py.

A set whose item or box cannot be read is left out, and few of its figures are known; one whose story has a fault has no
listing. The rules that need no more of it than is known are asked all the same, so that its owner need not mend it in
two rounds.
"""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace
from typing import Final

from listkit.check.places import CheckContext
from listkit.check.rules import RULES
from listkit.check.thresholds import read_thresholds
from listkit.compute.build import build_catalog
from listkit.listing.build import build_listings
from listkit.listing.listings import Listings, OnDay
from listkit.model.shop import Extent, Shop
from listkit.problem import Problem

_EVERY: Final = range(Extent.ALL + 1)
_FAULT: Final = "template-fault"


def check_listings(
    listings: Listings, context: CheckContext, needing: Collection[int] = _EVERY, *, sheet: bool = True
) -> list[Problem]:
    """Return what is wrong in [checks], then every problem of the rules, each once, as [checks] wants them.

    Args:
        listings: all of the shop; what was wrong with its files and templates was reported when they were read.
        context: the day; the figures in it are replaced by the shop's.
        needing: the rules that are asked, by what they need to be known of a set.
        sheet: whether those are asked too that speak of the line sheet alone.
    """
    thresholds, problems = read_thresholds(listings.catalog.shop.settings)
    context = replace(context, figures=thresholds.figures)
    found = list(problems)
    asked = (rule for rule in RULES if rule.needs in needing and (sheet or not rule.of_sheet))
    for check in dict.fromkeys(rule.function for rule in asked if rule.function):
        found += check(listings, context)
    return thresholds.judged(found)


def check_left_out(shop: Shop, context: CheckContext, known: Iterable[Problem]) -> Iterator[Problem]:
    """Yield what is wrong with sets that are left out, as far as they are known, less what is `known` of others."""
    known = tuple(known)
    there = {(problem.code, problem.place) for problem in known}
    faulty = {problem.place.file for problem in known if problem.code == _FAULT}
    unlisted = (folder for folder in shop.sets if any(story.file in faulty for story in folder.stories))
    reduced = (*shop.reduced, *(replace(folder, known=Extent.CONTENTS) for folder in unlisted))
    asked = 0
    for extent in sorted({folder.known for folder in reduced}):
        sets = tuple(folder for folder in reduced if folder.known >= extent)
        listings = _listings_of(replace(shop, sets=sets, reduced=(), singles=(), wholesale=None), context)
        for problem in (*_of_stories(listings), *check_listings(listings, context, range(asked, extent + 1))):
            if (problem.code, problem.place) not in there:
                yield problem
        asked = extent + 1


def _listings_of(shop: Shop, context: CheckContext) -> Listings:
    """Return the listings of a shop; a set whose story has a fault is listed without it."""
    listings = build_listings(build_catalog(shop), OnDay(context.today))
    faulty = {problem.place.file for problem in listings.problems if problem.code == _FAULT}
    sets = tuple(
        replace(folder, stories=()) if any(story.file in faulty for story in folder.stories) else folder
        for folder in shop.sets
    )
    return (
        listings
        if sets == shop.sets
        else replace(listings, listings=_listings_of(replace(shop, sets=sets), context).listings)
    )


def _of_stories(listings: Listings) -> Iterator[Problem]:
    """Yield the faults of stories, but not where one may only ask for a box or season that is not known."""
    stories = {story.file: story.text for folder in listings.catalog.shop.sets for story in folder.stories}
    for problem in listings.problems:
        text = stories.get(problem.place.file, "")
        if problem.code == _FAULT and text and not any(name in text for name in ("box", "season")):
            yield problem
