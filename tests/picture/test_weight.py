"""Tests of finding the quality that brings a picture under a weight."""

from collections.abc import Callable
from math import exp
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from listkit.picture.encode import LOWEST_QUALITY, MOST_TRIES, NEAR_ENOUGH, best_within
from tests.picture.sample import encoded

DEMO = Path(__file__).parents[2] / "demo_shop" / "sets" / "first-nectar" / "photos" / "group.jpg"


def counted(weigh: Callable[[int], int]) -> tuple[Callable[[int], bytes], list[int]]:
    tries: list[int] = []

    def write(quality: int) -> bytes:
        tries.append(quality)
        return quality.to_bytes() * weigh(quality)

    return write, tries


def test_a_picture_that_is_light_enough_is_encoded_once() -> None:
    write, tries = counted(lambda quality: 10 * quality)
    assert best_within(write, 85, 850)[0] == 85
    assert tries == [85]


def test_a_picture_that_stays_too_heavy_is_given_at_the_lowest_quality() -> None:
    write, tries = counted(lambda quality: 10_000 + quality)
    assert best_within(write, 85, 100)[0] == LOWEST_QUALITY
    assert len(tries) <= 3


@given(steep=st.floats(0.005, 0.08), limit=st.integers(200, 20_000), ceiling=st.integers(45, 95))
def test_the_limit_is_kept_wherever_it_can_be_within_few_tries(steep: float, limit: int, ceiling: int) -> None:
    write, tries = counted(lambda quality: round(200 * exp(steep * quality)))
    content = best_within(write, ceiling, limit)
    lightest = round(200 * exp(steep * LOWEST_QUALITY))
    assert len(content) <= limit or len(content) == lightest
    assert len(tries) <= MOST_TRIES + 1
    assert len(tries) == len(set(tries))


@pytest.mark.parametrize("share", [0.9, 0.7, 0.5])
@pytest.mark.parametrize(("kind", "tries"), [("JPEG", 3), ("WEBP", MOST_TRIES)])
def test_a_real_picture_comes_close_under_its_limit_in_few_encodings(share: float, kind: str, tries: int) -> None:
    weights: dict[int, int] = {}
    with Image.open(DEMO) as photo:
        picture = photo.reduce(4)

    def write(quality: int) -> bytes:
        content = encoded(picture, kind, quality=quality, optimize=True)
        weights[quality] = len(content)
        return content

    limit = round(len(write(90)) * share)
    weights.clear()
    content = best_within(write, 90, limit)
    assert len(weights) <= tries
    best = max(quality for quality, weight in weights.items() if weight <= limit)
    assert len(content) == weights[best]
    assert len(content) >= limit * NEAR_ENOUGH or len(write(best + 1)) > limit
