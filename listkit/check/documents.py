"""Checks of what documents look like: the accent is read on paper, in colour and in grey."""

from collections.abc import Iterator

from listkit.check.context import CheckContext
from listkit.check.places import SHOP
from listkit.listing.listings import Listings
from listkit.problem import Place, Problem
from listkit.units.colour import WHITE, contrast, in_grey


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
