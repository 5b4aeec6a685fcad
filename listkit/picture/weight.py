"""The quality that brings a picture under a weight, found with the fewest encodings.

The first guess is the quality wanted, so a crop that is light enough is encoded once. The next ones follow how the
weight of photographs usually runs with quality, bent to what was found so far; most end at the second or third.
"""

from collections.abc import Callable
from itertools import pairwise
from math import log

LOWEST_QUALITY = 40  # below it edges show blocks; a crop that is still too heavy is told when it is verified
NEAR_ENOUGH = 0.92  # a crop that uses this share of the weight allowed is not tried again
MOST_TRIES = 5

TYPICAL = (
    (30, 0.354), (40, 0.422), (50, 0.49), (60, 0.56), (70, 0.671), (80, 0.846), (85, 1.0), (90, 1.275), (95, 1.886),
)  # fmt: skip
"""Quality and weight of a photograph as JPEG, 1 at quality 85: the geometric mean over the demo shop's photos."""


def best_within(write: Callable[[int], bytes], ceiling: int, limit: int) -> bytes:
    """Return what `write` gives for about the best quality from LOWEST_QUALITY to `ceiling` within `limit` bytes.

    Where even the lowest quality is too heavy its bytes are returned: whoever verifies them says so.
    """
    floor = min(LOWEST_QUALITY, ceiling)
    tried = {ceiling: write(ceiling)}
    fits, heavy = floor - 1, ceiling  # the best known to fit, or hoped to, and the least known not to
    while len(tried[heavy]) > limit and heavy - fits > 1 and len(tried) < MOST_TRIES:
        leap = fits < floor and len(tried) > 1  # the guess went wrong before: noise makes weights jump
        least = (fits + heavy) // 2 if leap else fits + 1
        quality = min(heavy - 1, max(least, _guess({q: len(content) for q, content in tried.items()}, limit)))
        tried[quality] = write(quality)
        if len(tried[quality]) > limit:
            heavy = quality
        elif len(tried[quality]) >= limit * NEAR_ENOUGH:
            return tried[quality]
        else:
            fits = quality
    light = [quality for quality, content in tried.items() if len(content) <= limit]
    if light:
        return tried[max(light)]
    return tried[floor] if floor in tried else write(floor)


def _guess(weights: dict[int, int], limit: int) -> int:
    """Return the quality whose weight should be just under `limit`.

    The usual course of weights is bent to go through the tries on both sides of the limit, or the nearest one.
    """
    aim = log(limit * (1 + NEAR_ENOUGH) / 2)
    beyond = {quality: log(weight) - log(_typical(quality)) for quality, weight in weights.items()}
    light = max((quality for quality, weight in weights.items() if weight <= limit), default=min(weights))
    heavy = min((quality for quality in weights if quality > light), default=light)
    tilt = (beyond[heavy] - beyond[light]) / (heavy - light) if heavy > light else 0.0
    expected = {q: log(_typical(q)) + beyond[light] + tilt * (q - light) for q in range(1, heavy)}
    return max((quality for quality, weight in expected.items() if weight <= aim), default=1)


def _typical(quality: int) -> float:
    """Return the typical weight on straight lines between the measured points, and beyond them as at the ends."""
    for (low, light), (high, heavy) in pairwise(TYPICAL):
        if low <= quality <= high:
            return light + (heavy - light) * (quality - low) / (high - low)
    return TYPICAL[0][1] if quality < TYPICAL[0][0] else TYPICAL[-1][1]
