"""Small pictures and profiles that the tests of the picture package are made from."""

import struct
import zlib
from functools import cache
from io import BytesIO
from pathlib import Path

import numpy as np
from PIL import Image

from listkit.picture.encode import SRGB

BLOCKS = ((0, 40, 80, 120), (160, 200, 240, 20), (60, 100, 140, 180))
"""Twelve greys of which no turn or mirror image equals another."""

UNTURN = {
    1: None,
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}
"""How an upright picture is stored so that the EXIF orientation describes it: CIPA DC-008, tag 0x0112."""


def blocks() -> Image.Image:
    """Return 64 × 48 pixels of grey squares, 16 pixels each: whole JPEG blocks, which quality 100 keeps exactly."""
    return Image.fromarray(np.kron(np.array(BLOCKS, np.uint8), np.ones((16, 16), np.uint8)))


def stored(upright: Image.Image, orientation: int) -> tuple[Image.Image, Image.Exif]:
    """Return the pixels and the tags of a file that shows `upright` under that orientation."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    turn = UNTURN[orientation]
    return (upright if turn is None else upright.transpose(turn)), exif


def scene(size: tuple[int, int] = (600, 450), seed: int = 5) -> Image.Image:
    """Return a picture with edges, gradients, colours and a little noise, the same every time."""
    return _drawn(size, seed).copy()


@cache
def _drawn(size: tuple[int, int], seed: int) -> Image.Image:
    wide, high = size
    across, down = np.meshgrid(np.linspace(0, 1, wide), np.linspace(0, 1, high))
    noise = np.random.default_rng(seed).normal(0, 3, (high, wide, 3))
    rings = 60 * ((np.hypot(across - 0.6, down - 0.4) * 14).astype(int) % 2)
    levels = np.stack([90 + 100 * across, 80 + 110 * down, 170 - 90 * across * down], axis=2)
    return Image.fromarray((levels + rings[..., None] + noise).round().clip(0, 255).astype(np.uint8))


def photograph(size: tuple[int, int] = (600, 450)) -> Image.Image:
    """Return the scene as a camera gives it: noise and edges have been through a JPEG of quality 92."""
    with Image.open(BytesIO(_taken(size))) as shown:
        return shown.convert("RGB")


@cache
def _taken(size: tuple[int, int]) -> bytes:
    return encoded(_drawn(size, 5), "JPEG", quality=92)


def encoded(image: Image.Image, kind: str, **settings: object) -> bytes:
    """Return the picture's file."""
    out = BytesIO()
    image.save(out, kind, **settings)
    return out.getvalue()


def written(path: Path, content: bytes) -> Path:
    """Write and return the path."""
    path.write_bytes(content)
    return path


def png(wide: int, high: int, *, chunks: bytes = b"", pixels: bytes = b"\0") -> bytes:
    """Return a PNG of one bit a pixel that claims to be of this size."""
    head = struct.pack(">IIBBBBB", wide, high, 1, 0, 0, 0, 0)
    body = chunk(b"IHDR", head) + chunks + chunk(b"IDAT", zlib.compress(pixels)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


def chunk(name: bytes, content: bytes) -> bytes:
    """Return one PNG chunk with its length and check sum (ISO/IEC 15948, 5.3)."""
    return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))


def red_for_green() -> bytes:
    """Return a profile that calls green what sRGB calls red, and the other way round."""
    return SRGB.replace(b"rXYZ", b"?XYZ").replace(b"gXYZ", b"rXYZ").replace(b"?XYZ", b"gXYZ")


def cmyk_profile() -> bytes:
    """Return a CMYK profile whose lightness is 100 × (1 − C) (1 − M) (1 − Y) (1 − K), without colour.

    ICC.1:2010: header 7.2, tag table 7.3, lut8Type 10.9 with two grid points, Lab in 8 bits 6.3.4.2.
    """
    corners = [(c, m, y, k) for c in (0, 1) for m in (0, 1) for y in (0, 1) for k in (0, 1)]
    grid = b"".join(bytes((0 if any(inks) else 255, 128, 128)) for inks in corners)
    unit = struct.pack(">9i", 65536, 0, 0, 0, 65536, 0, 0, 0, 65536)
    straight = bytes(range(256))
    table = b"mft1\0\0\0\0" + bytes((4, 3, 2, 0)) + unit + straight * 4 + grid + straight * 3
    text = b"desc\0\0\0\0" + struct.pack(">I", 10) + b"test inks\0" + b"\0" * 78
    white = b"XYZ \0\0\0\0" + struct.pack(">3i", 63190, 65536, 54061)
    tags, offset, body = b"", 128 + 4 + 12 * 3, b""
    for name, content in ((b"desc", text), (b"wtpt", white), (b"A2B0", table)):
        padded = content + b"\0" * (-len(content) % 4)
        tags += name + struct.pack(">II", offset + len(body), len(content))
        body += padded
    head = struct.pack(">I4sI4s4s4s", offset + len(body), b"\0\0\0\0", 0x02100000, b"prtr", b"CMYK", b"Lab ")
    head += struct.pack(">6H", 2000, 1, 1, 0, 0, 0) + b"acsp" + b"\0" * 28 + struct.pack(">3i", 63190, 65536, 54061)
    return head.ljust(128, b"\0") + struct.pack(">I", 3) + tags + body
