"""Photos of a listing: their order, their words, each crop's name and address, and which belong to a variant.

Names are lower case, tell set, shot and option, and occur once in a channel however capitals are taken.
"""

from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

from slugify import slugify

from listkit.compute.catalog import SetFacts, Variant
from listkit.compute.crops import crop_box
from listkit.compute.variants import part_of
from listkit.listing.listings import ListedPhoto, Picture
from listkit.listing.titles import WHOLE_SET, Around, Frame, alt_texts
from listkit.listing.words import Words
from listkit.model.channel import Channel, Crop
from listkit.model.gift_set import Fixed
from listkit.model.photo import Cut
from listkit.model.shop import Photo, Shop

SEASON_SHOT: Final = "season"
EXTENSIONS: Final = {"jpeg": "jpg", "webp": "webp", "avif": "avif", "png": "png"}


def ordered_photos(facts: SetFacts, shop: Shop) -> tuple[Photo, ...]:
    """Return the set's photos in the order they are shown, its season's picture last."""
    season = tuple(photo for name, photo in shop.season_photos if name == facts.source.gift_set.season)
    return (*facts.source.photos, *season)


@dataclass(slots=True)
class Names:
    """The names given so far in one channel."""

    channel: Channel
    taken: set[str] = field(default_factory=set)

    def of(self, stem: str) -> tuple[str, ...]:
        """Return one free name for each crop, the first number with which all of them are free."""
        number = 1
        while True:
            numbered = stem if number == 1 else f"{stem}-{number}"
            names = tuple(f"{numbered}-{part}" for part in _crop_parts(self.channel.crops))
            if not self.taken & {name.rpartition(".")[0] for name in names}:
                break
            number += 1
        self.taken.update(name.rpartition(".")[0] for name in names)
        return names


def _crop_parts(crops: tuple[Crop, ...]) -> tuple[str, ...]:
    """Return each crop's part of a name, with its ending; crops of one slug are numbered."""
    parts: dict[str, str] = {}
    for crop in crops:
        slug = numbered = slug_of(crop.name) or "crop"
        number = 2
        while numbered in parts:
            numbered = f"{slug}-{number}"
            number += 1
        parts[numbered] = f"{numbered}.{EXTENSIONS[crop.format]}"
    return tuple(parts.values())


def listed_photos(
    facts: SetFacts, photos: tuple[Photo, ...], alts: tuple[str, ...], names: Names
) -> tuple[ListedPhoto, ...]:
    """Return the photos with their words and a picture for each of the channel's crops."""
    channel = names.channel
    parts = {option.item: slug_of(part_of(option)) for slot in facts.source.gift_set.slots for option in slot.choose}
    folder = slug_of(facts.source.folder) or "set"
    listed = []
    for photo, alt in zip(photos, alts, strict=True):
        option = [parts[code] for code in photo.shows if code in parts]
        stem = "-".join((folder, slug_of(photo.shot) or "photo", *(option if len(option) == 1 else ())))
        pictures = tuple(
            Picture(crop, cut_of(photo, crop), name, f"{channel.photo_address}{name}")
            for crop, name in zip(channel.crops, names.of(stem), strict=True)
        )
        listed.append(ListedPhoto(photo, alt, pictures))
    return tuple(listed)


def cut_of(photo: Photo, crop: Crop) -> Cut:
    """Return where a crop is cut: about the stated focus, which is kept whole, else about what was found."""
    size, ratio = (photo.facts.width, photo.facts.height), (crop.ratio.width, crop.ratio.height)
    if photo.focus is not None:
        return crop_box(size, photo.focus, ratio, width=crop.width, if_tight=crop.if_tight)
    return crop_box(size, photo.facts.found, ratio, width=crop.width, if_tight="centre")


def frames_of(facts: SetFacts, photos: tuple[Photo, ...]) -> tuple[Frame, ...]:
    """Return what each photo shows, in items: all of the set where the shot does, else what `shows` names."""
    gift_set = facts.source.gift_set
    fixed = {entry.item for entry in gift_set.contents if isinstance(entry, Fixed)}
    frames = []
    for photo in photos:
        whole, shown = photo.shot in WHOLE_SET, set(photo.shows)
        seen = shown | fixed if whole else shown
        unknown = tuple(slot.slot for slot in gift_set.slots if not shown & {option.item for option in slot.choose})
        items = tuple(item for item in facts.items if item.code in seen)
        frames.append(Frame(photo.shot, items, unknown if whole else (), photo.alt))
    return tuple(frames)


def alts_of(wording: Words, facts: SetFacts, shop: Shop, photos: tuple[Photo, ...]) -> tuple[str, ...]:
    """Return the words for each photo, in their order."""
    season = {photo.file for _, photo in shop.season_photos}
    frames = tuple(
        Frame(SEASON_SHOT, stated=frame.stated) if photo.file in season else frame
        for photo, frame in zip(photos, frames_of(facts, photos), strict=True)
    )
    return alt_texts(wording, frames, Around(facts.name, facts.source.gift_set.season, shop.settings.name))


@dataclass(frozen=True, slots=True)
class Shown:
    """One listed photo as variants look at it: its file name, the options in it, its address."""

    file: str
    options: frozenset[str]
    address: str


def shown_photos(facts: SetFacts, photos: tuple[ListedPhoto, ...]) -> tuple[Shown, ...]:
    """Return what variants need of the photos that have a picture: the address is the first crop's."""
    options = frozenset(option.item for slot in facts.source.gift_set.slots for option in slot.choose)
    return tuple(
        Shown(listed.photo.name, options.intersection(listed.photo.shows), listed.pictures[0].address)
        for listed in photos
        if listed.pictures
    )


def images_of(variant: Variant, photos: tuple[Shown, ...]) -> tuple[str, ...]:
    """Return a variant's addresses: its own photo first, then the others that show no option but its own."""
    chosen = {choice.item.code for choice in variant.choices}
    fitting = [photo for photo in photos if photo.options <= chosen]
    own = next((photo for photo in photos if photo.file == variant.photo), None) if variant.photo else None
    if own is None and fitting:
        most = max(fitting, key=lambda photo: len(photo.options))  # the first of those that show most
        own = most if most.options else None
    if own is None:
        return tuple([photo.address for photo in fitting])
    return (own.address, *[photo.address for photo in fitting if photo is not own])


@lru_cache(maxsize=4096)
def slug_of(text: str) -> str:
    """Return `text` as a file name has it: small plain letters, digits and hyphens.

    >>> slug_of("Crème & Co. No 5")
    'creme-co-no-5'
    """
    return slugify(text, entities=False, decimal=False, hexadecimal=False)
