"""Tests of the photo jobs: what is cut from which photo, for whom, and what is made again."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from listkit.listing.listings import Listings
from listkit.save.job import Job
from listkit.save.save import save
from listkit.write import photo_crops
from listkit.write.context import WriteContext
from tests.write.two_sets import channel, listings

GRID = {"name": "grid", "ratio": "1:1", "width": 300}
TALL = {"name": "tall", "ratio": "4:5", "width": 240, "format": "webp"}


@pytest.fixture
def shop_folder(tmp_path: Path) -> Path:
    """Return a shop folder with the photo of each set."""
    for folder in ("first-nectar", "one-bar"):
        photo = tmp_path / "shop" / "sets" / folder / "photos" / "open-box.jpg"
        photo.parent.mkdir(parents=True)
        Image.linear_gradient("L").resize((900, 600)).convert("RGB").save(photo)
    return tmp_path / "shop"


def jobs(of: Listings) -> list[Job]:
    return list(photo_crops.write(of, WriteContext("1")))


def two_channels(root: Path = Path("shop"), **said: Any) -> Listings:
    return listings(channel("a", crop=[GRID, TALL]), channel("b", crop=[GRID | said]), root=root)


def keys(of: Listings) -> dict[str, str]:
    return {file.path: file.key for job in jobs(of) for file in job.files}


def test_one_heavy_job_a_photo_serves_all_channels_and_crops() -> None:
    first, bar = jobs(two_channels())
    assert [file.path for file in first.files] == [
        "a/photos/first-nectar-open-box-grid.jpg",
        "a/photos/first-nectar-open-box-tall.jpg",
        "b/photos/first-nectar-open-box-grid.jpg",
    ]
    assert first.heavy
    assert first.arguments == (Path("shop/sets/first-nectar/photos/open-box.jpg"), "ab" * 32)
    assert [file.codes for file in bar.files] == [("OHS-2",)] * 3
    assert {file.channel for file in bar.files} == {"a", "b"}


def test_every_crop_is_made_verified_and_of_its_size(shop_folder: Path) -> None:
    out = shop_folder / "out"
    saved = save(jobs(two_channels(shop_folder)), out)
    assert saved.failures == ()
    assert len(saved.made) == 6
    for path in saved.made:
        with Image.open(out / path) as picture:
            assert picture.size == (300, 300)


def test_a_crop_that_is_gone_is_made_alone(shop_folder: Path) -> None:
    out = shop_folder / "out"
    save(jobs(two_channels(shop_folder)), out)
    (out / "a/photos/one-bar-open-box-tall.jpg").unlink()
    assert save(jobs(two_channels(shop_folder)), out).made == ("a/photos/one-bar-open-box-tall.jpg",)


def test_one_crops_setting_changes_its_own_key_alone() -> None:
    before, after = keys(two_channels()), keys(two_channels(quality=70))
    changed = {path for path in before if before[path] != after[path]}
    assert changed == {"b/photos/first-nectar-open-box-grid.jpg", "b/photos/one-bar-open-box-grid.jpg"}


def test_the_same_crop_in_two_channels_has_one_key() -> None:
    found = keys(two_channels())
    assert found["a/photos/one-bar-open-box-grid.jpg"] == found["b/photos/one-bar-open-box-grid.jpg"]


def test_other_words_for_a_photo_change_its_keys_and_another_price_does_not() -> None:
    made = two_channels()
    worded = tuple(
        replace(one, photos=tuple(replace(photo, alt="Other words") for photo in one.photos)) for one in made.listings
    )
    priced = tuple(replace(one, title="Another title", offers=()) for one in made.listings)
    before = keys(made)
    assert not set(before.items()) & set(keys(replace(made, listings=worded)).items())
    assert before == keys(replace(made, listings=priced))


def test_a_file_that_is_not_the_crop_is_told(shop_folder: Path, tmp_path: Path) -> None:
    job = jobs(two_channels(shop_folder))[0]
    paths = tuple(tmp_path / str(number) for number in range(3))
    job.recipe(*job.inputs, paths)
    own = job.select((0,)).inputs
    assert photo_crops.verify_crop(paths[0], job.recipe, own) == ""
    assert "which was not asked for" in photo_crops.verify_crop(paths[1], job.recipe, own)
    paths[0].write_bytes(paths[0].read_bytes()[:-900])
    assert photo_crops.verify_crop(paths[0], job.recipe, own) != ""


def test_a_photo_that_changes_while_it_is_waited_for_is_not_cut(shop_folder: Path) -> None:
    """Else its crops would be remembered as made of the photo that was measured, and stay when that comes back."""
    photo = shop_folder / "sets/one-bar/photos/open-box.jpg"
    measured, waiting = photo.read_bytes(), jobs(two_channels(shop_folder))
    Image.new("RGB", (900, 600), "red").save(photo)
    saved = save(waiting, shop_folder / "out")
    assert [failure.message for failure in saved.failures] == ["open-box.jpg was changed while listkit was at work."]
    photo.write_bytes(measured)
    assert len(save(jobs(two_channels(shop_folder)), shop_folder / "out").made) == 3


def test_only_channels_that_ask_for_photos_get_them() -> None:
    assert jobs(listings(channel(make=["feed"]))) == []
