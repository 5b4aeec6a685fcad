"""Checks: Listings -> Problems. One rule, one function, one code; CHECKS has them all, in the order they are told."""

from dataclasses import replace
from typing import Final

from listkit.check import codes, prices, wholesale
from listkit.check.context import CheckContext, Rule
from listkit.check.thresholds import read_thresholds
from listkit.listing.listings import Listings
from listkit.problem import Problem

CHECKS: Final[dict[str, Rule]] = {
    "option-twins": codes.option_twins,
    "options-alike": codes.options_alike,
    "gtin-wrong": codes.gtin_wrong,
    "gtin-shared": codes.gtin_shared,
    "gtin-internal": codes.gtin_internal,
    "code-unsafe": codes.code_unsafe,
    "code-twice": codes.code_twice,
    "price-differs": prices.price_differs,
    "options-unlike": prices.options_unlike,
    "margin-thin": prices.margin_thin,
    "band-missed": prices.band_missed,
    "wholesale-thin": wholesale.wholesale_thin,
    "sounds-like-saving": prices.sounds_like_saving,
}


def check_listings(listings: Listings, context: CheckContext) -> list[Problem]:
    """Return the faults met while listing, then every problem of CHECKS, each once, as [checks] of the shop wants them.

    Args:
        listings: all of the shop; what is wrong with its files was told when they were read.
        context: the day; the thresholds in it are replaced by the shop's.
    """
    thresholds, problems = read_thresholds(listings.catalog.shop.settings)
    context = replace(context, thresholds=thresholds)
    found = [*listings.problems, *problems]
    for code, rule in CHECKS.items():
        if code not in thresholds.off:
            found += rule(listings, context)
    return thresholds.judged(found)
