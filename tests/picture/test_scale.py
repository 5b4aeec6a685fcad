"""Tests of scaling: what is fast must still look like one careful step from the original."""

from collections.abc import Sequence
from decimal import Decimal

import numpy as np
import pytest
from PIL import Image, ImageChops

from listkit.compute.crops import crop_box
from listkit.model.photo import Cut, FocusBox
from listkit.picture.encode import inner_size, scaled, scaled_in_linear_light
from tests.picture.sample import photograph, scene

WHOLE = (1600, 1200)


def crops(image: Image.Image, cuts: Sequence[Cut]) -> dict[int, Image.Image]:
    return dict(scaled(image, cuts))


def one_step(image: Image.Image, cut: Cut) -> Image.Image:
    return image.resize(inner_size(cut), Image.Resampling.LANCZOS, (cut.left, cut.top, cut.right, cut.bottom))


def psnr(one: Image.Image, other: Image.Image) -> float:
    error = np.mean((np.asarray(one, float) - np.asarray(other, float)) ** 2)
    return 10 * float(np.log10(255**2 / max(float(error), 1e-9)))


FACTORS = (1.0, 1.05, 1.3, 1.39, 1.5, 1.9, 2.0, 2.1, 2.2, 2.5, 3.0, 3.3, 4.0, 4.4, 5.0, 6.0, 6.6, 8.0, 10.0, 12.0)


def test_all_crops_of_a_plan_stay_near_one_lanczos_step_from_the_original() -> None:
    """At least 40 dB PSNR, and of every third 0.99 SSIM where scikit-image is at hand, whatever level it is from."""
    picture = photograph(WHOLE)
    cuts = [crop_box(WHOLE, None, (4, 3), width=round(1600 / factor)) for factor in FACTORS]
    made = crops(picture, cuts)
    assert {place: psnr(image, one_step(picture, cuts[place])) for place, image in made.items() if
            psnr(image, one_step(picture, cuts[place])) < 40} == {}  # fmt: skip
    metrics = pytest.importorskip("skimage.metrics", reason="scikit-image is not installed: PSNR alone was compared")
    for place, image in made.items():
        if place % 3:
            continue
        one, other = np.asarray(image), np.asarray(one_step(picture, cuts[place]))
        assert metrics.structural_similarity(one, other, channel_axis=2) >= 0.99, FACTORS[place]


@pytest.mark.parametrize("factor", FACTORS)
def test_a_crop_made_alone_stays_near_one_lanczos_step_too(factor: float) -> None:
    picture = scene(WHOLE)
    cut = crop_box(WHOLE, FocusBox(*map(Decimal, ("0.5", "0.3", "0.9", "0.8"))), (4, 5), width=round(960 / factor))
    assert psnr(crops(picture, [cut])[0], one_step(picture, cut)) >= 40


def test_crops_come_with_the_finest_first_and_each_in_its_size() -> None:
    cuts = [crop_box(WHOLE, None, (1, 1), width=width) for width in (100, 1200, 400)]
    order = [(place, image.size) for place, image in scaled(scene(WHOLE), cuts)]
    assert order == [(1, (1200, 1200)), (2, (400, 400)), (0, (100, 100))]


def test_a_crop_of_the_original_scale_has_the_original_pixels() -> None:
    picture = scene(WHOLE)
    cut = crop_box(WHOLE, None, (4, 5))
    same = crops(picture, [cut, cut])
    part = picture.crop((cut.left, cut.top, cut.right, cut.bottom))
    assert all(ImageChops.difference(image, part).getbbox() is None for image in same.values())


def test_a_plain_picture_stays_plain_and_a_step_never_leaves_the_range() -> None:
    """Windows of a kernel sum to one, so a flat picture stays flat at every factor."""
    flat = Image.new("RGB", WHOLE, (200, 101, 7))
    cuts = [crop_box(WHOLE, None, (1, 1), width=width) for width in (1199, 850, 500, 333, 120, 17)]
    assert {image.getextrema() for image in crops(flat, cuts).values()} == {((200, 200), (101, 101), (7, 7))}


def test_a_subject_stays_in_its_place_whichever_level_a_crop_comes_from() -> None:
    """A white square on black: its middle, measured by its weight, must not move by a tenth of a finished pixel."""
    picture = Image.new("L", WHOLE, 0)
    picture.paste(255, (700, 460, 900, 660))
    for factor in FACTORS[4:]:
        cut = crop_box(WHOLE, None, (1, 1), width=round(1200 / factor))
        levels = np.asarray(crops(picture, [cut])[0], float)
        middle = (levels.sum(0) @ (np.arange(cut.width) + 0.5)) / levels.sum() * 1200 / cut.width + cut.left
        assert middle == pytest.approx(800, abs=factor / 10)


def test_a_crop_has_the_same_pixels_whatever_else_is_made_of_its_photo() -> None:
    cuts = [crop_box(WHOLE, None, (4, 5), width=width) for width in (900, 640, 480, 300, 200, 130, 90)]
    picture = photograph(WHOLE)
    together = crops(picture, cuts)
    for place, cut in enumerate(cuts):
        assert ImageChops.difference(crops(picture, [cut])[0], together[place]).getbbox() is None


def test_a_checker_halves_to_188_in_linear_light_and_to_128_in_levels() -> None:
    """IEC 61966-2-1: half the light of white is level 188; 128 is what comes of averaging encoded levels."""
    squares = np.indices((64, 64)).sum(0) % 2 * 255
    checker = Image.fromarray(squares.astype(np.uint8)).convert("RGB")
    linear = scaled_in_linear_light(checker, (32, 32)).crop((8, 8, 24, 24))
    assert linear.getextrema() == ((188, 188),) * 3
    ((_, levels),) = scaled(checker, [Cut(0, 0, 64, 64, 32, 32)])
    assert levels.crop((8, 8, 24, 24)).getextrema() in {((127, 127),) * 3, ((128, 128),) * 3}


def test_transparent_pixels_do_not_bleed_into_the_edge() -> None:
    """A white shape on transparent black keeps its white, since colours count by their alpha."""
    picture = Image.new("RGBA", (400, 400), (0, 0, 0, 0))
    picture.paste((255, 255, 255, 255), (100, 100, 300, 300))
    ((_, small),) = scaled(picture, [Cut(0, 0, 400, 400, 90, 90)])
    levels = np.asarray(small)
    assert levels[levels[..., 3] > 20][:, :3].min() > 240
