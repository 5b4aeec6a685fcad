"""The colour of headings and rules on paper: the owner's accent where it is read well there, else a dark grey."""

from typing import Final

from listkit.units.colour import WHITE, contrast, in_grey

LEAST: Final = 4.5  # Web Content Accessibility Guidelines 2.2, success criterion 1.4.3
DARK: Final = "#222222"


def ink_of(accent: str) -> str:
    """Return the accent when it is read on white paper in colour and printed in grey, else DARK."""
    return accent if min(contrast(accent, WHITE), contrast(in_grey(accent), WHITE)) >= LEAST else DARK
