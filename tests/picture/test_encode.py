"""Tests of the crops that are written: pixels, formats, weight, metadata, and any executor."""

import json
import random
import shutil
import subprocess
from collections.abc import Callable
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from decimal import Decimal
from functools import partial
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageChops, JpegImagePlugin

from listkit.compute.crops import crop_box
from listkit.model.photo import WHOLE, Cut, FocusBox
from listkit.picture import encode
from listkit.picture.encode import SRGB, CropJob, CropPlan, continued, make_crops, verify_picture
from listkit.problem import FieldError
from tests.picture.sample import blocks, cmyk_profile, encoded, photograph, red_for_green, scene, stored, written

DEMO = Path(__file__).parents[2] / "demo_shop" / "sets"
SIZE = (600, 450)
SQUARE = crop_box(SIZE, None, (1, 1), width=200)
RIGHT = FocusBox(Decimal("0.5"), Decimal(0), Decimal(1), Decimal(1))
FORMATS = ("jpeg", "webp", "avif", "png")


def made(folder: Path, photo: Path, *crops: CropJob) -> list[Path]:
    """Make the crops under names with a foreign ending, as a build does, and see that each is found whole."""
    plan = CropPlan(crops)
    paths = tuple(folder / f"crop-{number}.tmp" for number in range(len(crops)))
    make_crops(photo, plan, paths)
    for number, path in enumerate(paths):
        assert verify_picture(path, make_crops, (photo, plan), number=number) == ""
    return list(paths)


def made_one(folder: Path, content: bytes, crop: CropJob) -> Image.Image:
    (path,) = made(folder, written(folder / "photo", content), crop)
    with Image.open(path) as shown:
        shown.load()
        return shown


def mean_difference(one: Image.Image, other: Image.Image) -> float:
    return float(np.mean(np.abs(np.asarray(one.convert("RGB"), float) - np.asarray(other.convert("RGB"), float))))


@pytest.mark.parametrize("kind", FORMATS)
def test_every_format_carries_the_picture_and_the_srgb_profile(kind: str, tmp_path: Path) -> None:
    crop = made_one(tmp_path, encoded(photograph(), "PNG"), CropJob("grid", SQUARE, format=kind, quality=92))
    assert (crop.format, crop.size, crop.info["icc_profile"]) == (kind.upper(), (200, 200), SRGB)
    box = (SQUARE.left, SQUARE.top, SQUARE.right, SQUARE.bottom)
    assert mean_difference(crop, photograph().resize((200, 200), Image.Resampling.LANCZOS, box)) < 3


def test_one_photo_gives_all_crops_of_its_plan_in_one_go(tmp_path: Path) -> None:
    photo = written(tmp_path / "photo.jpg", encoded(photograph(), "JPEG"))
    ratios = ((1, 1), (4, 5), (4, 3), (191, 100))
    cuts = [crop_box(SIZE, None, ratio, width=width) for ratio in ratios for width in (300, 150)]
    paths = made(tmp_path, photo, *(CropJob(f"{cut.width}", cut) for cut in cuts))
    assert len(paths) == 8


def test_all_eight_orientations_give_pixel_equal_crops(tmp_path: Path) -> None:
    """CIPA DC-008, tag 0x0112, on a picture of which no turn equals another."""
    cut = crop_box((64, 48), RIGHT, (1, 1), width=24)
    crops = []
    for orientation in range(1, 9):
        pixels, exif = stored(blocks(), orientation)
        for kind in ("PNG", "JPEG"):
            content = encoded(pixels, kind, exif=exif, quality=100)
            crops.append(made_one(tmp_path, content, CropJob("grid", cut, format="png")))
    assert {crop.tobytes() for crop in crops} == {crops[0].tobytes()}
    assert len({crops[0].getpixel((at, at)) for at in range(24)}) > 2


def test_the_same_photo_and_plan_give_the_same_bytes(tmp_path: Path) -> None:
    """The profile would carry today's date had it not been set: ICC.1:2010 7.2.8, bytes 24 to 35."""
    photo = written(tmp_path / "photo.jpg", encoded(photograph(), "JPEG"))
    jobs = [CropJob(kind, SQUARE, format=kind, alt="An open box") for kind in FORMATS]
    first = [path.read_bytes() for path in made(tmp_path, photo, *jobs)]
    plan, paths = CropPlan(tuple(jobs)), tuple(tmp_path / f"again-{kind}" for kind in FORMATS)
    with ProcessPoolExecutor(1) as pool:
        pool.submit(make_crops, photo, plan, paths).result()
    assert [path.read_bytes() for path in paths] == first
    assert SRGB[24:36] == bytes.fromhex("07cf 000a 0012 0000 0000 0000")


def test_colours_come_out_in_srgb_whatever_the_profile(tmp_path: Path) -> None:
    red = encoded(Image.new("RGB", SIZE, "#ff0000"), "PNG", icc_profile=red_for_green())
    assert made_one(tmp_path, red, CropJob("grid", SQUARE, format="png")).getpixel((9, 9)) == (0, 255, 0)
    grey = encoded(Image.new("CMYK", SIZE, (0, 0, 0, 128)), "JPEG", icc_profile=cmyk_profile(), quality=100)
    assert made_one(tmp_path, grey, CropJob("grid", SQUARE, format="png")).getpixel((9, 9)) == pytest.approx(
        (118, 118, 118), abs=3
    )
    plain = encoded(Image.new("L", SIZE, 90), "PNG")
    assert made_one(tmp_path, plain, CropJob("grid", SQUARE, format="png")).getpixel((9, 9)) == (90, 90, 90)


@pytest.mark.parametrize(("background", "shown"), [("#ffffff", (255, 255, 255)), ("#203040", (32, 48, 64))])
def test_transparent_parts_show_the_channels_background(
    background: str, shown: tuple[int, int, int], tmp_path: Path
) -> None:
    clear = encoded(Image.new("RGBA", SIZE, (200, 0, 0, 0)), "PNG")
    crop = made_one(tmp_path, clear, CropJob("grid", SQUARE, format="png", background=background))
    assert (crop.mode, crop.getpixel((9, 9))) == ("RGB", shown)


def test_a_padded_cut_continues_the_pictures_own_ground_on_its_short_sides(tmp_path: Path) -> None:
    """One colour above and another below run on as they are; the row between them is left as it is scaled."""
    cut = crop_box(SIZE, WHOLE, (1, 1), width=300)
    assert cut.pad == (0, 37, 0, 38)
    halves = Image.new("RGB", SIZE, "#804020")
    halves.paste("#dfdcd7", (0, 225, 600, 450))
    crop = made_one(tmp_path, encoded(halves, "PNG"), CropJob("grid", cut, format="png"))
    column = [crop.getpixel((150, row)) for row in range(300)]
    assert column[:148] == [(0x80, 0x40, 0x20)] * 148
    assert column[151:] == [(0xDF, 0xDC, 0xD7)] * 149


@pytest.mark.parametrize("across", [True, False])
@pytest.mark.parametrize("name", ["first-nectar/photos/jar-clover-cream.jpg",
                                  "the-garden-bar/photos/bar-juniper-wax.jpg",
                                  "fete-day-pair/photos/jar-mini-ginger-propolis.jpg"])  # fmt: skip
def test_a_plain_ground_continued_is_what_a_wider_photo_of_the_same_scene_shows(name: str, across: bool) -> None:
    """The original is the wider photo: a tenth is cut off each of two sides and continued.

    Bounds: 2 levels of 255 in the mean and 5 at 95 % of the pixels, and nearer than the one colour that is most usual
    along the edge, as a flat band would be.
    """
    with Image.open(DEMO / name) as opened:
        wider = opened.convert("RGB")
    wider.thumbnail((900, 900))
    wide, high = wider.size
    side = (wide if across else high) // 10
    pad = (side, 0, side, 0) if across else (0, side, 0, side)
    inner = wider.crop((pad[0], pad[1], wide - pad[2], high - pad[3]))
    grown = continued(inner, pad)
    assert grown.size == wider.size
    there, ours = (
        np.asarray(one if across else one.transpose(Image.Transpose.ROTATE_90), float) for one in (wider, grown)
    )
    sides = np.r_[0:side, there.shape[1] - side : there.shape[1]]
    away = np.abs(there - ours)[:, sides]
    edge = np.median(there[:, [side, -side - 1]].reshape(-1, 3), axis=0)
    assert away.mean() <= 2.0
    assert np.percentile(away, 95) <= 5
    assert away.mean() < np.abs(there - edge)[:, sides].mean()
    assert np.array_equal(np.asarray(grown)[side * 2 : -side * 2, side * 2 : -side * 2],
                          np.asarray(wider)[side * 2 : -side * 2, side * 2 : -side * 2])  # fmt: skip


@pytest.mark.parametrize("grain", [0.0, 2.0, 4.0])
def test_ground_has_the_grain_of_the_picture_beside_it(grain: float) -> None:
    """White noise of a known deviation comes back as it is, within a quarter of it or half a level."""
    noise = np.random.default_rng(3).normal(0, grain, (300, 400, 1)).round()
    picture = Image.fromarray(np.broadcast_to(np.clip(150 + noise, 0, 255), (300, 400, 3)).astype(np.uint8))
    ground = np.asarray(continued(picture, (120, 0, 0, 0)), float)[:, :110, 0]
    assert abs(ground.std() - grain) <= max(0.5, grain / 4)


def test_the_join_of_ground_and_picture_has_no_step() -> None:
    """On a slope of light the columns on both sides of the join differ no more than neighbours elsewhere."""
    light = np.broadcast_to(np.linspace(90, 190, 400)[None, :, None], (300, 400, 3))
    grown = np.asarray(continued(Image.fromarray(light.round().astype(np.uint8)), (100, 0, 0, 0)), float)
    steps = np.abs(np.diff(grown.mean(axis=(0, 2))))
    assert steps[80:130].max() <= 1.0


@pytest.mark.parametrize("pad", [(61, 0, 60, 0), (0, 140, 0, 141), (0, 0, 0, 7)])
def test_ground_blurred_small_is_the_ground_blurred_at_full_size(
    pad: tuple[int, int, int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The judge is the library's own blur of every pixel; 48 dB is a root mean square of one level."""
    image = Image.open(DEMO / "long-evening" / "photos" / "styled.jpg").convert("RGB").resize((601, 803))
    small = np.asarray(continued(image, pad), float)
    monkeypatch.setattr(encode, "BLURRED_AT", 1)
    full = np.asarray(continued(image, pad), float)
    assert small.shape == full.shape
    assert 10 * np.log10(255**2 / max(1e-9, float(((small - full) ** 2).mean()))) >= 48


def test_the_same_ground_has_the_same_bytes_every_time() -> None:
    with Image.open(DEMO / "fete-day-pair" / "photos" / "styled.jpg") as opened:
        once, again = (continued(opened.convert("RGB"), (30, 7, 0, 12)).tobytes() for _ in range(2))
    assert once == again


def test_linear_light_is_a_setting(tmp_path: Path) -> None:
    """IEC 61966-2-1: a fine checker of black and white becomes level 188 in linear light, 128 in encoded levels."""
    checker = Image.fromarray((np.indices((400, 400)).sum(0) % 2 * 255).astype(np.uint8))
    content, cut = encoded(checker, "PNG"), Cut(0, 0, 400, 400, 200, 200)
    linear = made_one(tmp_path, content, CropJob("grid", cut, format="png", linear=True))
    levels = made_one(tmp_path, content, CropJob("grid", cut, format="png"))
    assert linear.getpixel((100, 100)) == (188, 188, 188)
    assert levels.getpixel((100, 100)) == pytest.approx((128, 128, 128), abs=1)


@pytest.mark.parametrize(("chroma", "sampling"), [("4:4:4", 0), ("4:2:0", 2)])
def test_the_colours_of_a_jpeg_are_sampled_as_the_plan_says(chroma: str, sampling: int, tmp_path: Path) -> None:
    photo = written(tmp_path / "photo.jpg", encoded(photograph(), "JPEG"))
    (path,) = made(tmp_path, photo, CropJob("grid", SQUARE, chroma=chroma))
    with Image.open(path) as crop:
        assert isinstance(crop, JpegImagePlugin.JpegImageFile)
        assert JpegImagePlugin.get_sampling(crop) == sampling
        assert not crop.info.get("progressive")


@pytest.mark.parametrize("kind", ["jpeg", "webp", "avif"])
def test_a_crop_keeps_within_its_weight(kind: str, tmp_path: Path) -> None:
    photo = written(tmp_path / "photo.jpg", encoded(photograph((640, 480)), "JPEG"))
    job = CropJob("grid", crop_box((640, 480), None, (4, 3), width=640), format=kind, quality=95)
    (free,) = made(tmp_path, photo, job)
    limit = free.stat().st_size * 6 // 10_000
    (light,) = made(tmp_path, photo, replace(job, largest_kb=limit))
    assert limit * 700 < light.stat().st_size <= limit * 1000


def test_a_crop_that_cannot_be_brought_under_its_weight_is_told(tmp_path: Path) -> None:
    photo = written(tmp_path / "photo.jpg", encoded(photograph(), "JPEG"))
    for kind in FORMATS:
        plan, path = CropPlan((CropJob("grid", SQUARE, format=kind, largest_kb=1),)), tmp_path / "heavy.tmp"
        make_crops(photo, plan, (path,))
        assert "weighs" in verify_picture(path, make_crops, (photo, plan))


def test_nothing_of_the_originals_metadata_is_left_but_who_made_it(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x013B], exif[0x010F], exif[0x0132] = "Nan Otter", "A camera", "2027:01:15 10:00:00"
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 0.0), 3: "E", 4: (0.0, 7.0, 0.0)})
    content = encoded(photograph(), "JPEG", exif=exif, comment=b"taken at home", dpi=(300, 300))
    photo = written(tmp_path / "photo.jpg", content)
    assert b"taken at home" in content
    for path in made(tmp_path, photo, *(CropJob(kind, SQUARE, format=kind, alt="An open box") for kind in FORMATS)):
        written_bytes = path.read_bytes()
        assert not any(trace in written_bytes for trace in (b"A camera", b"2027:01:15", b"taken at home", b"Exif\0\0"))
        assert b"Nan Otter" in written_bytes
        assert b"An open box" in written_bytes
        with Image.open(path) as crop:
            assert not crop.getexif().get_ifd(0x8825)
            assert 0x8825 not in crop.getexif()


@pytest.mark.skipif(not shutil.which("exiftool"), reason="exiftool is not installed")
@pytest.mark.parametrize("kind", FORMATS)
def test_an_independent_reader_finds_no_place_and_the_alternative_text(kind: str, tmp_path: Path) -> None:
    """The demo photo carries a made-up position; exiftool reads IPTC Photo Metadata by name."""
    photo = DEMO / "pocket-hive" / "photos" / "group.jpg"
    assert "GPSPosition" in read_tags(photo)
    size = (2668, 2000)
    job = CropJob("grid", crop_box(size, None, (1, 1), width=300), format=kind, alt="Bar, tube & jar: Söhne's “set”")
    (path,) = made(tmp_path, photo, job)
    tags = read_tags(path)
    assert not [name for name in tags if name.startswith("GPS") or name in {"Make", "Model", "DateTimeOriginal"}]
    assert tags["AltTextAccessibility"] == job.alt
    assert tags["Creator"] == "Ottermarl Hive & Herb (rendered demo image)"
    assert tags["ProfileDescription"] == "sRGB built-in"


def read_tags(path: Path) -> dict[str, str]:
    printed = subprocess.run(["exiftool", "-j", "-a", str(path)], capture_output=True, text=True, check=True).stdout
    (tags,) = json.loads(printed)
    return dict(tags)


def test_a_second_implementation_makes_nearly_the_same_crop(tmp_path: Path) -> None:
    """pyvips 8: thumbnail_image of the same region; apart by at most 1.5 levels of 255 on average."""
    pyvips = pytest.importorskip("pyvips", reason="pyvips is not installed: no second implementation to compare with")
    source = written(tmp_path / "photo.png", encoded(photograph((1600, 1200)), "PNG"))
    for width in (700, 400, 150):
        cut = crop_box((1600, 1200), RIGHT, (4, 5), width=width)
        crop = made_one(tmp_path, source.read_bytes(), CropJob("tile", cut, format="png"))
        whole = pyvips.Image.new_from_file(str(source))
        region = whole.crop(cut.left, cut.top, cut.right - cut.left, cut.bottom - cut.top)
        theirs = region.thumbnail_image(cut.width, height=cut.height, size="force").numpy()
        assert mean_difference(crop, Image.fromarray(theirs)) < 1.5


def loky_executor() -> Executor:
    loky = pytest.importorskip("loky", reason="loky is not installed: no foreign executor to try")
    executor = loky.get_reusable_executor(max_workers=1)
    assert isinstance(executor, Executor)
    return executor


@pytest.mark.parametrize("executor", [partial(ThreadPoolExecutor, 2), partial(ProcessPoolExecutor, 1), loky_executor])
def test_any_executor_can_make_the_crops(executor: Callable[[], Executor], tmp_path: Path) -> None:
    photo = written(tmp_path / "photo.jpg", encoded(photograph(), "JPEG"))
    plan = CropPlan((CropJob("grid", SQUARE), CropJob("tile", SQUARE, format="webp")))
    paths = [(tmp_path / f"{number}-a.tmp", tmp_path / f"{number}-b.tmp") for number in range(3)]
    with executor() as pool:
        waiting = [pool.submit(make_crops, photo, plan, both) for both in paths]
        assert [future.result(60) for future in waiting] == [None] * 3
    assert all(verify_picture(path, make_crops, (photo, plan)) == "" for both in paths for path in both)


def test_a_photo_that_has_gone_or_changed_meanwhile_is_told_and_writes_nothing(tmp_path: Path) -> None:
    plan, path = CropPlan((CropJob("grid", SQUARE),)), tmp_path / "crop.tmp"
    with pytest.raises(FieldError, match="no longer there"):
        make_crops(tmp_path / "gone.jpg", plan, (path,))
    smaller = written(tmp_path / "photo.jpg", encoded(scene((300, 200)), "JPEG"))
    with pytest.raises(FieldError, match="replaced by a smaller one"):
        make_crops(smaller, plan, (path,))
    with pytest.raises(FieldError, match="damaged"):
        make_crops(written(tmp_path / "photo.jpg", encoded(scene(), "JPEG")[:4000]), plan, (path,))
    assert not path.exists()


def test_a_plan_needs_a_path_for_every_crop_and_a_format_we_know(tmp_path: Path) -> None:
    photo = written(tmp_path / "photo.jpg", encoded(scene(), "JPEG"))
    with pytest.raises(ValueError, match="1 crops, but 0 paths"):
        make_crops(photo, CropPlan((CropJob("grid", SQUARE),)), ())
    with pytest.raises(ValueError, match="no picture format"):
        make_crops(photo, CropPlan((CropJob("grid", SQUARE, format="bmp"),)), (tmp_path / "crop.tmp",))


def test_a_crop_that_is_not_whole_or_not_the_one_is_told(tmp_path: Path) -> None:
    photo = written(tmp_path / "photo.jpg", encoded(photograph(), "JPEG"))
    other = crop_box(SIZE, None, (4, 5), width=100)
    plan = CropPlan((CropJob("grid", SQUARE), CropJob("tile", other)))
    paths = (tmp_path / "grid.tmp", tmp_path / "tile.tmp")
    make_crops(photo, plan, paths)
    assert verify_picture(paths[1], make_crops, (photo, plan)) == ""
    assert "not asked for" in verify_picture(paths[1], make_crops, (photo, plan), number=0)
    with Image.open(paths[0]) as crop:
        bare = crop.convert("RGB")
    assert "profile" in verify_picture(written(paths[1], encoded(bare, "JPEG")), make_crops, (photo, plan), number=0)
    written(paths[0], paths[0].read_bytes()[:3000])
    assert "damaged" in verify_picture(paths[0], make_crops, (photo, plan), number=0)
    assert "no longer there" in verify_picture(tmp_path / "gone", make_crops, (photo, plan), number=0)


def test_damage_that_a_full_decoding_notices_is_noticed(tmp_path: Path) -> None:
    """The outside judge is the picture library decoding every pixel of the same bytes."""
    photo, crop = written(tmp_path / "photo.jpg", encoded(photograph(), "JPEG")), tmp_path / "grid.tmp"
    plan = CropPlan((CropJob("grid", SQUARE),))
    make_crops(photo, plan, (crop,))
    whole, chance, noticed = crop.read_bytes(), random.Random(8), 0
    for number in range(150):
        at = chance.randrange(700, len(whole))  # behind the profile
        damaged = (whole[:at], whole[:at] + bytes(64) + whole[at + 64 :], whole[:at] + b"\xff" + whole[at + 1 :])
        content = damaged[number % 3]
        try:
            with Image.open(BytesIO(content)) as shown:
                shown.load()
            is_whole = True
        except OSError:
            is_whole = False
        noticed += not is_whole
        assert (verify_picture(written(crop, content), make_crops, (photo, plan), number=0) == "") is is_whole
    assert noticed >= 50


def test_a_turned_original_is_cut_where_its_upright_picture_is_cut(tmp_path: Path) -> None:
    """The demo photo lies on its side and says so: EXIF orientation 6."""
    photo = DEMO / "long-evening" / "photos" / "styled.jpg"
    cut = crop_box((2000, 2668), FocusBox(*map(Decimal, ("0.4", "0.5", "0.9", "0.9"))), (1, 1), width=400)
    (path,) = made(tmp_path, photo, CropJob("tile", cut, format="png"))
    with Image.open(photo) as lying, Image.open(path) as crop:
        upright = lying.transpose(Image.Transpose.ROTATE_270)
        box = (cut.left, cut.top, cut.right, cut.bottom)
        assert mean_difference(crop, upright.resize(crop.size, Image.Resampling.LANCZOS, box)) < 1
        assert ImageChops.difference(crop.convert("L"), lying.resize(crop.size).convert("L")).getbbox() is not None
