"""Pictures for the line sheet: two of a set, as it stands closed or styled and open; one of an item, if there is one.

They lie beside the sheet as small squares, cut like every crop, so that a photo is opened again only when it changes.
The more there are, the smaller each is: a hundred sets stay below what goes into one letter.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from listkit.compute.catalog import Catalog, SetFacts
from listkit.compute.crops import crop_box
from listkit.compute.wholesale import Sheet, SheetEntry
from listkit.listing.photos import alts_of, slug_of
from listkit.model.photo import Cut
from listkit.model.shop import Photo, Shop
from listkit.picture.encode import ENCODERS, CropJob, fitted
from listkit.save.job import File, Job, key_of
from listkit.write.context import WriteContext
from listkit.write.photo_crops import cut_crops, verify_crop
from listkit.write.sheet_text import Voice

FOLDER: Final = "wholesale/pictures"
LOGO: Final = "logo.png"
_SHUT: Final = ("closed", "styled", "card", "in hand", "group")
_OPEN: Final = ("open box", "from above", "contents", "group")
# Pictures at most, their pixels along a side and the kilobytes each may weigh: all together at most 4.4 MB, and at
# 30 mm on paper never more than 300 pixels an inch lost. Common practice: what is mailed stays below 5 MB.
_SIZES: Final = ((40, 591, 100), (80, 472, 52), (140, 413, 30), (220, 354, 19), (400, 295, 11), (10**9, 236, 7))
_QUALITY: Final = 82
_LOGO_SIDE: Final = 700


@dataclass(frozen=True, slots=True)
class SheetPicture:
    """A picture of an entry: its name among the others, and words for those who do not see it."""

    name: str
    alt: str


@dataclass(frozen=True, slots=True)
class SheetPictures:
    """All pictures of a sheet: jobs that make them, the ones of each entry by its code, what their bytes depend on."""

    jobs: tuple[Job, ...]
    of: tuple[tuple[str, tuple[SheetPicture, ...]], ...]
    keys: tuple[str, ...]
    logo: bool

    @property
    def names(self) -> tuple[str, ...]:
        """The name of every picture, the logo's first."""
        named = tuple(picture.name for _, pictures in self.of for picture in pictures)
        return tuple(dict.fromkeys((*([LOGO] if self.logo else []), *named)))


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A photo for an entry."""

    code: str
    stem: str
    photo: Photo
    alt: str


def sheet_pictures(sheet: Sheet, catalog: Catalog, voice: Voice, context: WriteContext) -> SheetPictures:
    """Return the pictures of a sheet's entries, and the shop's logo."""
    wanted = tuple(_wanted(sheet, catalog, voice))
    side, kilobytes = next((side, kb) for most, side, kb in _SIZES if len(wanted) <= most)
    names = _names(wanted)
    tiles = ((photo, _tile(photo, side, kilobytes)) for photo in _once(wanted))
    jobs = [_job(catalog.shop, photo, names[photo.file], crop, context) for photo, crop in tiles]
    if (logo := _logo_job(catalog.shop, context)) is not None:
        jobs.insert(0, logo)
    of: dict[str, tuple[SheetPicture, ...]] = {}
    for one in wanted:
        of[one.code] = (*of.get(one.code, ()), SheetPicture(names[one.photo.file], one.alt))
    keys = tuple(file.key for job in jobs for file in job.files)
    return SheetPictures(tuple(jobs), tuple(of.items()), keys, logo is not None)


def _wanted(sheet: Sheet, catalog: Catalog, voice: Voice) -> Iterator[_Wanted]:
    alone = {photo.shows[0]: photo for photo in reversed(tuple(_of_one_item(catalog)))}
    for entry in sheet.entries:
        if entry.facts is not None:
            yield from _of_set(entry, entry.facts, catalog.shop, voice)
        elif entry.code in alone:
            yield _Wanted(entry.code, f"item-{slug_of(entry.code)}", alone[entry.code], entry.name)


def _of_set(entry: SheetEntry, facts: SetFacts, shop: Shop, voice: Voice) -> Iterator[_Wanted]:
    photos = facts.source.photos
    alts = dict(zip((photo.file for photo in photos), alts_of(voice.words, facts, shop, photos), strict=True))
    for number, photo in enumerate(two_of(photos), 1):
        yield _Wanted(entry.code, f"{slug_of(facts.source.folder) or 'set'}-{number}", photo, alts[photo.file])


def two_of(photos: tuple[Photo, ...]) -> tuple[Photo, ...]:
    """Return the picture of a set as it stands and the one of it open; what there is of them, else the first photo."""
    shut = _first(photos, _SHUT, ())
    opened = _first(photos, _OPEN, (shut,))
    found = tuple(photo for photo in (shut, opened) if photo is not None)
    return found or photos[:1]


def _first(photos: tuple[Photo, ...], shots: tuple[str, ...], but: tuple[Photo | None, ...]) -> Photo | None:
    fitting = (photo for shot in shots for photo in photos if photo.shot == shot and photo not in but)
    return next(fitting, None)


def _of_one_item(catalog: Catalog) -> Iterator[Photo]:
    """Yield the close views that show one item and no other."""
    for facts in catalog.sets:
        for photo in facts.source.photos:
            if photo.shot in {"detail", "label"} and len(photo.shows) == 1:
                yield photo


def _once(wanted: tuple[_Wanted, ...]) -> tuple[Photo, ...]:
    return tuple({one.photo.file: one.photo for one in wanted}.values())


def _names(wanted: tuple[_Wanted, ...]) -> dict[str, str]:
    """Return a free name for each photo by its file, however capitals are taken."""
    names: dict[str, str] = {}
    for one in wanted:
        stem, number = one.stem, 1
        while one.photo.file not in names and f"{stem}.jpg" in names.values():
            number += 1
            stem = f"{one.stem}-{number}"
        names.setdefault(one.photo.file, f"{stem}.jpg")
    return names


def _tile(photo: Photo, side: int, kilobytes: int) -> CropJob:
    """Return a square about what must be seen, with ground beside it where the photo has no more."""
    size = (photo.facts.width, photo.facts.height)
    if photo.focus is not None:
        cut = crop_box(size, photo.focus, (1, 1), width=side, if_tight="pad")
    else:
        cut = crop_box(size, photo.facts.found, (1, 1), width=side, if_tight="centre")
    return CropJob("", cut, quality=_QUALITY, largest_kb=kilobytes, ground=photo.facts.ground)


def _job(shop: Shop, photo: Photo, name: str, crop: CropJob, context: WriteContext) -> Job:
    return _cut(shop, (photo.file, photo.facts.sha256), name, crop, context)


def _logo_job(shop: Shop, context: WriteContext) -> Job | None:
    if shop.logo is None:
        return None
    wide, high = shop.logo.width, shop.logo.height
    crop = CropJob("", Cut(0, 0, wide, high, *fitted((wide, high), _LOGO_SIDE)), format="png")
    return _cut(shop, (shop.settings.logo, shop.logo.sha256), LOGO, crop, context)


def _cut(shop: Shop, photo: tuple[str, str], name: str, crop: CropJob, context: WriteContext) -> Job:
    """Return the job of one picture; `photo` is a file and its SHA-256 when it was measured."""
    path, sha256 = photo
    key = key_of(context.version, ENCODERS, sha256, crop)
    file = File(f"{FOLDER}/{name}", key, verify=verify_crop, channel="wholesale")
    return Job(cut_crops, (shop.root / path, sha256), (file,), heavy=True, parts=(crop,))
