"""Tests of what is measured in a photo."""

import hashlib
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageEnhance, ImageFilter

from listkit.model.photo import BLURRED_BELOW, DARK_BELOW, NEAR_LIKENESS, PhotoFacts, likeness_distance
from listkit.picture.encode import SRGB
from listkit.picture.facts import SHORT_SIDE, measure, median
from listkit.problem import FieldError
from tests.picture.sample import encoded, red_for_green, scene, stored, written

DEMO = Path(__file__).parents[2] / "demo_shop" / "sets"


def facts(path: Path, image: Image.Image, **settings: object) -> PhotoFacts:
    return measure(written(path / "photo.jpg", encoded(image, "JPEG", **{"quality": 92, **settings})))


def test_size_hash_and_profile_are_those_of_the_file(tmp_path: Path) -> None:
    pixels, exif = stored(scene((640, 480)), 8)
    content = encoded(pixels, "JPEG", exif=exif, icc_profile=SRGB)
    found = measure(written(tmp_path / "photo.jpg", content))
    assert (found.width, found.height, found.orientation) == (640, 480, 8)
    assert found.sha256 == hashlib.sha256(content).hexdigest()
    assert (found.format, found.mode, found.profile, found.frames) == ("jpeg", "colour", "sRGB", 1)


def test_a_missing_profile_and_a_grey_picture_are_told(tmp_path: Path) -> None:
    assert facts(tmp_path, scene()).profile == "untagged"
    assert facts(tmp_path, scene().convert("L")).mode == "grey"
    assert facts(tmp_path, scene(), icc_profile=b"scrap").profile == "unreadable"


def test_colours_are_measured_through_the_profile(tmp_path: Path) -> None:
    red = Image.new("RGB", (64, 64), "#c80000")
    assert facts(tmp_path, red, quality=100, subsampling=0).ground.startswith("#c8")
    assert facts(tmp_path, red, quality=100, subsampling=0, icc_profile=red_for_green()).ground[3:5] == "c8"


@pytest.mark.parametrize(("grey", "share"), [(0, "0.000"), (118, "0.496"), (119, "0.500"), (255, "1.000")])
def test_brightness_is_cie_lightness(grey: int, share: str, tmp_path: Path) -> None:
    """CIE 15 with IEC 61966-2-1: grey 119 has L* 50.03, grey 118 (18 % of the light) 49.6."""
    found = measure(written(tmp_path / "grey.png", encoded(Image.new("L", (50, 50), grey), "PNG")))
    assert abs(found.brightness - Decimal(share)) <= Decimal("0.003")


def test_sharpness_follows_the_published_blur_metric(tmp_path: Path) -> None:
    """Crete et al., "The blur effect", 2007, as scikit-image has it: our figure is 1 minus theirs, in 8 bits."""
    measures = pytest.importorskip("skimage.measure", reason="scikit-image is not installed")
    for radius in (0.0, 0.8, 1.5, 3.0, 6.0):
        image = scene((640, SHORT_SIDE)).filter(ImageFilter.GaussianBlur(radius)).convert("L")
        ours = measure(written(tmp_path / "photo.png", encoded(image, "PNG"))).sharpness
        assert float(ours) == pytest.approx(1 - measures.blur_effect(np.asarray(image), h_size=11), abs=0.04)


@pytest.mark.parametrize("mode", ["L", "RGB"])
@pytest.mark.parametrize("size", [(1, 1), (1, 3), (2, 1), (3, 3), (18, 270), (360, 270)])
def test_the_median_is_the_library_s(mode: str, size: tuple[int, int]) -> None:
    """Pillow's MedianFilter, which sorts the nine pixels around each."""
    noise = np.random.default_rng(3).integers(0, 256, (size[1], size[0], 3), np.uint8)
    image = Image.fromarray(noise).convert(mode)
    assert median(image).tobytes() == image.filter(ImageFilter.MedianFilter(3)).tobytes()


def test_a_blurred_and_a_dim_copy_fall_below_their_thresholds_and_the_demo_photos_do_not(tmp_path: Path) -> None:
    for path in sorted(DEMO.glob("*/photos/*.jpg"))[::9]:
        with Image.open(path) as photo:
            photo.load()
        sound = measure(path)
        assert sound.sharpness >= BLURRED_BELOW
        assert sound.brightness >= DARK_BELOW
        assert facts(tmp_path, photo.filter(ImageFilter.GaussianBlur(min(photo.size) / 150))).sharpness < BLURRED_BELOW
        assert facts(tmp_path, ImageEnhance.Brightness(photo).enhance(0.3)).brightness < DARK_BELOW


def test_copies_look_alike_and_another_label_on_the_same_jar_does_not(tmp_path: Path) -> None:
    jars = [measure(path) for path in sorted((DEMO / "first-nectar" / "photos").glob("jar-*.jpg"))]
    assert len(jars) == 3
    for one in range(3):
        for other in range(one):
            assert likeness_distance(jars[one].likeness, jars[other].likeness) > NEAR_LIKENESS
    with Image.open(DEMO / "first-nectar" / "photos" / "jar-linden-oat.jpg") as photo:
        photo.load()
    copies = [photo.reduce(2), photo.reduce(5), photo.filter(ImageFilter.GaussianBlur(2)),
              ImageEnhance.Contrast(photo).enhance(1.1), ImageEnhance.Brightness(photo).enhance(0.9)]  # fmt: skip
    for number, copy in enumerate(copies):
        found = facts(tmp_path, copy, quality=60)
        assert likeness_distance(jars[2].likeness, found.likeness) <= NEAR_LIKENESS, number


def test_a_turned_copy_has_the_facts_of_the_upright_one(tmp_path: Path) -> None:
    upright = measure(written(tmp_path / "photo.png", encoded(scene((360, 270)), "PNG")))
    for orientation in range(2, 9):
        pixels, exif = stored(scene((360, 270)), orientation)
        turned = measure(written(tmp_path / "photo.png", encoded(pixels, "PNG", exif=exif)))
        assert turned == replace(upright, orientation=orientation, sha256=turned.sha256)


def test_transparent_pictures_are_measured_on_white(tmp_path: Path) -> None:
    picture = Image.new("RGBA", (200, 200), (0, 0, 0, 0))
    picture.paste((120, 40, 40, 255), (60, 60, 140, 140))
    found = measure(written(tmp_path / "jar.png", encoded(picture, "PNG")))
    assert (found.ground, found.plain) == ("#ffffff", True)


@pytest.mark.parametrize("size", [(1, 1), (2, 300), (300, 1)])
def test_hardly_any_pixels_are_measured_too(size: tuple[int, int], tmp_path: Path) -> None:
    found = measure(written(tmp_path / "dot.png", encoded(Image.new("RGB", size, "#808080"), "PNG")))
    assert (found.width, found.height) == size


def test_what_is_no_picture_raises_in_the_owners_words(tmp_path: Path) -> None:
    with pytest.raises(FieldError, match=r"not a picture that can be opened, though its name ends in \.jpg"):
        measure(written(tmp_path / "note.jpg", b"to do: take the photo"))
    with pytest.raises(FieldError, match="no longer there"):
        measure(tmp_path / "gone.jpg")
