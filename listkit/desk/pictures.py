"""Pictures and listings as the browser shows them: photos of sets made small, and a listing in its own sandboxed page.

A photo is looked up among those of the set that a request names; no path of a request becomes one on the disk.
"""

import base64
import hashlib
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from typing import Final

from PIL import Image
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from listkit.desk.guard import FRAME_POLICY
from listkit.desk.page import Desk, page, render
from listkit.model.shop import Photo
from listkit.picture.open import colours_of, on_page, read_bytes, read_picture
from listkit.problem import FieldError

SIZES: Final = {"small": 480, "large": 1600}
"""Pixels on the longer side, by the word that an address asks for."""
_GROUND: Final = "#ffffff"
_MOST_KEPT: Final = 600  # made pictures in memory, of some 30 kB each
_IN_A_LISTING: Final = 3


def show_photo(desk: Desk, request: Request) -> Response:
    """Return a photo of a set as a small JPEG."""
    state = desk.shop_state
    seen, params = state.look(), request.path_params
    facts = seen.facts(params["code"])
    photos = facts.source.photos if facts else ()
    photo = next((each for each in photos if each.name == params["name"]), None)
    if photo is None:
        return page(desk, request, "sets", template="nothing", status=404)
    size = SIZES.get(request.query_params.get("size", ""), SIZES["small"])
    tag = f'"{photo.facts.sha256[:24]}-{size}"'
    headers = {"etag": tag, "cache-control": "private, no-cache"}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    try:
        return Response(made_small(state.folder / photo.file, photo.facts.sha256, size), 200, headers, "image/jpeg")
    except FieldError:
        return Response(status_code=404)


@lru_cache(maxsize=_MOST_KEPT)
def made_small(file: Path, sha256: str, size: int) -> bytes:
    """Return a picture as JPEG in sRGB of so many pixels on its longer side; it has the bytes that were measured.

    Raises:
        FieldError: it is no picture any more, or another one.
    """
    content = read_bytes(file)
    if hashlib.sha256(content).hexdigest() != sha256:
        raise FieldError("the picture was changed just now.", "Load the page again.")
    original = read_picture(file, content, at_least=size)
    image = on_page(colours_of(original.image.mode, original.profile).srgb(original.image), _GROUND)
    image.thumbnail((size, size), Image.Resampling.LANCZOS)
    target = BytesIO()
    image.save(target, "JPEG", quality=82, optimize=False)
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
        content = made_small(folder / photo.file, photo.facts.sha256, SIZES["small"])
    except FieldError:
        return ""
    return f"data:image/jpeg;base64,{base64.b64encode(content).decode()}"
