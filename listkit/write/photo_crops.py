"""Photos: every picture each channel wants, cut from each photo opened once.

One heavy job a photo serves all channels, listings and crops, so the same photo in two channels is decoded once. What
belongs to one crop alone is its job's part: a crop that is missing is made alone, and its neighbours stay.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from listkit.listing.listings import ListedPhoto, Listing, Listings, Picture
from listkit.model.channel import Channel
from listkit.model.shop import Photo
from listkit.picture.encode import ENCODERS, CropJob, CropPlan, make_crops, verify_picture
from listkit.save.job import File, Job, Recipe, key_of
from listkit.write.context import WriteContext


@dataclass(frozen=True, slots=True)
class _Wanted:
    """One crop of one photo, and the file it becomes."""

    photo: Photo
    crop: CropJob
    path: str
    channel: Channel
    codes: tuple[str, ...]


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield one job for each photo that a channel wants pictures of, in the order they are first wanted."""
    by_photo: dict[str, dict[str, _Wanted]] = {}
    for channel, own in listings.by_channel():
        if "photos" in channel.make:
            for wanted in _wanted(channel, own):
                by_photo.setdefault(wanted.photo.file, {}).setdefault(wanted.path, wanted)
    root = listings.catalog.shop.root
    for crops in by_photo.values():
        yield _job(root, tuple(crops.values()), context)


def _wanted(channel: Channel, listings: tuple[Listing, ...]) -> Iterator[_Wanted]:
    for listing in listings:
        for listed in listing.photos:
            for picture in listed.pictures:
                path = f"{channel.key}/photos/{picture.name}"
                codes = tuple(dict.fromkeys((listing.facts.code, *listed.photo.shows)))
                yield _Wanted(listed.photo, crop_job(listed, picture), path, channel, codes)


def crop_job(listed: ListedPhoto, picture: Picture) -> CropJob:
    """Return how one picture is cut and written; its name stays out, for no byte depends on it."""
    crop = picture.crop
    return CropJob(
        "",
        picture.cut,
        format=crop.format,
        quality=crop.quality,
        largest_kb=crop.largest_kb,
        chroma=crop.chroma,
        background=crop.background,
        alt=listed.alt,
        linear=crop.linear,
    )


def _job(root: Path, wanted: tuple[_Wanted, ...], context: WriteContext) -> Job:
    photo = wanted[0].photo
    files = tuple(
        File(
            one.path,
            key_of(context.version, ENCODERS, photo.facts.sha256, one.crop),
            one.codes,
            channel=one.channel.key,
            verify=verify_crop,
        )
        for one in wanted
    )
    inputs = (root / photo.file, photo.facts.sha256)
    return Job(cut_crops, inputs, files, heavy=True, parts=tuple(one.crop for one in wanted))


def cut_crops(photo: Path, sha256: str, crops: tuple[CropJob, ...], paths: tuple[Path, ...]) -> None:
    """Cut the crops from the photo that was measured, which is opened once: a recipe."""
    make_crops(photo, CropPlan(crops, sha256), paths)


def verify_crop(path: Path, recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when the file is the crop that was asked for, whole; else what is wrong with it."""
    photo, sha256, crops = inputs
    return verify_picture(path, recipe, (photo, CropPlan(crops, sha256)), number=0)
