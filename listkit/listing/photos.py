"""Photos of listings and of the line sheet: their order, their words, where each is cut, its name and address.

The only place that says where a photo is cut. Names are lower case, tell set, shot and option, and occur once in a
channel, or among the pictures of the sheet, however capitals are taken.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cache, lru_cache
from typing import Final
from urllib.parse import quote

from slugify import slugify

from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.crops import MOST_GROUND, Ground, close_up, crop_box
from listkit.compute.wholesale import Sheet
from listkit.listing.listings import ListedPhoto, Picture
from listkit.listing.titles import WHOLE_SET, Around, Frame, alt_texts
from listkit.listing.words import Words
from listkit.model.channel import Channel, Crop
from listkit.model.gift_set import Fixed
from listkit.model.photo import Cut, FocusBox
from listkit.model.shop import Photo, Shop

SEASON_SHOT: Final = "season"
_LONGEST_NAME, _LONGEST_PART = 240, 100  # letters, a number behind them not counted; systems take 255 bytes
_CLOSED: Final = "closed"
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
        parts, number = _crop_parts(self.channel.crops), 1
        stem = _cut(stem, _LONGEST_NAME - max(map(len, parts), default=0))
        while True:
            numbered = stem if number == 1 else f"{stem}-{number}"
            names = tuple(f"{numbered}-{part}" for part in parts)
            if not self.taken & {name.rpartition(".")[0] for name in names}:
                break
            number += 1
        self.taken.update(name.rpartition(".")[0] for name in names)
        return names


def _cut(slug: str, most: int) -> str:
    """Return a slug in so many letters at most: a folder's name may grow when it is put in plain letters."""
    return slug if len(slug) <= most else slug[:most].rstrip("-")


def _crop_parts(crops: tuple[Crop, ...]) -> tuple[str, ...]:
    """Return each crop's part of a name, with its ending; crops of one slug are numbered."""
    slugs = unlike_slugs((crop.name for crop in crops), "crop")
    return tuple(f"{slug}.{EXTENSIONS[crop.format]}" for crop, slug in zip(crops, slugs, strict=True))


def unlike_slugs(texts: Iterable[str], instead: str) -> tuple[str, ...]:
    """Return a slug for each text, `instead` where it has no plain letters; those that would be one are numbered.

    >>> unlike_slugs(["S.1", "S-1", "🌿"], "box")
    ('s-1', 's-1-2', 'box')
    """
    return tuple(unlike(_cut(slug_of(text), _LONGEST_PART) or instead for text in texts))


def unlike(names: Iterable[str]) -> Iterator[str]:
    """Yield the names so that none comes twice: the second of one name gets a number.

    >>> [*unlike(["a", "b", "a", "a-2", "a"])]
    ['a', 'b', 'a-2', 'a-2-2', 'a-3']
    """
    taken, last = set[str](), dict[str, int]()
    for name in names:
        numbered, number = name, last.get(name, 1)
        while numbered in taken:
            number += 1
            numbered = f"{name}-{number}"
        last[name] = number
        taken.add(numbered)
        yield numbered


def listed_photos(
    facts: SetFacts, photos: tuple[Photo, ...], alts: tuple[str, ...], names: Names
) -> tuple[ListedPhoto, ...]:
    """Return the photos with their words and a picture for each of the channel's crops."""
    channel = names.channel
    parts = _parts(facts)
    folder = slug_of(facts.source.folder) or "set"
    cuts = {photo.file: tuple(cut_of(photo, crop) for crop in channel.crops) for photo in photos}
    sent = tuple(
        _sent(crop, {file: cut[place] for file, cut in cuts.items()}) for place, crop in enumerate(channel.crops)
    )
    listed = []
    for photo, alt in zip(photos, alts, strict=True):
        option = [parts[code] for code in photo.shows if code in parts]
        shot = () if facts.is_single else (slug_of(photo.shot) or "photo",)
        stem = "-".join((folder, *shot, *(option if len(option) == 1 else ())))
        pictures = tuple(
            Picture(crop, cut, name, f"{channel.photo_address}{name}")
            for crop, cut, name, files in zip(channel.crops, cuts[photo.file], names.of(stem), sent, strict=True)
            if photo.file in files
        )
        listed.append(ListedPhoto(photo, alt, pictures, serves_main=not sent or photo.file in sent[0]))
    return in_order(facts, tuple(listed))


def _sent(crop: Crop, cuts: dict[str, Cut]) -> frozenset[str]:
    """Return the photos that a crop takes, by file: all, or those that suit it; never none of a set's."""
    if crop.if_tight != "leave out" or not cuts:
        return frozenset(cuts)
    best = min(cuts, key=lambda file: (_unsuited(cuts[file]), cuts[file].ground_share))
    return frozenset(file for file, cut in cuts.items() if not _unsuited(cut) or file == best)


def _unsuited(cut: Cut) -> bool:
    """Whether a buyer would see that the photo was not made for the crop."""
    return cut.tight or cut.rough


def in_order(facts: SetFacts, photos: tuple[ListedPhoto, ...]) -> tuple[ListedPhoto, ...]:
    """Return photos in the order that a place shows them: one that shows the box first, those its crop cuts last.

    Else the owner's order stays.
    """

    def unsuited(listed: ListedPhoto) -> bool:
        return listed.main is None or _unsuited(listed.main.cut)

    boxes = [photo for photo in photos if facts.source.gift_set.boxed and photo.photo.shot in {*WHOLE_SET, _CLOSED}]
    cover = min(boxes, key=unsuited, default=None)
    return tuple(sorted(photos, key=lambda listed: (listed is not cover, unsuited(listed))))


def lender_of(channel: Channel, shop: Shop) -> str:
    """Return the key of the place in whose folder a channel's pictures lie; "" where none are made."""
    key = channel.photos_of or channel.key
    return next((each.key for each in shop.channels if each.key == key and "photos" in each.make), "")


def photos_folder(channel: Channel, shop: Shop) -> str:
    """Return the address of the folder of a channel's pictures, seen from the channel's own; "" where none are made."""
    lender = lender_of(channel, shop)
    if not lender:
        return ""
    return "photos" if lender == channel.key else f"../{quote(lender)}/photos"


def with_address(pictures: tuple[Picture, ...], address: str) -> tuple[Picture, ...]:
    """Return pictures of another channel, at this one's `photo_address` where it has one."""
    return (
        tuple([replace(picture, address=f"{address}{picture.name}") for picture in pictures]) if address else pictures
    )


def cut_of(photo: Photo, crop: Crop) -> Cut:
    """Return where a crop of a channel is cut."""
    ratio = (crop.ratio.width, crop.ratio.height)
    if_tight = "pad" if crop.if_tight == "leave out" else crop.if_tight
    return cut_to(photo, ratio, width=crop.width, if_tight=if_tight, most_ground=crop.most_ground)


def cut_to(
    photo: Photo, ratio: tuple[int, int], *, width: int, if_tight: str, most_ground: Decimal = MOST_GROUND
) -> Cut:
    """Return where a photo is cut to a ratio: about the stated focus, which is kept whole, else about what was found.

    `width` is in pixels; `if_tight` is what is done where a stated focus does not go into the ratio, `most_ground` the
    share of the picture that may then be ground.
    """
    size = (photo.facts.width, photo.facts.height)
    if photo.focus is not None:
        ground = Ground(photo.facts.edges, most_ground)
        return crop_box(size, photo.focus, ratio, width=width, if_tight=if_tight, ground=ground)
    return crop_box(size, photo.facts.found, ratio, width=width, if_tight="centre")


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
    return alt_texts(
        wording, frames, Around(facts.name, facts.source.gift_set.season, shop.settings.name, facts.is_single)
    )


@dataclass(frozen=True, slots=True)
class Shown:
    """One listed photo as variants look at it: its file name, the options in it, its address.

    `whole` is whether it is a shot of a whole set in its box, whatever was chosen for it.
    """

    file: str
    options: frozenset[str]
    address: str
    whole: bool = False


def shown_photos(facts: SetFacts, photos: tuple[ListedPhoto, ...]) -> tuple[Shown, ...]:
    """Return what variants need of the photos that have a picture: the address is the first crop's."""
    options = frozenset(option.item for slot in facts.source.gift_set.slots for option in slot.choose)
    return tuple(
        Shown(
            listed.photo.name,
            options.intersection(listed.photo.shows),
            listed.main.address,
            facts.source.gift_set.boxed and listed.photo.shot in {*WHOLE_SET, _CLOSED},
        )
        for listed in photos
        if listed.main
    )


def images_on(photos: tuple[Shown, ...]) -> Callable[[Variant], tuple[str, ...]]:
    """Return the function from a variant to its addresses: its own photo first, then the set's.

    Of those that show options of the set, pictures of other options alone are left out; one of the whole set stays,
    so that nobody chooses without having seen the box.
    """
    shown = frozenset[str]().union(*[photo.options for photo in photos])

    @cache
    def images(file: str, chosen: frozenset[str]) -> tuple[str, ...]:
        fitting = [photo for photo in photos if photo.whole or photo.options <= chosen]
        own = next((photo for photo in photos if photo.file == file), None) if file else None
        if own is None and fitting:
            alone = [photo for photo in fitting if photo.options and photo.options <= chosen]
            own = max(alone, key=lambda photo: len(photo.options), default=None)  # the first of those that show most
        if own is None:
            return tuple([photo.address for photo in fitting])
        return (own.address, *[photo.address for photo in fitting if photo is not own])

    return lambda variant: images(variant.photo, shown.intersection([choice.item.code for choice in variant.choices]))


@lru_cache(maxsize=4096)
def slug_of(text: str) -> str:
    """Return `text` as a file name has it: small plain letters, digits and hyphens.

    >>> slug_of("Crème & Co. No 5")
    'creme-co-no-5'
    """
    return slugify(text, entities=False, decimal=False, hexadecimal=False)


def _parts(facts: SetFacts) -> dict[str, str]:
    """Return by item code an option's part of a variant's code, as file names have it."""
    return {option.item: slug_of(option.code_part) for slot in facts.source.gift_set.slots for option in slot.choose}


# Photos of the line sheet: two of a set, as it stands closed or styled and open; one of an item, if there is one.
#
# The more there are, the smaller each is: a hundred sets stay below what goes into one letter.

_SHUT: Final = ("closed", "styled", "card", "in hand", "group")
_OPEN: Final = ("open box", "from above", "contents", "group")
# Pictures at most, their pixels along a side and the kilobytes each may weigh: all together at most 4.4 MB, and at
# 30 mm on paper never more than 300 pixels an inch lost. Common practice: what is mailed stays below 5 MB.
SHEET_SIZES: Final = ((40, 591, 100), (80, 472, 52), (140, 413, 30), (220, 354, 19), (400, 295, 11), (10**9, 236, 7))

ITEM_MM: Final = {"quiet": 22, "bold": 57}
"""How wide an item's picture is on the sheet at most, by its design, in mm: three beside each other on the bold one."""

# The picture that leads the sheet: at 182 mm across 170 pixels an inch, and a quarter of a megabyte.
LEAD: Final = "lead.jpg"
LEAD_RATIO: Final = (16, 9)
LEAD_WIDTH: Final = 1200
_LEAD_KILOBYTES: Final = 250
_LEAD_GROUND: Final = Decimal("0.1")  # of it at most continued beside the photo


@dataclass(frozen=True, slots=True)
class SheetPhoto:
    """A photo of one entry of the line sheet: the entry's code, the picture's file name, words for it, its square.

    Entries may share a photo; then name and cut are the same. `kilobytes` is what the picture may weigh. `lent_by` is
    the set whose photo shows an item that has none of its own, else "".
    """

    code: str
    name: str
    photo: Photo
    alt: str
    cut: Cut
    kilobytes: int
    lent_by: str = ""


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A photo for an entry, and what its file would be called."""

    code: str
    stem: str
    photo: Photo
    alt: str
    lent_by: str = ""
    close: FocusBox | None = None  # what of the photo is wanted, as close as that can be

    @property
    def cut_of(self) -> tuple[str, FocusBox | None]:
        """What tells its picture apart: entries that want the same of a photo share one."""
        return self.photo.file, self.close


def sheet_photos(sheet: Sheet, catalog: Catalog, wordings: Words) -> tuple[SheetPhoto, ...]:
    """Return the photos of the sheet's entries, in the order of the entries."""
    wanted = tuple(_wanted(sheet, catalog, wordings))
    side, kilobytes = next((side, kilobytes) for most, side, kilobytes in SHEET_SIZES if len(wanted) <= most)
    names = _free_names(wanted)
    return tuple(
        SheetPhoto(
            code=one.code,
            name=names[one.cut_of],
            photo=one.photo,
            alt=one.alt,
            cut=_square(one, side),
            kilobytes=kilobytes,
            lent_by=one.lent_by,
        )
        for one in wanted
    )


def _square(wanted: _Wanted, side: int) -> Cut:
    if wanted.close is None:
        return cut_to(wanted.photo, (1, 1), width=side, if_tight="pad")
    return close_up((wanted.photo.facts.width, wanted.photo.facts.height), wanted.close, (1, 1), width=side)


def lead_photo(sheet: Sheet, catalog: Catalog, wordings: Words) -> SheetPhoto | None:
    """Return the picture that leads the sheet: of the sets, in order, the first photo that fills it.

    A set's open box comes before the set shut. None where every photo is too small or made for another shape.
    """
    for entry in sheet.entries:
        if entry.facts is None or entry.code != (sheet.terms.front or entry.code):
            continue
        photos = entry.facts.source.photos
        alts = alts_of(wordings, entry.facts, catalog.shop, photos)
        alt_by_file = dict(zip((photo.file for photo in photos), alts, strict=True))
        for photo in reversed(two_of(photos)):
            cut = cut_to(photo, LEAD_RATIO, width=LEAD_WIDTH, if_tight="pad")
            if cut.right - cut.left >= LEAD_WIDTH and cut.ground_share <= _LEAD_GROUND and not _unsuited(cut):
                return SheetPhoto(entry.code, LEAD, photo, alt_by_file[photo.file], cut=cut, kilobytes=_LEAD_KILOBYTES)
    return None


def _wanted(sheet: Sheet, catalog: Catalog, wordings: Words) -> Iterator[_Wanted]:
    alone = {photo.shows[0]: photo for photo in reversed(tuple(_of_one_item(catalog)))}
    items_are_seen = any(entry.facts is None and entry.code in alone for entry in sheet.entries)
    for entry in sheet.entries:
        if entry.facts is not None:
            photos = entry.facts.source.photos
            alts = alts_of(wordings, entry.facts, catalog.shop, photos)
            alt_by_file = dict(zip((photo.file for photo in photos), alts, strict=True))
            stem = _cut(slug_of(entry.facts.source.folder), _LONGEST_NAME) or "set"
            for number, photo in enumerate(two_of(photos), 1):
                yield _Wanted(entry.code, f"{stem}-{number}", photo, alt_by_file[photo.file])
        elif entry.code in alone:
            yield _Wanted(entry.code, f"item-{slug_of(entry.code)}", alone[entry.code], entry.name)
        elif items_are_seen and (lent := _lent(entry.code, catalog)) is not None:
            facts, photo = lent
            photos = facts.source.photos
            alt = alts_of(wordings, facts, catalog.shop, photos)[photos.index(photo)]
            close = dict(photo.pieces).get(entry.code) or photo.focus or photo.facts.found
            stem = f"item-{slug_of(entry.code)}"
            yield _Wanted(entry.code, stem, photo, alt, lent_by=facts.name, close=close)


def _lent(code: str, catalog: Catalog) -> tuple[SetFacts, Photo] | None:
    """Return the first set with a photo of an item among others: one that says where, or that it shows it; else open.

    The last of a set that holds the item whatever is chosen.
    """
    for facts in catalog.sets:
        held = any(item.code == code for item in facts.items)
        if photo := next((photo for photo in facts.source.photos if held and code in dict(photo.pieces)), None):
            return facts, photo
    for facts in catalog.sets:
        if photo := next((photo for photo in facts.source.photos if code in photo.shows), None):
            return facts, photo
    for facts in catalog.sets:
        held = all(any(piece.item.code == code for piece in variant.pieces) for variant in facts.variants)
        if held and facts.variants and (photos := two_of(facts.source.photos)):
            return facts, photos[-1]
    return None


def two_of(photos: tuple[Photo, ...]) -> tuple[Photo, ...]:
    """Return the picture of a set as it stands and the one of it open; what there is of them, else the first photo."""
    shut = _first(photos, _SHUT)
    opened = _first(tuple(photo for photo in photos if photo is not shut), _OPEN)
    return tuple(photo for photo in (shut, opened) if photo is not None) or photos[:1]


def _first(photos: tuple[Photo, ...], shots: tuple[str, ...]) -> Photo | None:
    return next((photo for shot in shots for photo in photos if photo.shot == shot), None)


def _of_one_item(catalog: Catalog) -> Iterator[Photo]:
    """Yield the close views that show one item and no other."""
    for facts in catalog.sets:
        for photo in facts.source.photos:
            if photo.shot in {"detail", "label"} and len(photo.shows) == 1:
                yield photo


def _free_names(wanted: tuple[_Wanted, ...]) -> dict[tuple[str, FocusBox | None], str]:
    """Return a free file name for each photo by what is wanted of it."""
    names: dict[tuple[str, FocusBox | None], str] = {}
    for one in wanted:
        stem, number = one.stem, 1
        while one.cut_of not in names and f"{stem}.jpg" in names.values():
            number += 1
            stem = f"{one.stem}-{number}"
        names.setdefault(one.cut_of, f"{stem}.jpg")
    return names
