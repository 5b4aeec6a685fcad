"""Pictures and listings as the browser shows them: photos of sets made small, crops, and a listing in its own page.

A photo is looked up among those of the set that a request names; no path of a request becomes one on the disk. Crops
are cut from a small decoded picture that stays in memory, where `listing.photos` says, and their ground is continued as
in a build; so a crop on a page differs from the file that is made of it in its size alone.
"""

import base64
import hashlib
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from typing import Final

from PIL import Image
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from listkit.desk.guard import FRAME_POLICY
from listkit.desk.page import Desk, page, render
from listkit.desk.state import Seen
from listkit.listing.photos import cut_of, cut_to
from listkit.model.channel import Crop
from listkit.model.photo import Cut
from listkit.model.shop import Photo
from listkit.picture.encode import continued, fitted
from listkit.picture.open import colours_of, on_page, read_bytes, read_picture
from listkit.problem import FieldError

SIZES: Final = {"tile": 480, "small": 480, "middle": 800, "large": 1600}
"""Pixels of a picture by the word that an address asks for: of the longer side, or of a tile's width."""
_KEPT_SHORT: Final = 600  # pixels of the shorter side of a picture that is kept decoded
_KEPT_LONG: Final = 2400  # pixels of the longer side, however long
_MOST_DECODED: Final = 24  # decoded pictures in memory, of some 1.5 MB each
_CROP_LONG: Final = 320  # pixels of the longer side of a crop
TILE: Final = (4, 3)
_GROUND: Final = "#ffffff"
_MOST_KEPT: Final = 600  # made pictures in memory, of some 30 kB each
_IN_A_LISTING: Final = 3


def show_photo(desk: Desk, request: Request) -> Response:
    """Return a photo of a set as a small JPEG; as a tile it is cut about what must be seen."""
    state = desk.shop_state
    seen, params = state.look(), request.path_params
    facts = seen.facts(params["code"])
    photos = facts.source.photos if facts else ()
    photo = next((each for each in photos if each.name == params["name"]), None)
    if photo is None:
        return page(desk, request, "sets", template="nothing", status=404)
    size = request.query_params.get("size", "small")
    size = size if size in SIZES else "small"
    tag = tag_of(seen, photo, size)
    return shown_photo(request, tag, lambda: made_small(state.folder, photo, size))


def tag_of(seen: Seen, photo: Photo, how: object) -> str:
    """Return the tag of a picture on a page, by its file's stamp, what is known of it, and how it is made."""
    made_of = (seen.stamps.get(photo.file), photo.facts, photo.focus, how)
    return f'"{hashlib.sha256(repr(made_of).encode()).hexdigest()}"'


def shown_photo(request: Request, tag: str, make: Callable[[], bytes]) -> Response:
    """Return a JPEG, made only where the browser has not the one of this tag."""
    headers = {"etag": tag, "cache-control": "private, no-cache"}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    try:
        return Response(make(), 200, headers, "image/jpeg")
    except FieldError:
        return Response(status_code=404)


def made_small(folder: Path, photo: Photo, size: str) -> bytes:
    """Return a picture as JPEG in sRGB, as large as a word of SIZES says; it has the bytes that were measured.

    Raises:
        FieldError: it is no picture any more, or another one.
    """
    return _made_small(folder, photo, size, _digest_of(folder, photo))


def _digest_of(folder: Path, photo: Photo) -> str:
    """Return by what a picture is kept in memory: the digest of its bytes, now where they are not measured yet."""
    return photo.facts.sha256 or hashlib.sha256(read_bytes(folder / photo.file)).hexdigest()


@lru_cache(maxsize=_MOST_KEPT)
def _made_small(folder: Path, photo: Photo, size: str, sha256: str) -> bytes:
    pixels = SIZES[size]
    if size == "middle":  # beside its crops, of the same decoded picture
        return _jpeg(on_page(_decoded(folder, photo.file, sha256)[0], _GROUND))
    content = _content(folder, photo.file, sha256)
    with read_picture(folder / photo.file, content, at_least=pixels) as original:
        image = on_page(colours_of(original.image.mode, original.profile).srgb(original.image), _GROUND)
        if size == "tile":
            if not photo.facts.sha256:  # not measured yet: its sides and its subject are not known
                photo = replace(photo, facts=replace(photo.facts, width=original.size[0], height=original.size[1]))
            cut = cut_to(photo, TILE, width=pixels, if_tight="problem")
            by = image.width / original.size[0]
            sides = tuple(round(side * by) for side in (cut.left, cut.top, cut.right, cut.bottom))
            image = image.crop((sides[0], sides[1], sides[2], sides[3]))
        image.thumbnail((pixels, pixels), Image.Resampling.LANCZOS)
    return _jpeg(image)


def _content(folder: Path, file: str, sha256: str) -> bytes:
    """Return the bytes that were measured; raises FieldError where the file has others by now."""
    content = read_bytes(folder / file)
    if hashlib.sha256(content).hexdigest() != sha256:
        raise FieldError("the picture was changed just now.", "Load the page again.")
    return content


def _jpeg(image: Image.Image) -> bytes:
    target = BytesIO()
    image.save(target, "JPEG", quality=82)
    return target.getvalue()


# Crops: however often a focus box moves, the picture is decoded once.


@lru_cache(maxsize=_MOST_DECODED)
def _decoded(folder: Path, file: str, sha256: str) -> tuple[Image.Image, tuple[int, int]]:
    """Return a picture in sRGB, small and upright, and the size that it has on the disk."""
    with read_picture(folder / file, _content(folder, file, sha256), at_least=_KEPT_SHORT) as original:
        long, short = max(original.size), min(original.size)
        size = fitted(original.size, min(_KEPT_LONG, round(_KEPT_SHORT * long / short)))
        image = original.image.resize(size, Image.Resampling.HAMMING, reducing_gap=2.0)
        return colours_of(image.mode, original.profile).srgb(image), original.size


def drawn_crops(folder: Path, photo: Photo, crops: Sequence[Crop]) -> tuple[tuple[Cut, bytes], ...]:
    """Return where each crop is cut, in pixels of the photo, and how it looks, as a small JPEG.

    Raises:
        FieldError: the photo is no picture any more, or another one.
    """
    image, size = _decoded(folder, photo.file, _digest_of(folder, photo))
    if not photo.facts.sha256:  # not measured yet: its sides are not known
        photo = replace(photo, facts=replace(photo.facts, width=size[0], height=size[1]))
    drawn = []
    for crop in crops:
        cut = cut_of(photo, crop)
        drawn.append((cut, _jpeg(_drawn(image, image.width / size[0], cut, crop.background))))
    return tuple(drawn)


def drawn_cut(folder: Path, photo: Photo, cut: Cut) -> bytes:
    """Return a cut of a photo as a small JPEG; raises FieldError as `drawn_crops` does."""
    return _drawn_cut(folder, photo.file, _digest_of(folder, photo), cut)


@lru_cache(maxsize=_MOST_KEPT)
def _drawn_cut(folder: Path, file: str, sha256: str, cut: Cut) -> bytes:
    image, size = _decoded(folder, file, sha256)
    return _jpeg(_drawn(image, image.width / size[0], cut, _GROUND))


def crop_sides(ratio: tuple[int, int]) -> tuple[int, int]:
    """Return width and height of a crop on a page.

    >>> crop_sides((4, 5)), crop_sides((16, 9))
    ((256, 320), (320, 180))
    """
    longest = max(ratio)
    return max(1, ratio[0] * _CROP_LONG // longest), max(1, ratio[1] * _CROP_LONG // longest)


def _drawn(image: Image.Image, by: float, cut: Cut, background: str) -> Image.Image:
    """Return a crop of a picture that is kept `by` times its size."""
    wide, high = fitted((cut.width, cut.height), _CROP_LONG)
    left, above, right, below = (round(side * wide / cut.width) for side in cut.pad)
    inner = max(1, wide - left - right), max(1, high - above - below)
    box = cut.left * by, cut.top * by, min(cut.right * by, image.width), min(cut.bottom * by, image.height)
    part = image.resize(inner, Image.Resampling.HAMMING, box)
    return continued(on_page(part, background), (left, above, right, below))


def show_listing(desk: Desk, request: Request) -> Response:
    """Return a set as a place will show it, for a frame without scripts; its pictures are within it."""
    state = desk.shop_state
    seen, params = state.look(), request.path_params
    view = state.view(seen, params["code"])
    listings = view.listings if view else ()
    listing = next((each for each in listings if each.channel.key == params["place"]), None)
    if listing is None:
        return page(desk, request, "sets", template="nothing", status=404)
    pictures = [(_inside(state.folder, each.photo), each.alt) for each in listing.photos[:_IN_A_LISTING]]
    html = render(
        "listing.html",
        language=listing.language,
        title=listing.title,
        text=listing.description,
        is_html=listing.channel.text == "html",
        keywords=listing.keywords,
        pictures=[(source, alt) for source, alt in pictures if source],
    )
    return HTMLResponse(html, headers={"content-security-policy": FRAME_POLICY})


def _inside(folder: Path, photo: Photo) -> str:
    """Return a photo as an address that holds it, "" where it cannot be opened."""
    try:
        content = made_small(folder, photo, "small")
    except FieldError:
        return ""
    return f"data:image/jpeg;base64,{base64.b64encode(content).decode()}"
