"""Tests of opening pictures: upright, in 8 bits, and every kind of bad file told in words."""

import struct
import threading
import warnings
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageChops

from listkit.picture.open import HEIC_READABLE, PIXEL_LIMIT, Original, read_bytes, read_picture
from listkit.problem import FieldError
from tests.picture.sample import blocks, chunk, encoded, png, scene, stored

PHOTO = Path("photo.jpg")


def opened(content: bytes, name: str = "photo.jpg") -> Original:
    """Open with every warning an error, so that none can pass unseen."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with read_picture(Path(name), content) as original:
            return original


def refused(content: bytes, name: str = "photo.jpg") -> str:
    with pytest.raises(FieldError) as told:
        opened(content, name)
    assert told.value.hint
    return told.value.message


def same(one: Image.Image, other: Image.Image) -> bool:
    return one.size == other.size and ImageChops.difference(one.convert("RGB"), other.convert("RGB")).getbbox() is None


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "WEBP", "TIFF"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_all_eight_orientations_of_one_picture_end_pixel_equal(orientation: int, kind: str) -> None:
    """CIPA DC-008 (EXIF), tag 0x0112; PNG, TIFF and WebP without loss, JPEG with blocks that quality 100 keeps."""
    pixels, exif = stored(blocks(), orientation)
    original = opened(encoded(pixels, kind, exif=exif, quality=100, lossless=kind == "WEBP"))
    assert same(original.image, blocks())
    assert original.size == (64, 48)
    assert original.orientation == orientation


def test_a_fraction_of_a_turned_jpeg_still_has_its_whole_upright_size() -> None:
    pixels, exif = stored(scene((640, 480)), 6)
    with read_picture(PHOTO, encoded(pixels, "JPEG", exif=exif), at_least=100) as original:
        assert original.size == (640, 480)
        assert original.image.size == (160, 120)


def test_the_smallest_fraction_keeps_the_short_side_that_is_asked_for() -> None:
    content = encoded(scene((800, 600)), "JPEG")
    with read_picture(PHOTO, content, at_least=100) as quarter, read_picture(PHOTO, content, at_least=601) as whole:
        assert quarter.image.size == (200, 150)
        assert whole.image.size == (800, 600)


@pytest.mark.parametrize("orientation", [0, 9, 65535])
def test_an_orientation_outside_one_to_eight_is_taken_as_upright(orientation: int) -> None:
    exif = Image.Exif()
    exif[0x0112] = orientation
    assert opened(encoded(blocks(), "PNG", exif=exif)).orientation == 1


def test_sixteen_bits_of_grey_are_divided_by_257_and_rounded() -> None:
    """65535 ÷ 257 is 255 exactly; cutting the low byte off would give 1 for 511, which lies nearer to 2."""
    values = [0, 128, 129, 511, 32768, 65406, 65407, 65535]
    deep = Image.fromarray(np.array([values], np.uint16))
    assert list(opened(encoded(deep, "PNG"), "deep.png").image.tobytes()) == [0, 0, 1, 2, 128, 254, 255, 255]
    assert list(opened(encoded(deep, "TIFF"), "deep.tif").image.tobytes()) == [0, 0, 1, 2, 128, 254, 255, 255]


def test_sixteen_bits_of_colour_come_down_to_eight() -> None:
    rows = b"".join(b"\0" + struct.pack(">3H", 65535, 32768, 257) * 2 for _ in range(2))
    head = struct.pack(">IIBBBBB", 2, 2, 16, 2, 0, 0, 0)
    image = opened(png(2, 2, pixels=rows).replace(png(2, 2)[8:33], chunk(b"IHDR", head))).image
    assert image.getpixel((1, 1)) == (255, 128, 1)


@pytest.mark.parametrize("mode", ["1", "L", "P", "RGB"])
def test_pictures_without_alpha_are_grey_or_rgb(mode: str) -> None:
    assert opened(encoded(scene().convert(mode), "PNG")).image.mode in {"L", "RGB"}


@pytest.mark.parametrize("mode", ["LA", "RGBA", "PA"])
def test_transparent_parts_are_kept(mode: str) -> None:
    picture = scene((32, 32)).convert("RGBA")
    picture.putalpha(Image.linear_gradient("L").resize((32, 32)))
    file = encoded(picture if mode == "RGBA" else picture.convert("LA"), "PNG")
    if mode == "PA":
        see_through = Image.new("P", (8, 8), 3)
        file = encoded(see_through, "PNG", transparency=3)
    assert opened(file).image.mode == "RGBA"


@pytest.mark.parametrize(("kind", "format"), [("AVIF", "avif"), ("WEBP", "webp"), ("TIFF", "tiff"), ("PNG", "png")])
def test_other_formats_open_too(kind: str, format: str) -> None:  # noqa: A002
    original = opened(encoded(scene(), kind))
    assert (original.format, original.size) == (format, (600, 450))


@pytest.mark.skipif(not HEIC_READABLE, reason="pillow_heif is not installed")
def test_a_heic_picture_opens_upright() -> None:
    pixels, exif = stored(scene((320, 240)), 6)
    original = opened(encoded(pixels, "HEIF", exif=exif.tobytes(), quality=-1), "photo.heic")
    assert (original.format, original.size, original.frames) == ("heif", (320, 240), 1)
    difference = ImageChops.difference(original.image.convert("L"), scene((320, 240)).convert("L"))
    assert sum(level * many for level, many in enumerate(difference.histogram())) / (320 * 240) < 3


@pytest.mark.parametrize("kind", ["WEBP", "PNG", "AVIF"])
def test_of_an_animated_picture_the_first_frame_is_taken_and_the_frames_are_counted(kind: str) -> None:
    frames = [Image.new("RGB", (40, 30), colour) for colour in ("#ff0000", "#00ff00", "#0000ff")]
    original = opened(encoded(frames[0], kind, save_all=True, append_images=frames[1:], duration=100))
    assert original.frames == 3
    red, green, blue = original.image.convert("RGB").split()
    assert min(red.tobytes()) > 240
    assert max(green.tobytes() + blue.tobytes()) < 20


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", ""),
        (b"Dear customer, the photo is on its way.", "this is not a picture that can be opened, though its name ends"),
        (encoded(Image.new("P", (8, 8)), "GIF"), "this is not a picture that can be opened"),
        (b'<?xml version="1.0"?>\n<!-- mark -->\n<svg xmlns="http://www.w3.org/2000/svg"/>', "this is an SVG drawing"),
        (b'<s:svg xmlns:s="http://www.w3.org/2000/svg"><s:script/></s:svg>', "this is an SVG drawing"),
        (b"<html>" + b" " * 5000 + b"<svg>", "this is not a picture that can be opened"),
        (encoded(scene(), "JPEG")[:9000], "the picture is damaged or breaks off"),
        (encoded(scene(), "JPEG")[:30], "the picture is damaged or breaks off"),
        (encoded(scene(), "PNG")[:9000], "the picture is damaged or breaks off"),
        (encoded(scene(), "WEBP")[:5000], "the picture is damaged or breaks off"),
        (encoded(scene(), "TIFF")[:5000], "the picture is damaged or breaks off"),
        (encoded(scene(), "AVIF")[:3000], "the picture is damaged or breaks off"),
        (encoded(scene().convert("CMYK"), "JPEG"), "the picture is in printing colours (CMYK) without"),
        (encoded(scene().convert("L").convert("F"), "TIFF"), "the picture stores its colours as F."),
        (png(0, 10), "the picture "),
        (png(60_000, 60_000), "the picture has more than 80 million pixels"),
        (png(9_200, 9_000), "the picture has more than 80 million pixels (9200 × 9000)."),
        (png(10_000, 9_900), "the picture has more than 80 million pixels"),
    ],
    ids=["empty", "text", "gif", "svg", "script", "page", "cut jpeg", "jpeg head", "cut png", "cut webp",
         "cut tiff", "cut avif", "cmyk", "float", "no width", "60000 a side", "83 million", "99 million"],
)  # fmt: skip
def test_a_file_that_is_no_usable_picture_is_told_in_words(content: bytes, message: str, tmp_path: Path) -> None:
    assert len(content) < 1_200_000
    if not content:
        (tmp_path / "photo.jpg").touch()
        with pytest.raises(FieldError, match="the file is empty"):
            read_bytes(tmp_path / "photo.jpg")
        return
    assert refused(content).startswith(message)


def test_a_jpeg_without_rows_is_told() -> None:
    content = bytearray(encoded(scene(), "JPEG"))
    start = content.index(b"\xff\xc0") + 5  # frame header, ITU-T T.81 B.2.2: length, precision, then the rows
    content[start : start + 2] = b"\0\0"
    assert refused(bytes(content)).startswith("th")


def test_the_pixel_limit_is_checked_before_anything_is_decoded() -> None:
    """One bit a pixel, so 81 million pixels lie in some kilobytes; decoding them would pass, asking does not."""
    side = 9000
    assert side * side > PIXEL_LIMIT
    content = png(side, side, pixels=b"\0" * ((side // 8 + 1) * side))
    assert len(content) < 50_000
    assert "9000 × 9000" in refused(content)


def test_absurd_resolutions_change_nothing() -> None:
    """PNG's pHYs holds 4294967295 at most (ISO/IEC 15948, 11.3.5.3); only pixels count here."""
    dots = chunk(b"pHYs", struct.pack(">IIB", 4294967295, 4294967295, 1))
    assert opened(png(8, 8, chunks=dots, pixels=b"\0\0" * 8)).size == (8, 8)
    tagged = encoded(scene((64, 48)), "TIFF", dpi=(4294967295, 4294967295))
    assert opened(tagged).size == (64, 48)


def test_a_file_that_is_gone_or_a_folder_is_told(tmp_path: Path) -> None:
    with pytest.raises(FieldError, match="no longer there"):
        read_bytes(tmp_path / "gone.jpg")
    with pytest.raises(FieldError, match="cannot be read"):
        read_bytes(tmp_path)


def test_a_broken_colour_profile_or_tag_block_does_not_stop_a_good_picture() -> None:
    content = encoded(scene(), "JPEG", icc_profile=b"not a profile", exif=b"Exif\0\0broken tags")
    assert opened(content).orientation == 1


FILES = [encoded(scene((48, 36)), kind) for kind in ("JPEG", "PNG", "WEBP", "TIFF", "AVIF")]


@settings(max_examples=50, deadline=None)
@given(file=st.sampled_from(FILES), changes=st.lists(st.tuples(st.integers(0, 5000), st.integers(0, 255)), min_size=1))
def test_no_bytes_whatever_let_another_exception_or_a_warning_out(file: bytes, changes: list[tuple[int, int]]) -> None:
    content = bytearray(file)
    for place, value in changes:
        content[place % len(content)] = value
    try:
        assert min(opened(bytes(content)).image.size) > 0
    except FieldError as told:
        assert told.message


def test_several_threads_may_open_pictures_at_once() -> None:
    content, faults = encoded(scene(), "JPEG"), []

    def work() -> None:
        try:
            for _ in range(10):
                with read_picture(PHOTO, content):
                    pass
        except Exception as fault:  # handed to the main thread
            faults.append(fault)

    before = list(warnings.filters)
    threads = [threading.Thread(target=work) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not faults
    assert warnings.filters == before
