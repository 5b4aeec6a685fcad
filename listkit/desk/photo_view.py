"""Pictures of a set as a page shows them: the focus box of each, every crop that places want, and what is to be said.

Nothing is opened here: where a crop is cut, and whether that cuts anything off, is arithmetic.
"""

import unicodedata
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Final

from listkit.compute.catalog import SetFacts
from listkit.compute.crops import focus_pixels
from listkit.desk.page import say
from listkit.desk.pictures import crop_sides
from listkit.desk.set_view import called, marks_of
from listkit.desk.state import Seen
from listkit.edit.toml import value_at
from listkit.listing.photos import cut_of
from listkit.model.channel import Channel, Crop
from listkit.model.naming import Naming
from listkit.model.photo import Cut, FocusBox
from listkit.model.shop import Photo
from listkit.pipeline import Checked
from listkit.problem import FieldError, KeyPath, Problem
from listkit.read.photos import shot_of
from listkit.units.quantity import share_text

SIDES: Final = ("left", "top", "right", "bottom")
PHOTOS: Final[KeyPath] = ("photos",)
"""The key of a set's file that has an entry for each picture."""
_HUNDREDTH: Final = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class WantedCrop:
    """A crop that looks the same on several places: the widest of those that want it, and each with its place's name.

    `left_out` is whether a place takes another photo instead where this one does not suit.
    """

    crop: Crop
    by: tuple[tuple[str, Crop], ...]

    @property
    def left_out(self) -> bool:
        """Whether a photo that does not suit is not sent."""
        return self.crop.if_tight == "leave out"


@dataclass(frozen=True, slots=True)
class ShownCrop:
    """A crop of one picture as the page shows it.

    `state` is "tight" where the focus box is cut into, "rough" where continued ground shows, "out" where another
    picture is sent for either, "small" where it has too few pixels, "ground" where ground is continued and passes,
    "guess" where no box is stated, "guess_cut" where that cuts into what was found, else "whole"; `says` is the same in
    words. `sides` are pixels on the page, `places` who wants it.
    """

    ratio: str
    places: tuple[str, ...]
    sides: tuple[int, int]
    state: str
    says: str


@dataclass(frozen=True, slots=True)
class Typed:
    """What was sent of a picture and cannot be: its name, the texts by their fields, and what is wrong at each."""

    name: str = ""
    texts: Mapping[str, Sequence[str]] = field(default_factory=dict)
    wrong: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class PhotoView:
    """A picture on the page.

    `sides` are the per cents of the stated focus box, or as they were typed; `box` is where it is drawn, in pixels of
    the picture: left, top, width, height. `stated` is False where the box is only what was found in the picture.
    `made_alt` are the words that places show, `shot` is "" where the file's name says what it shows.
    """

    photo: Photo
    sides: Mapping[str, str]
    box: tuple[int, int, int, int]
    stated: bool
    alt: str
    made_alt: str
    shot: str
    shot_by_name: str
    shows: tuple[str, ...]
    crops: tuple[ShownCrop, ...]
    problems: tuple[Problem, ...]
    wrong: Mapping[str, str]

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of the picture."""
        return self.photo.facts.width, self.photo.facts.height

    @property
    def verdict(self) -> str:
        """Whether anything is cut off, in words."""
        return verdict(self.crops)


def verdict(crops: Sequence[ShownCrop]) -> str:
    """Return whether anything is cut off in some crops, in words."""
    if not crops:
        return say("photos.no_crops")
    states = Counter(crop.state for crop in crops)
    if states["tight"]:
        return say("photos.cut_off", count=states["tight"], of=len(crops))
    if doubtful := states["rough"] + states["out"]:
        return say("photos.doubt", count=doubtful, of=len(crops))
    if states["guess_cut"]:
        return say("photos.guess_cut", count=states["guess_cut"], of=len(crops))
    return say("photos.guessed" if states["guess"] else "photos.whole")


def entries_of(content: bytes) -> tuple[Mapping[str, Any], ...]:
    """Return the entries of pictures in a set's file, those that are no tables empty; () where it is no TOML."""
    try:
        there = value_at(content, PHOTOS)
    except FieldError:
        return ()
    return tuple(each if isinstance(each, dict) else {} for each in there) if isinstance(there, list) else ()


def index_of(entries: Sequence[Mapping[str, Any]], name: str) -> int | None:
    """Return which entry is of a picture; None where none is."""
    plain = unicodedata.normalize("NFC", name)
    return next(
        (at for at, each in enumerate(entries) if unicodedata.normalize("NFC", str(each.get("file", ""))) == plain),
        None,
    )


def crops_of(seen: Seen, checked: Checked | None) -> tuple[WantedCrop, ...]:
    """Return every crop that places want of the set's photos; those that look the same once."""
    listings = checked.listings if checked else ()
    channels = {listing.channel.key: listing.channel for listing in listings}
    return _alike(tuple(channels.values()) or seen.opened.shop.channels)


def _alike(channels: Sequence[Channel]) -> tuple[WantedCrop, ...]:
    alike: dict[tuple[object, ...], list[tuple[str, Crop]]] = {}
    for channel in channels:
        for crop in channel.crops:
            key = (crop.ratio, crop.if_tight, crop.most_ground, crop.background)
            alike.setdefault(key, []).append((channel.name, crop))
    return tuple(
        WantedCrop(max((crop for _, crop in by), key=lambda crop: crop.width), tuple(by)) for by in alike.values()
    )


def views_of(
    facts: SetFacts,
    wanted: Sequence[WantedCrop],
    entries: Sequence[Mapping[str, Any]],
    *,
    problems: Sequence[Problem],
    typed: Typed,
) -> Iterator[PhotoView]:
    """Yield the pictures of a set in their order, as the page shows them."""
    for photo in facts.source.photos:
        at = index_of(entries, photo.name)
        entry = entries[at] if at is not None else {}
        texts = typed.texts if typed.name == photo.name else {}
        shot, alt = entry.get("shot", ""), entry.get("alt", "")
        box = photo.focus or photo.facts.found
        width, height = photo.facts.width, photo.facts.height
        yield PhotoView(
            photo=photo,
            sides={side: _typed(texts, side, per_cent(photo.focus, side)) for side in SIDES},
            box=(
                round(box.left * width),
                round(box.top * height),
                round((box.right - box.left) * width),
                round((box.bottom - box.top) * height),
            ),
            stated=photo.focus is not None,
            alt=_typed(texts, "alt", str(alt)),
            made_alt="",
            shot=_typed(texts, "shot", str(shot)),
            shot_by_name=shot_of(photo.name),
            shows=tuple(texts.get("shows", ())) if texts else photo.shows,
            crops=tuple(shown_crop(photo, each, cut_of(photo, each.crop)) for each in wanted),
            problems=tuple(each for each in problems if _is_of(each, photo, at)),
            wrong=typed.wrong if typed.name == photo.name else {},
        )


def _typed(texts: Mapping[str, Sequence[str]], name: str, stated: str) -> str:
    return "\n".join(texts[name]) if name in texts else stated


def _is_of(problem: Problem, photo: Photo, at: int | None) -> bool:
    return problem.place.file == photo.file or (at is not None and problem.place.key[:2] == (*PHOTOS, at))


def is_of_all(problem: Problem) -> bool:
    """Whether a problem is of the pictures, and of none of them alone."""
    return problem.place.file.endswith("/photos") or problem.place.key == PHOTOS


def per_cent(focus: FocusBox | None, side: str) -> str:
    """Return a side of a focus box as the page has it: 0.0405 is "4.05", of none ""."""
    return "" if focus is None else f"{(getattr(focus, side) * 100).normalize():f}"


def shown_crop(photo: Photo, wanted: WantedCrop, cut: Cut) -> ShownCrop:
    """Return what is to be said of a crop of a picture, and how large it is on the page."""
    small = [
        (name, crop, width)
        for name, crop in wanted.by
        if (width := cut_of(photo, crop).width) < crop.smallest and photo.facts.sha256
    ]
    ground = share_text(cut.ground_share.quantize(_HUNDREDTH))
    if cut.tight or cut.rough:
        state = "out" if wanted.left_out else "tight" if cut.tight else "rough"
        says = say(f"photos.says.{state}", share=ground)
    elif small:
        name, crop, width = small[0]
        state, says = "small", say("photos.says.small", place=name, width=width, smallest=crop.smallest)
    elif any(cut.pad) and cut.ground_share >= _HUNDREDTH:
        state = "ground"
        says = say("photos.says.ground", share=ground)
    else:
        state = "whole" if photo.focus is not None else "guess" if _holds_found(photo, cut) else "guess_cut"
        says = say(f"photos.says.{state}")
    ratio = f"{wanted.crop.ratio.width}:{wanted.crop.ratio.height}"
    places = tuple(f"{name}: {crop.name}" for name, crop in wanted.by)
    return ShownCrop(ratio, places, crop_sides((wanted.crop.ratio.width, wanted.crop.ratio.height)), state, says)


def _holds_found(photo: Photo, cut: Cut) -> bool:
    left, top, right, bottom = focus_pixels((photo.facts.width, photo.facts.height), photo.facts.found)
    return cut.left <= left and cut.top <= top and right <= cut.right and bottom <= cut.bottom


def made_alts(checked: Checked | None) -> Mapping[str, str]:
    """Return the words that the first place shows for each photo, by its file."""
    listings = tuple(checked.listings) if checked else ()
    return {listed.photo.file: listed.alt for listing in listings[:1] for listed in listing.photos}


def offered_in(facts: SetFacts, naming: Naming) -> Iterator[tuple[str, tuple[tuple[str, str], ...]]]:
    """Yield what may be in a picture: of each slot its options, then what lies in every variant."""
    marks = marks_of(facts.items, naming)
    names = {item.code: called(item, marks, naming) for item in facts.items}
    gift_set, seen = facts.source.gift_set, set[str]()
    for slot in gift_set.slots:
        codes = tuple(option.item for option in slot.choose if option.item not in seen)
        seen.update(codes)
        yield slot.slot, tuple((code, names.get(code, code)) for code in codes)
    always = tuple((code, names.get(code, code)) for code in gift_set.item_codes if code not in seen)
    if always:
        yield say("photos.always"), always
