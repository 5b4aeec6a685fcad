"""Checks: Listings -> Problems. Every rule is a row of the table in check/rules.py."""

from dataclasses import replace

from listkit.check.places import CheckContext
from listkit.check.rules import RULES
from listkit.check.thresholds import read_thresholds
from listkit.listing.listings import Listings
from listkit.problem import Problem


def check_listings(listings: Listings, context: CheckContext, *, sheet: bool = True) -> list[Problem]:
    """Return what is wrong in [checks], then every problem of the rules, each once, as [checks] wants them.

    Args:
        listings: all of the shop; what was wrong with its files and templates was reported when they were read.
        context: the day; the figures in it are replaced by the shop's.
        sheet: whether the rules are asked too that speak of the line sheet alone.
    """
    thresholds, problems = read_thresholds(listings.catalog.shop.settings)
    if listings.catalog.shop.left_out.settings:  # prices, terms and texts rest on stand-ins for shop.toml
        return thresholds.judged(problems)
    context = replace(context, figures=thresholds.figures)
    found = list(problems)
    asked = (rule for rule in RULES if sheet or not rule.of_sheet)
    for check in dict.fromkeys(rule.function for rule in asked if rule.function):
        found += check(listings, context)
    return thresholds.judged(found)
