"""Tests of pictures that are small in pixels and costly to open: told before any library opens them.

Files of strangers are checked before they are worked on, in what they hold and not in their size alone (OWASP, File
Upload Cheat Sheet, "File Size Limits" and "Content validation").
"""

import struct
import threading
import time
from pathlib import Path

import pytest
from PIL import Image

from listkit import bounds
from listkit.picture.credit import read_credit
from listkit.picture.facts import measure
from listkit.picture.open import colours_of, read_picture
from listkit.picture.structure import refuse_costly
from listkit.problem import FieldError
from tests.picture.sample import chunk, encoded, scene, written

PHOTO = Path("photo.jpg")


def refused(content: bytes) -> str:
    with pytest.raises(FieldError) as told, read_picture(PHOTO, content):
        pass
    assert told.value.hint
    return told.value.message


def _with_scans(count: int) -> bytes:
    """Return a grey progressive JPEG with so many more scans, each of which passes over all blocks and changes none.

    ITU-T T.81, G.1.2.2: EOB14 (E0) ends the band in as many blocks as its 14 further bits say and 16,384 more. DHT is
    B.2.4.2, SOS B.2.3.
    """
    content = encoded(scene((128, 64)).convert("L"), "JPEG", progressive=True)
    table = b"\xff\xc4" + struct.pack(">H", 20) + b"\x10" + bytes([1, *[0] * 15]) + b"\xe0"
    scan = b"\xff\xda" + struct.pack(">H", 8) + b"\x01\x01\x00\x01\x3f\x00" + b"\x7f\xfe"
    return content.removesuffix(b"\xff\xd9") + table + scan * count + b"\xff\xd9"


def test_a_jpeg_of_more_scans_than_any_program_writes_is_told_before_it_is_decoded() -> None:
    """T.81 sets no bound for scans; each goes through the whole picture (libjpeg-turbo, LJT-01-004)."""
    assert refused(_with_scans(bounds.JPEG_SCANS)) == "the JPEG is stored in more than 100 passes (scans)."


def test_a_progressive_jpeg_as_programs_write_it_is_opened() -> None:
    with read_picture(PHOTO, encoded(scene(), "JPEG", progressive=True)) as original:
        assert original.size == (600, 450)
    with read_picture(PHOTO, _with_scans(50)) as original:
        assert original.size == (128, 64)


def test_what_looks_like_a_scan_in_notes_or_behind_the_end_counts_for_none() -> None:
    content = encoded(scene(), "JPEG", comment=b"\xff\xda" * 500) + b"\xff\xda" * 500
    with read_picture(PHOTO, content) as original:
        assert original.size == (600, 450)


def test_a_jpeg_of_millions_of_segments_is_told() -> None:
    content = encoded(scene(), "JPEG")
    comments = b"\xff\xfe\x00\x02" * (bounds.PICTURE_PARTS + 1)
    assert refused(content[:2] + comments + content[2:]) == "the picture's file is in more than 200000 parts."
    assert refused(content[:2] + b"\xff" * len(comments) + content[2:]).endswith("200000 parts.")


def test_a_png_of_millions_of_chunks_is_told() -> None:
    content = encoded(scene(), "PNG")
    texts = chunk(b"tEXt", b"a\0b") * (bounds.PICTURE_PARTS + 1)
    assert refused(content[:33] + texts + content[33:]) == "the picture's file is in more than 200000 parts."


def _tags(count: int, size: int) -> bytes:
    """Return an EXIF block of many texts that all lie in the same place (CIPA DC-008, 4.6.2; TIFF 6.0, section 2)."""
    head = b"II*\0" + struct.pack("<IH", 8, count)
    entries = b"".join(struct.pack("<HHII", 0x9000 + at, 2, size, 8) for at in range(count))
    return (head + entries + bytes(4)).ljust(size + 8, b"a")


NOTES = "the picture carries more than 20 MB of notes beside its pixels (metadata)."


def test_tags_that_all_name_the_same_bytes_are_told() -> None:
    """5,000 tags of 60 kB are 300 MB, in a block of 60 kB."""
    block = b"Exif\0\0" + _tags(5_000, 60_000)
    content = encoded(scene(), "JPEG")
    segment = b"\xff\xe1" + struct.pack(">H", len(block) + 2) + block
    assert refused(content[:2] + segment + content[2:]) == NOTES
    assert refused(encoded(scene(), "WEBP", exif=block)) == NOTES
    png = encoded(scene(), "PNG")
    assert refused(png[:33] + chunk(b"eXIf", block[6:]) + png[33:]) == NOTES
    assert refused(_tags(5_000, 60_000)) == NOTES  # a TIFF itself


def test_tags_written_as_digits_into_a_text_of_a_png_are_passed_over(monkeypatch: pytest.MonkeyPatch) -> None:
    """They are found by the library alone, when it is asked for tags; then it is not asked."""
    block = b"Exif\0\0" + _tags(5_000, 60_000)
    png = encoded(scene(), "PNG")
    text = b"Raw profile type exif\0\nexif\n" + str(len(block)).encode() + b"\n" + block.hex().encode()
    content = png[:33] + chunk(b"tEXt", text) + png[33:]
    monkeypatch.setattr(Image.Exif, "load", lambda *_: pytest.fail("the tags were read"))
    with read_picture(PHOTO, content) as original:
        assert original.orientation == 1
    assert read_credit(PHOTO, content).creator == ""


def test_a_tiff_of_more_pictures_than_anybody_looks_at_is_told() -> None:
    directories = b"".join(struct.pack("<HI", 0, 8 + 6 * at) for at in range(1, bounds.PICTURE_FRAMES + 2))
    assert refused(b"II*\0" + struct.pack("<I", 8) + directories) == "there are more than 5000 pictures in one file."


@pytest.mark.parametrize("order", ["<", ">"])
def test_a_tile_larger_than_any_picture_is_told(order: str) -> None:
    """TIFF 6.0, section 15: TileWidth and TileLength say how much is unpacked at once, however small the picture is."""
    sides = b"".join(struct.pack(order + "HHIHH", tag, 3, 1, 60_000, 0) for tag in (322, 323))
    head = (b"II*\0" if order == "<" else b"MM\0*") + struct.pack(order + "IH", 8, 2)
    assert refused(head + sides + bytes(4)) == "the picture is stored in tiles larger than any picture."


def test_a_profile_of_colours_larger_than_any_is_not_read() -> None:
    assert colours_of("RGB", bytes(bounds.PICTURE_PROFILE + 1)).name == "unreadable"
    assert refused(encoded(scene(), "WEBP", icc_profile=bytes(bounds.PICTURE_NOTES + 1))) == NOTES


def test_nested_and_endless_xmp_costs_little() -> None:
    """Each creator within another was read for each one around it: 20,000 took 1.9 s, and 500 kB of them hold 10 MB."""
    before = '<x xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:r="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
    many = 12_000
    nested = "<dc:creator>" * many + "<r:li>May Rowe</r:li>" + "</dc:creator>" * many
    content = encoded(scene((8, 8)), "WEBP", xmp=(before + nested + "</x>").encode())
    began = time.process_time()
    assert read_credit(PHOTO, content).creator == "May Rowe"
    assert time.process_time() - began < 0.3
    endless = before + "<r:li/>" * (bounds.PICTURE_CREDIT // 7) + nested + "</x>"
    assert read_credit(PHOTO, encoded(scene((8, 8)), "WEBP", xmp=endless.encode())).creator == ""


def test_whatever_bytes_come_are_either_passed_on_or_told() -> None:
    for content in (encoded(scene(), kind) for kind in ("JPEG", "PNG", "WEBP", "TIFF")):
        for at in range(200):
            refuse_costly(content[:at])
            refuse_costly(content[:at] + b"\xff" * 40)


def test_pictures_that_take_much_memory_wait_for_each_other(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Four pictures that each need half of what all may have are worked on two at a time; one that needs all, alone."""
    content = encoded(scene((400, 300)), "PNG")
    monkeypatch.setattr(bounds, "PICTURES_AT_ONCE", 2 * (len(content) + 8 * 400 * 300))
    at_work, most = 0, []
    lock = threading.Lock()

    def work() -> None:
        nonlocal at_work
        with read_picture(PHOTO, content):
            with lock:
                at_work += 1
                most.append(at_work)
            time.sleep(0.02)
            with lock:
                at_work -= 1

    threads = [threading.Thread(target=work) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=20)
    assert (len(most), max(most)) == (6, 2)
    monkeypatch.setattr(bounds, "PICTURES_AT_ONCE", 10)
    assert measure(written(tmp_path / "photo.png", content)).width == 400


def test_a_picture_that_fails_leaves_its_room(monkeypatch: pytest.MonkeyPatch) -> None:
    content = encoded(scene((400, 300)), "PNG")
    monkeypatch.setattr(bounds, "PICTURES_AT_ONCE", 10)
    for _ in range(3):
        refused(content[:-5000])
    with read_picture(PHOTO, content) as original:
        assert original.size == (400, 300)
