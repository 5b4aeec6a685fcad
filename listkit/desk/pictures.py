"""Pictures and listings as the browser shows them: photos of sets made small, and a listing in its own sandboxed page.

A photo is looked up among those of the set that a request names; no path of a request becomes one on the disk.
"""

import base64
import hashlib
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
from listkit.listing.photos import cut_to
from listkit.model.shop import Photo
from listkit.picture.open import colours_of, on_page, read_bytes, read_picture
from listkit.problem import FieldError

SIZES: Final = {"tile": 480, "small": 480, "large": 1600}
"""Pixels of a picture by the word that an address asks for: of the longer side, or of a tile's width."""
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
    tag = (
        f'"{hashlib.sha256(repr((seen.stamps.get(photo.file), photo.facts, photo.focus, size)).encode()).hexdigest()}"'
    )
    headers = {"etag": tag, "cache-control": "private, no-cache"}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    try:
        return Response(made_small(state.folder, photo, size, tag), 200, headers, "image/jpeg")
    except FieldError:
        return Response(status_code=404)


@lru_cache(maxsize=_MOST_KEPT)
def made_small(folder: Path, photo: Photo, size: str, tag: str = "") -> bytes:
    """Return a picture as JPEG in sRGB, as large as a word of SIZES says; it has the bytes that were measured.

    Raises:
        FieldError: it is no picture any more, or another one.
    """
    file, pixels = folder / photo.file, SIZES[size]
    content = read_bytes(file)
    if photo.facts.sha256 and hashlib.sha256(content).hexdigest() != photo.facts.sha256:
        raise FieldError("the picture was changed just now.", "Load the page again.")
    original = read_picture(file, content, at_least=pixels)
    image = on_page(colours_of(original.image.mode, original.profile).srgb(original.image), _GROUND)
    if size == "tile":
        if not photo.facts.sha256:  # not measured yet: its sides and its subject are not known
            photo = replace(photo, facts=replace(photo.facts, width=original.size[0], height=original.size[1]))
        cut = cut_to(photo, TILE, width=pixels, if_tight="problem")
        by = image.width / original.size[0]
        sides = tuple(round(side * by) for side in (cut.left, cut.top, cut.right, cut.bottom))
        image = image.crop((sides[0], sides[1], sides[2], sides[3]))
    image.thumbnail((pixels, pixels), Image.Resampling.LANCZOS)
    target = BytesIO()
    image.save(target, "JPEG", quality=82)
    return target.getvalue()


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
