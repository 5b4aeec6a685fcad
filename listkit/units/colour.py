"""Colours as #rrggbb, and how well one is read on another.

Relative luminance and contrast ratio: Web Content Accessibility Guidelines 2.2, definitions. The curve is that of
IEC 61966-2-1 (sRGB). Floating point will do here: a ratio is compared with 3 or 4.5, never added up.
"""

from typing import Final

WHITE: Final = "#ffffff"
BLACK: Final = "#000000"


def luminance(colour: str) -> float:
    """Return the relative luminance of "#rrggbb", from 0 for black to 1 for white."""
    red, green, blue = (_linear(int(colour[at : at + 2], 16) / 255) for at in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(first: str, second: str) -> float:
    """Return the contrast ratio of two colours, from 1 to 21, whichever is the lighter."""
    darker, lighter = sorted((luminance(first), luminance(second)))
    return (lighter + 0.05) / (darker + 0.05)


def in_grey(colour: str) -> str:
    """Return what a printer without colour makes of it: Rec. 601 luma of the encoded levels (0.299, 0.587, 0.114)."""
    red, green, blue = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    level = (299 * red + 587 * green + 114 * blue + 500) // 1000
    return f"#{level:02x}{level:02x}{level:02x}"


def _linear(encoded: float) -> float:
    return encoded / 12.92 if encoded <= 0.04045 else ((encoded + 0.055) / 1.055) ** 2.4
