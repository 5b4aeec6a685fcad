"""Tests of finding the subject where the owner states no focus box."""

import sys
import tomllib
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFilter

from listkit.model.photo import WHOLE, FocusBox
from listkit.picture.facts import AIR, find_subject
from tests.shops import demo_photos

DEMO = Path(__file__).parents[2] / "demo_shop" / "sets"
FRAMES = [
    (path.parent / "photos" / photo["file"], FocusBox(*(Decimal(side) for side in photo["focus"])))
    for path in sorted(DEMO.glob("*/set.toml"))
    for photo in tomllib.loads(path.read_text(encoding="utf-8"), parse_float=Decimal).get("photos", [])
    if "focus" in photo
]


def jar_on(ground: Image.Image, box: tuple[int, int, int, int]) -> Image.Image:
    picture = ground.copy()
    ImageDraw.Draw(picture).rounded_rectangle(box, 12, fill="#7a5c1e", outline="#3a2c0e", width=4)
    return picture


def near(found: FocusBox, box: tuple[int, int, int, int], size: tuple[int, int]) -> bool:
    """Whether the found box is the given one with its air, to within 2 % of the picture."""
    air = AIR * max(box[2] - box[0], box[3] - box[1])
    wanted = ((box[0] - air) / size[0], (box[1] - air) / size[1], (box[2] + air) / size[0], (box[3] + air) / size[1])
    sides = (found.left, found.top, found.right, found.bottom)
    return all(abs(float(side) - min(1, max(0, want))) < 0.02 for side, want in zip(sides, wanted, strict=True))


def test_on_a_plain_ground_the_subject_is_what_stands_out() -> None:
    subject = find_subject(jar_on(Image.new("RGB", (360, 270), "#e8e4dc"), (200, 60, 280, 190)))
    assert subject.plain
    assert subject.ground == "#e8e4dc"
    assert near(subject.found, (200, 60, 280, 190), (360, 270))
    assert "stands out from the plain ground #e8e4dc" in subject.how


def test_light_that_falls_off_evenly_leaves_a_backdrop_plain() -> None:
    shade = Image.linear_gradient("L").resize((360, 270)).point([180 + level // 4 for level in range(256)])
    subject = find_subject(jar_on(Image.merge("RGB", (shade, shade, shade)), (40, 120, 130, 220)))
    assert subject.plain
    assert near(subject.found, (40, 120, 130, 220), (360, 270))


def test_specks_and_a_soft_noise_do_not_widen_the_box() -> None:
    picture = jar_on(Image.new("RGB", (360, 270), "#d8d8d8"), (120, 80, 230, 200))
    levels = np.asarray(picture, float) + np.random.default_rng(3).normal(0, 3, (270, 360, 3))
    speckled = Image.fromarray(levels.round().clip(0, 255).astype(np.uint8))
    speckled.putpixel((10, 10), (0, 0, 0))
    assert near(find_subject(speckled).found, (120, 80, 230, 200), (360, 270))


def test_without_a_plain_ground_the_region_of_most_detail_is_found() -> None:
    """Blurred colours behind, a patch of fine pattern before them: the patch is found wherever it lies."""
    noise = np.random.default_rng(8).integers(0, 255, (9, 12, 3), np.uint8)
    behind = Image.fromarray(noise).resize((360, 270), Image.Resampling.BICUBIC).filter(ImageFilter.GaussianBlur(9))
    pattern = np.kron(np.indices((27, 30)).sum(0) % 2 * 200, np.ones((3, 3))).astype(np.uint8)
    for left, top in ((60, 60), (190, 120), (200, 50)):
        picture = behind.copy()
        picture.paste(Image.fromarray(pattern).convert("RGB"), (left, top))
        subject = find_subject(picture)
        assert not subject.plain
        box = subject.found
        middle = float(box.left + box.right) / 2, float(box.top + box.bottom) / 2
        assert middle == pytest.approx(((left + 45) / 360, (top + 40) / 270), abs=0.08)
        assert "detail" in subject.how


@pytest.mark.parametrize("size", [(1, 1), (3, 2), (40, 1), (360, 270)])
def test_a_picture_of_one_colour_or_hardly_any_pixels_is_taken_whole(size: tuple[int, int]) -> None:
    assert find_subject(Image.new("RGB", size, "#123456")).found == WHOLE


def test_the_same_pixels_give_the_same_box() -> None:
    picture = jar_on(Image.new("RGB", (300, 200), "#ccbbaa"), (20, 20, 90, 100))
    assert find_subject(picture) == find_subject(picture.copy())


def covered(stated: FocusBox, found: FocusBox) -> Decimal:
    """Return the share of a stated box that lies inside what was found."""
    wide = min(stated.right, found.right) - max(stated.left, found.left)
    high = min(stated.bottom, found.bottom) - max(stated.top, found.top)
    return max(wide, Decimal(0)) * max(high, Decimal(0)) / stated.area


@pytest.mark.skipif(not FRAMES, reason="the demo shop states no focus boxes")
def test_the_stated_focus_boxes_of_the_demo_shop_are_covered_frame_by_frame(capsys: pytest.CaptureFixture[str]) -> None:
    """With the stated boxes left out the found box holds at least 95 % of each, and is not simply the whole picture."""
    lines, short, areas = [], [], []
    for path, stated in FRAMES:
        facts = demo_photos().facts(DEMO.parent, path.relative_to(DEMO.parent).as_posix())
        share = covered(stated, facts.found)
        name = f"{path.parents[1].name}/{path.name}"
        lines.append(f"{name:48} {share:6.1%} of the stated box, found {facts.found.area:4.0%} of the picture")
        areas.append(facts.found.area)
        if share < Decimal("0.95"):
            short.append(lines[-1])
    lines.append(f"{len(FRAMES)} frames; the found boxes hold {sum(areas) / len(areas):.0%} of the picture on average")
    with capsys.disabled():
        sys.stdout.write("\n" + "\n".join(lines) + "\n")
    assert short == []
    assert sum(areas) / len(areas) < Decimal("0.8")
