"""Checks of photos: which are missing, too small, dark or blurred, shown twice, or show what is not said.

All goes by what was measured when the photo was read, and by what its owner says of it; no picture is opened.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from itertools import combinations
from math import ceil
from typing import Final

from listkit.check.alike import folded, listed
from listkit.check.places import WHOLESALE, CheckContext, line_codes, offered, offered_alone_too, set_place
from listkit.compute.catalog import SetFacts
from listkit.compute.crops import focus_pixels
from listkit.listing.listings import ListedPhoto, Listing, Listings, Picture
from listkit.listing.papers import papers_of
from listkit.listing.photos import ITEM_MM
from listkit.model.photo import Cut, likeness_distance
from listkit.model.shop import Photo
from listkit.problem import Level, Place, Problem
from listkit.units.length import MM_PER_INCH
from listkit.units.quantity import share_text

_OF_A_BOX: Final = frozenset({"open box", "closed"})
_FRAMES_OF_A_KIND: Final = 2  # from so many on, pictures of single options are meant for all
MOST_FOR_ROUNDING: Final = Decimal("0.01")
"""So little ground as one pixel that whole pixels leave is none."""
_MOST_COMPARED: Final = 60
"""Photos of one set that are compared with each other by their looks."""


def shot_missing(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a set, with all that it lacks; a set without box is not asked for an open or closed one."""
    stated = listings.catalog.shop.settings.shots.required
    required = dict.fromkeys(" ".join(shot.casefold().replace("-", " ").split()) for shot in stated)
    for facts in offered(listings.catalog):
        there = {photo.shot for photo in facts.source.photos}
        asked = [shot for shot in required if facts.source.gift_set.boxed or shot not in _OF_A_BOX]
        missing = [f'"{shot}"' for shot in asked if shot not in there]
        if missing:
            message = f"{facts.name} has no photo of the kind {listed(missing)}."
            name = missing[0].strip('"').replace(" ", "-") + ".jpg"
            hint = f'Put one there called "{name}", or say shot = "..." of one that is there.'
            yield Problem(Place(f"sets/{facts.source.folder}/photos"), "shot-missing", message, hint)


def option_unseen(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Where two options of a slot have a picture, the others want one too; told once a slot."""
    for facts in offered(listings.catalog):
        gift_set = facts.source.gift_set
        seen = {code for photo in facts.source.photos for code in photo.shows}
        seen |= {code for note in gift_set.variants if note.photo for code in note.options.values()}
        for slot in gift_set.slots:
            codes = [option.item for option in slot.choose]
            unseen = [code for code in codes if code not in seen]
            if unseen and len(codes) - len(unseen) >= _FRAMES_OF_A_KIND:
                message = f"no photo shows {listed(unseen)}, though {len(codes) - len(unseen)} other options have one."
                hint = f'Take one of each, or say shows = ["{unseen[0]}"] of a photo that has it.'
                yield Problem(set_place(facts, "photos"), "option-unseen", f"{slot.slot}: {message}", hint)


def photo_small(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a photo, with the crop that lacks most; nothing is ever made larger than it was."""
    small: dict[str, list[tuple[Decimal, Listing, ListedPhoto, Picture]]] = defaultdict(list)
    for listing in listings:
        for shown in listing.photos if not listing.channel.photos_of else ():
            for picture in shown.pictures:
                if picture.cut.width < picture.crop.smallest:
                    share = Decimal(picture.crop.smallest) / max(picture.cut.width, 1)
                    small[shown.photo.file].append((share, listing, shown, picture))
    for file, cases in small.items():
        _, listing, shown, picture = max(cases, key=lambda case: case[0])
        wide, high = shown.photo.facts.width, shown.photo.facts.height
        more = f" ({len(cases)} crops are too small)" if len(cases) > 1 else ""
        message = (
            f'the crop "{picture.crop.name}" of {listing.channel.name} is {picture.cut.width} pixels wide, '
            f"and at least {picture.crop.smallest} are wanted{more}."
        )
        needed = " × ".join(str(-(-side * picture.crop.smallest // max(picture.cut.width, 1))) for side in (wide, high))
        hint = f"The photo has {wide} × {high}; one of {needed} would do, or a smaller focus box."
        yield Problem(Place(file), "photo-small", message, hint)


def piece_blurred(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Told once a box of `pieces` of so few pixels that the line sheet prints the piece blurred."""
    papers, shop = papers_of(listings), listings.catalog.shop
    if papers.document is None:
        return
    least, side = context.figures["piece-blurred"], ITEM_MM[papers.document.sheet.terms.design]
    keys = line_codes(listings.catalog)
    for shown in papers.photos:
        box = dict(shown.photo.pieces).get(shown.code) if shown.lent_by else None
        needed, pixels = ceil(least * side / MM_PER_INCH), shown.cut.right - shown.cut.left
        if box is None or pixels >= needed:
            continue
        wide, high = shown.photo.facts.width, shown.photo.facts.height
        left, top, right, bottom = focus_pixels((wide, high), box)
        across = shop.settings.measures.length(Decimal(side))
        message = (
            f"{shown.code} is {right - left} × {bottom - top} pixels of {shown.photo.name} of {shown.lent_by}, and the "
            f"line sheet prints {pixels} on {across}, {pixels * MM_PER_INCH // side} an inch: blurred. From {least:f} "
            f"an inch on, which are {needed} here, it is sharp."
        )
        more = " × ".join(str(-(-length * needed // pixels)) for length in (wide, high))
        hint = f"Take the photo anew with {more} pixels, or a close view of the piece alone, or take it out of pieces."
        place = Place(WHOLESALE, key=keys.get(shown.code, ()))
        yield Problem(place, "piece-blurred", message, hint)


def crop_tight(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a photo, with all crops that cannot hold what must stay whole."""
    tight: dict[str, list[tuple[Listing, Picture]]] = defaultdict(list)
    for listing in listings:
        for shown in listing.photos:
            tight[shown.photo.file] += [
                (listing, picture)
                for picture in shown.pictures
                if picture.cut.tight and picture.crop.if_tight == "problem"
            ]
    for file, cases in tight.items():
        if cases:
            crops = listed(list(dict.fromkeys(f'"{p.crop.name}" ({p.crop.ratio})' for _, p in cases)))
            message = f"{crops} cannot hold all of the focus box."
            hint = 'Write a smaller focus, if_tight = "pad" for the crop, or take the picture from further away.'
            yield Problem(Place(file), "crop-tight", message, hint)


def crop_ground(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a crop of a channel: how many of its pictures needed ground, on how many it shows, and the worst."""
    for channel, own in listings.by_channel():
        if channel.photos_of or "photos" not in channel.make:
            continue
        by_crop: dict[int, dict[str, Picture]] = {}
        for photo in (photo for listing in own for photo in listing.photos):
            for picture in photo.pictures:
                by_crop.setdefault(id(picture.crop), {})[photo.photo.file] = picture
        wanted = {photo.photo.file for listing in own for photo in listing.photos}
        for number, crop in enumerate(channel.crops):
            shown = by_crop.get(id(crop), {})
            counts = _of_ground([picture.cut for picture in shown.values()], len(wanted - shown.keys()))
            if counts and crop.if_tight != "problem":
                message = f'of {len(wanted)} pictures for "{crop.name}" ({crop.ratio}): {counts}'
                worst = max(shown, key=lambda file: _ground_seen(shown[file].cut), default="")
                if worst and any(_ground_seen(shown[worst].cut)):
                    message += f"; look first at {worst}"
                hint = "Take those from further away, or on a plain ground that reaches the edges"
                if crop.if_tight == "pad":
                    hint += '; if_tight = "leave out" sends other photos instead of those that do not suit'
                place = Place(f"channels/{channel.key}.toml", key=("crop", number))
                yield Problem(place, "crop-ground", f"{message}.", f"{hint}.")


def _of_ground(cuts: list[Cut], left_out: int) -> str:
    """Return how many crops are cut, on ground that shows, on ground that passes, or left out; "" where all pass."""
    tight = sum(cut.tight for cut in cuts)
    rough = sum(cut.rough and not cut.tight for cut in cuts)
    even = sum(cut.ground_share > MOST_FOR_ROUNDING and not cut.rough and not cut.tight for cut in cuts)
    counts = (
        (tight, "with the focus box cut into"),
        (rough, "on continued ground that shows"),
        (even, "on continued ground that passes"),
        (left_out, "left out"),
    )
    told = tight or rough or left_out
    return listed([f"{count} {what}" for count, what in counts if count]) if told else ""


def _ground_seen(cut: Cut) -> tuple[int, Decimal]:
    """Return what sorts crops by how much a buyer would see: those cut, those on ground that shows, then by share."""
    return 2 * cut.tight + cut.rough, cut.ground_share


def photo_twice(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """The same file twice in a set, or as a picture of the whole of two sets; in a set also what looks the same.

    A picture of one option may be in every set that has the option, and pictures that `shows` tells apart look alike
    because the jars do. Nothing is told of one that nobody has opened yet.
    """
    most = int(context.figures["photo-twice"])
    elsewhere: dict[str, Photo] = {}
    for facts in listings.catalog.listed:
        seen: dict[str, Photo] = {}
        for photo in (each for each in facts.source.photos if each.facts.sha256):
            twin = seen.setdefault(photo.facts.sha256, photo)
            if twin is photo and not photo.shows:
                twin = elsewhere.setdefault(photo.facts.sha256, photo)
            if twin is not photo:
                message = f"it is the same picture as {twin.file}."
                yield Problem(Place(photo.file), "photo-twice", message, "Take one out, or say what it shows.")
        yield from _near(list(seen.values())[:_MOST_COMPARED], most)


def _near(photos: list[Photo], most: int) -> Iterator[Problem]:
    """Yield once each photo that looks the same as one before it, where both show the same options."""
    seen: set[str] = set()
    for first, later in combinations(photos, 2):
        if later.file in seen or set(first.shows) != set(later.shows):
            continue
        if likeness_distance(first.facts.likeness, later.facts.likeness) <= most:
            seen.add(later.file)
            message = f"it looks the same as {first.file}."
            hint = "Take one out, or say what each shows."
            yield Problem(Place(later.file), "photo-twice", message, hint, Level.LOOK_AT)


def photo_shows_another(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """What a photo is said to show, what its words and file name name, and the variant it stands for, agree."""
    language = listings.catalog.shop.settings.language
    for facts in offered(listings.catalog):
        options = _option_names(facts, language)
        alts = {note.file: at for at, note in enumerate(facts.source.gift_set.photos)}
        for photo in facts.source.photos:
            said = _said_instead(photo, options, language) if photo.shows else ""
            if said:
                message = f"{photo.name} shows {listed(photo.shows)}, but {said}."
                place = set_place(facts, "photos", alts[photo.name]) if photo.name in alts else Place(photo.file)
                yield Problem(place, "photo-shows-another", message, "Mend shows, or take another picture.")
        yield from _wrong_variant(facts)


@dataclass(frozen=True, slots=True)
class _OptionName:
    """The name of options, of more than one word, as folded and as `_bare`, and the items that have it."""

    name: str
    bare: str
    codes: frozenset[str]


def _said_instead(photo: Photo, options: list[_OptionName], language: str) -> str:
    """Return what a photo's words or file name say of another option, and of none that it shows; "" if they do not."""
    file_name = photo.name.rpartition(".")[0].replace("-", " ").replace("_", " ")
    for typed, where in ((photo.alt, "its words say"), (file_name, "its file name says")):
        bare = _bare(folded(typed, language))
        named = [option for option in options if option.bare in bare]
        if named and not any(option.codes.intersection(photo.shows) for option in named):
            return f'{where} "{named[0].name}"'
    return ""


def _option_names(facts: SetFacts, language: str) -> list[_OptionName]:
    """Return the names of more than one word, each with the items that have it."""
    items = {item.code: item for item in facts.items}
    named: dict[str, set[str]] = defaultdict(set)
    for slot in facts.source.gift_set.slots:
        for option in slot.choose:
            name = folded(items[option.item].name, language)
            if " " in name:
                named[name].add(option.item)
    return [_OptionName(name, _bare(name), frozenset(codes)) for name, codes in named.items()]


@lru_cache(maxsize=4096)
def _bare(text: str) -> str:
    """Return a folded text with blanks around it, without its "and", which file names mostly leave out."""
    return f" {' '.join(word for word in text.split() if word not in _ANDS)} "


_ANDS: Final = frozenset({"and", "et", "und", "en", "y", "e", "och"})


def _wrong_variant(facts: SetFacts) -> Iterator[Problem]:
    """A variant's own photo shows none of another option."""
    options = {option.item for slot in facts.source.gift_set.slots for option in slot.choose}
    shows = {photo.name: set(photo.shows) & options for photo in facts.source.photos}
    for at, note in enumerate(facts.source.gift_set.variants):
        strange = sorted(shows.get(note.photo, set()) - set(note.options.values()))
        if strange and len(note.options) == len(facts.source.gift_set.slots):
            message = f"{note.photo} shows {listed(strange)}, which is not in this variant."
            place = set_place(facts, "variant", at, "photo")
            yield Problem(place, "photo-shows-another", message, "Name another photo, or mend its shows.")


def photo_dark(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Mean lightness of the whole picture; a dark ground may be meant."""
    least = context.figures["photo-dark"]
    for photo in _all_photos(listings):
        if photo.facts.brightness < least:
            message = f"its mean lightness is {share_text(photo.facts.brightness)}."
            hint = f"Below {share_text(least)} little is seen; take it in better light."
            yield Problem(Place(photo.file), "photo-dark", message, hint)


def photo_blurred(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Sharpness over the whole picture; a soft ground lowers it."""
    least = context.figures["photo-blurred"]
    for photo in _all_photos(listings):
        if photo.facts.sharpness < least:
            message = f"its sharpness is {share_text(photo.facts.sharpness)}."
            hint = f"Below {share_text(least)} it looks blurred; take it again."
            yield Problem(Place(photo.file), "photo-blurred", message, hint)


def _all_photos(listings: Listings) -> Iterator[Photo]:
    for facts in offered_alone_too(listings.catalog):
        yield from facts.source.photos
    yield from (photo for _, photo in listings.catalog.shop.season_photos)


def alt_twice(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once for a set and text; words that are not stated are made unlike each other."""
    seen: set[tuple[str, str]] = set()
    for listing in listings:
        first: dict[str, ListedPhoto] = {}
        stated = {note.file: at for at, note in enumerate(listing.facts.source.gift_set.photos) if note.alt}
        for shown in listing.photos:
            alt = folded(shown.alt, listing.language)
            twin = first.setdefault(alt, shown)
            if twin is not shown and (listing.folder, alt) not in seen:
                seen.add((listing.folder, alt))
                name = shown.photo.name
                place = listing.place("photos", stated[name], "alt") if name in stated else Place(shown.photo.file)
                message = f'{twin.photo.name} and {name} have the same words: "{shown.alt}".'
                yield Problem(place, "alt-twice", message, "Say what is to be seen in each, or leave alt out.")
