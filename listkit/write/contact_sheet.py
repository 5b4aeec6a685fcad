"""photos/contact-sheet.html: every photo of a channel with its focus box and all that was cut from it, on one page.

One look finds a bad cut: photos that want to be looked at come first, counted and to be jumped to. The page is read
without network, by keyboard and by screen readers; it lies among the pictures it shows, and is made after them, since
it tells what each weighs.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, Final

from listkit.listing.listings import ListedPhoto, Listing, Listings, Picture
from listkit.listing.photos import slug_of, unlike
from listkit.listing.templates import Formats, Kind, compile_template
from listkit.model.channel import Channel
from listkit.picture.encode import ENCODERS, fitted, thumbnail
from listkit.picture.open import read_measured
from listkit.save.job import File, Job, Recipe, key_of
from listkit.write.context import WriteContext
from listkit.write.photo_crops import crop_job

LONGEST: Final = 360  # of an original on the page, in pixels
SHOWN: Final = 240  # of a crop
LOGO: Final = 96
NAME: Final = "contact-sheet.html"
TEMPLATES: Final = ("contact_sheet/head.html", "contact_sheet/photo.html", "contact_sheet/tail.html")
_MOST_KEPT: Final = 1000  # small pictures of some 15 kB, by the photo's SHA-256 and their longer side
_kept: dict[tuple[str, int], str] = {}


@dataclass(frozen=True, slots=True)
class SheetCrop:
    """One crop on the page; `notes` want a look, `ground` says how much was continued; `weight` is of the file."""

    name: str
    crop: str
    width: int
    height: int
    shown_width: int
    shown_height: int
    notes: tuple[str, ...]
    ground: str = ""
    weight: str = ""


@dataclass(frozen=True, slots=True)
class SheetPhoto:
    """One photo on the page; the focus box in per cent of it. `left_out` are crops that take other photos instead."""

    file: str
    name: str
    set: str
    code: str
    anchor: str
    alt: str
    shot: str
    sha256: str
    width: int
    height: int
    shown_width: int
    shown_height: int
    left: str
    top: str
    wide: str
    high: str
    focus_says: str
    notes: tuple[str, ...]
    left_out: tuple[str, ...]
    crops: tuple[SheetCrop, ...]

    @property
    def wants_a_look(self) -> bool:
        """Whether anything of it is noted."""
        return bool(self.notes) or any(crop.notes for crop in self.crops)


@dataclass(frozen=True, slots=True)
class SheetLook:
    """A photo that wants a look, to be jumped to, and why."""

    anchor: str
    name: str
    says: str


@dataclass(frozen=True, slots=True)
class SheetSet:
    """A set on the page, to be jumped to."""

    anchor: str
    name: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """The whole page of one channel."""

    channel: str
    language: str
    currency: str
    accent: str
    logo: str  # below the shop folder; "" without one
    logo_sha256: str
    photos: tuple[SheetPhoto, ...]
    templates: tuple[str, ...]


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield a page for every channel that asks for photos and has any."""
    shop = listings.catalog.shop
    logo, logo_sha256 = (shop.settings.logo, shop.logo.sha256) if shop.logo else ("", "")
    for channel, own in listings.by_channel():
        if "photos" not in channel.make or not channel.crops or not any(listing.photos for listing in own):
            continue
        texts = tuple(shop.templates[path] for path in TEMPLATES)
        gathered = (photo for listing in own for photo in _photos(listing))
        photos = tuple(sorted(_apart(gathered), key=lambda photo: not photo.wants_a_look))
        language = own[0].language
        sheet = Sheet(
            channel.name, language, own[0].currency, accent=shop.settings.accent,
            logo=logo, logo_sha256=logo_sha256, photos=photos, templates=texts,
        )  # fmt: skip
        file = File(
            f"{channel.key}/photos/{NAME}",
            key_of(context.version, ENCODERS, sheet, *_sources(own)),
            tuple(listing.facts.code for listing in own),
            channel=channel.key,
            verify=verify_sheet,
        )
        yield Job(write_sheet, (shop.root, sheet), (file,), last=True)


def _apart(photos: Iterable[SheetPhoto]) -> Iterator[SheetPhoto]:
    """Yield photos with unlike anchors: "a b.jpg" and "a-b.jpg" would have one."""
    gathered = tuple(photos)
    for photo, anchor in zip(gathered, unlike(photo.anchor for photo in gathered), strict=True):
        yield photo if anchor == photo.anchor else replace(photo, anchor=anchor)


def _sources(listings: tuple[Listing, ...]) -> Iterator[tuple[object, ...]]:
    """Yield what each picture's bytes depend on, since the page tells their weight."""
    for listing in listings:
        for listed in listing.photos:
            yield listed.photo.facts.sha256, *(crop_job(listed, picture) for picture in listed.pictures)


def _photos(listing: Listing) -> Iterator[SheetPhoto]:
    for listed in listing.photos:
        made = {picture.crop.name for picture in listed.pictures}
        facts = listed.photo.facts
        focus = listed.photo.focus or facts.found
        shown = fitted((facts.width, facts.height), LONGEST)
        found = f"The focus box was found: {facts.how_found}."
        yield SheetPhoto(
            file=listed.photo.file,
            name=listed.photo.name,
            set=listing.facts.name,
            code=listing.facts.code,
            anchor=f"{slug_of(listing.folder)}-{slug_of(listed.photo.name)}",
            alt=listed.alt,
            shot=listed.photo.shot,
            sha256=facts.sha256,
            width=facts.width,
            height=facts.height,
            shown_width=shown[0],
            shown_height=shown[1],
            left=_percent(focus.left),
            top=_percent(focus.top),
            wide=_percent(focus.right - focus.left),
            high=_percent(focus.bottom - focus.top),
            focus_says="The focus box is stated." if listed.photo.focus else found,
            notes=_photo_notes(listed),
            left_out=tuple(crop.name for crop in listing.channel.crops if crop.name not in made),
            crops=tuple(sheet_crop(picture, listing.channel) for picture in listed.pictures),
        )


def _photo_notes(listed: ListedPhoto) -> tuple[str, ...]:
    facts = listed.photo.facts
    notes = []
    if facts.profile in ("untagged", "unreadable"):
        notes.append("No colour profile: taken as sRGB.")
    if facts.frames > 1:
        notes.append("Moving picture: its first frame is used.")
    return tuple(notes)


def sheet_crop(picture: Picture, channel: Channel) -> SheetCrop:
    """Return a crop as a page shows it, with what wants a look; its file's weight is not known yet."""
    cut, crop = picture.cut, picture.crop
    notes = []
    if cut.tight:
        notes.append("The focus box is cut into.")
    if cut.rough:
        notes.append("The ground continued at its edge shows.")
    if cut.width < crop.smallest:
        notes.append(f"Narrower than the {crop.smallest} that {channel.name} wants.")
    shown = fitted((cut.width, cut.height), SHOWN)
    share = (cut.ground_share * 100).quantize(Decimal(1), ROUND_HALF_UP)
    return SheetCrop(
        picture.name, f"{crop.name} {crop.ratio}", width=cut.width, height=cut.height,
        shown_width=shown[0], shown_height=shown[1], notes=tuple(notes),
        ground=f"{share}\u00a0% continued ground" if share else "",
    )  # fmt: skip


def _look(photo: SheetPhoto) -> SheetLook:
    of_crops = (f"{crop.crop}: {note}" for crop in photo.crops for note in crop.notes)
    return SheetLook(photo.anchor, f"{photo.set} · {photo.name}", " ".join((*photo.notes, *of_crops)))


def _sets(photos: tuple[SheetPhoto, ...]) -> tuple[SheetSet, ...]:
    """Return each set with its first photo; one of another's name has its code beside it."""
    firsts = {photo.code: photo for photo in reversed(photos)}
    named = Counter(photo.set for photo in firsts.values())
    return tuple(
        SheetSet(
            firsts[code].anchor, f"{firsts[code].set} ({code})" if named[firsts[code].set] > 1 else firsts[code].set
        )
        for code in dict.fromkeys(photo.code for photo in photos)
    )


def _percent(share: Decimal) -> str:
    return f"{(share * 100).quantize(Decimal('0.1'), ROUND_HALF_UP)}"


def write_sheet(root: Path, sheet: Sheet, paths: tuple[Path, ...]) -> None:
    """Write the page beside the pictures it shows, which are there by now: a recipe."""
    folder = paths[0].parent
    formats = Formats(sheet.language, sheet.currency)
    head, each, tail = (compile_template(text, kind=Kind.HTML, formats=formats) for text in sheet.templates)
    sets = _sets(sheet.photos)
    looks = tuple(_look(photo) for photo in sheet.photos if photo.wants_a_look)
    logo = _small(root / sheet.logo, LOGO, sheet.logo_sha256) if sheet.logo else ""
    names = {"logo": logo, "language": sheet.language, "channel": sheet.channel, "accent": sheet.accent, "sets": sets}
    with paths[0].open("w", encoding="utf-8", newline="\n") as page:
        page.write(head.render({**names, "count": len(sheet.photos), "looks": looks, "look_count": len(looks)}))
        for photo in sheet.photos:
            crops = tuple(_weighed(crop, folder) for crop in photo.crops)
            small = _small(root / photo.file, LONGEST, photo.sha256)
            page.write(each.render({"photo": photo, "crops": crops, "thumbnail": small}))
        page.write(tail.render({}))


def _small(photo: Path, longest: int, sha256: str) -> str:
    """Return a small picture of a photo, which has the bytes that were measured, as an address that holds it.

    Pages of several channels show the same photos, so the last ones are kept; the file's bytes are read each time.
    """
    content = read_measured(photo, sha256)
    known = _kept.get((sha256, longest))
    if known is None:
        known = _kept[sha256, longest] = thumbnail(photo, longest, content)
        if len(_kept) > _MOST_KEPT:
            del _kept[next(iter(_kept))]
    return known


def _weighed(crop: SheetCrop, folder: Path) -> SheetCrop:
    try:
        weight = f"{(folder / crop.name).stat().st_size / 1000:.0f} kB"
    except OSError:
        weight = "not made"
    return replace(crop, weight=weight)


class _Pictures(HTMLParser):
    """Gathers the pictures of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.sources: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep what an img shows; one without words is as good as none."""
        told = dict(attrs)
        if tag == "img" and told.get("alt"):
            self.sources.append(told.get("src") or "")


def pictures_on(path: Path) -> list[str]:
    """Return the addresses of all pictures of a page that have words, by an independent parser."""
    seen = _Pictures()
    seen.feed(path.read_text(encoding="utf-8"))
    return seen.sources


def verify_sheet(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when an independent parser finds every picture on the page, each with words; else what is wrong."""
    sheet: Sheet = inputs[1]
    sources = pictures_on(path)
    wanted = [crop.name for photo in sheet.photos for crop in photo.crops]
    shown = [source for source in sources if not source.startswith("data:")]
    originals = len(sources) - len(shown) - bool(sheet.logo)
    return "" if shown == wanted and originals == len(sheet.photos) else "some pictures are missing on the page."
