"""Photos of a listing: order, names, crops, and which belong to a variant."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.listing.listings import Listing
from listkit.listing.photos import cut_of
from listkit.model.photo import WHOLE, Edges
from listkit.model.shop import Photo
from listkit.paths import path_fault
from tests.listing.shops import BAR, JAR, SCRUB, channel, folder, listed, photo, shop

PHOTOS = (
    photo("box.jpg", "open box", shows=["HH-U1"]),
    photo("plain.jpg", "closed"),
    photo("jar.jpg", "detail", shows=["HH-U1"]),
    photo("scrub.jpg", "detail", shows=["HH-S1"]),
    photo("both.jpg", "group", shows=["HH-U1", "HH-S1"]),
)
GRID = {"name": "Grid", "ratio": "1:1", "width": 1000}


def listing(*photos: Photo, season: Photo | None = None, crops: Any = (GRID,), **changes: Any) -> Listing:
    limits = changes.pop("limits", {})
    made = shop(
        folder(photos=photos, **changes),
        channels=[channel(crop=crops, limits=limits)],
        season_photos=[("spring", season), ("winter", photo("snow.jpg"))] if season else (),
    )
    return listed(made).listings[0]


def names(of: Listing) -> list[str]:
    return [one.pictures[0].name for one in of.photos]


def test_photos_stay_in_their_order_with_the_season_s_picture_last() -> None:
    made = listing(*PHOTOS, season=photo("spring.jpg", "group"))
    assert [one.photo.name for one in made.photos] == [
        "box.jpg", "plain.jpg", "jar.jpg", "scrub.jpg", "both.jpg", "spring.jpg",
    ]  # fmt: skip
    assert made.photos[-1].alt == "All of our sets for spring, side by side, packed by Hob & Hedge"
    assert names(made)[-1] == "low-tide-group-2-grid.jpg"


def test_what_the_channel_does_not_take_is_left_out_from_the_end() -> None:
    made = listing(*PHOTOS, season=photo("spring.jpg"), limits={"photos": 4})
    assert [one.photo.name for one in made.photos] == ["box.jpg", "plain.jpg", "jar.jpg", "scrub.jpg"]
    assert [one.name for one in made.dropped_photos] == ["both.jpg", "spring.jpg"]


def test_a_name_tells_set_shot_option_number_and_crop() -> None:
    twice = photo("jar2.jpg", "detail", shows=["HH-U1"])
    assert names(listing(*PHOTOS, twice)) == [
        "low-tide-open-box-u1-grid.jpg",
        "low-tide-closed-grid.jpg",
        "low-tide-detail-u1-grid.jpg",
        "low-tide-detail-s1-grid.jpg",
        "low-tide-group-grid.jpg",
        "low-tide-detail-u1-2-grid.jpg",
    ]


def test_the_address_is_the_channel_s_and_the_ending_the_format_s() -> None:
    crops = [GRID, {"name": "Wide view", "ratio": "16:9", "width": 1600, "format": "webp"}]
    pictures = listing(PHOTOS[1], crops=crops).photos[0].pictures
    assert [one.address for one in pictures] == [
        "https://hh.example/p/low-tide-closed-grid.jpg",
        "https://hh.example/p/low-tide-closed-wide-view.webp",
    ]


@pytest.mark.parametrize("folder_name", ["春" * 80, "f" * 245, "long-name-" * 20])
def test_a_name_is_one_that_every_system_takes_however_long_folder_and_crop_are(folder_name: str) -> None:
    """A letter of another script is up to five plain ones; before, such a folder ended a build in a traceback."""
    crops = [{"name": name, "ratio": "1:1", "width": 1000} for name in ("c" * 300, "c" * 299, "Grid")]
    made = shop(folder(photos=PHOTOS, at=folder_name), channels=[channel(crop=crops)])
    given = [one.name for listed_photo in listed(made).listings[0].photos for one in listed_photo.pictures]
    assert len(set(given)) == len(given) == 3 * len(PHOTOS)
    assert [path_fault(f"web/photos/{name}") for name in given] == [""] * len(given)


SOME = st.sampled_from(["a", "A", "a-b", "b", "B c", "Éa", "detail", "2", "", "🌿", "a 2"])


@given(
    st.lists(st.tuples(SOME, st.lists(SOME, max_size=4)), min_size=1, max_size=4, unique_by=lambda one: one[0]),
    st.lists(SOME.filter(bool), max_size=3),
)
def test_no_two_pictures_of_a_channel_share_a_name_however_capitals_are_taken(
    sets: list[tuple[str, list[str]]], crops: list[str]
) -> None:
    made = shop(
        *(
            folder(at=at or "x", code=f"S{n}", photos=[photo(f"{m}.jpg", shot) for m, shot in enumerate(shots)])
            for n, (at, shots) in enumerate(sets)
        ),
        channels=[channel(crop=[GRID | {"name": name} for name in crops])],
    )
    found = [one.name for listing in listed(made) for shown in listing.photos for one in shown.pictures]
    assert len({name.casefold() for name in found}) == len(found)
    assert [name for name in found if not name.isascii() or name != name.lower() or " " in name] == []


def test_a_variant_shows_its_own_photo_first_then_the_whole_set_and_no_close_view_of_another_option() -> None:
    made = listing(*PHOTOS)
    own = {offer.variant.code: [one.rpartition("low-tide-")[2] for one in offer.images] for offer in made.offers}
    assert own == {
        "HHS-1-U1": ["open-box-u1-grid.jpg", "closed-grid.jpg", "detail-u1-grid.jpg", "group-grid.jpg"],
        "HHS-1-S1": ["detail-s1-grid.jpg", "open-box-u1-grid.jpg", "closed-grid.jpg", "group-grid.jpg"],
    }


def test_the_photo_with_most_of_a_variant_s_options_is_its_own() -> None:
    contents = [{"slot": "Bar", "choose": ["HH-B1"]}, {"slot": "Jar", "choose": ["HH-U1", "HH-S1"]}]
    shots = (
        photo("bar.jpg", "detail", shows=["HH-B1"]),
        photo("pair.jpg", "group", shows=["HH-B1", "HH-U1"]),
        photo("again.jpg", "group", shows=["HH-U1", "HH-B1"]),
    )
    made = listing(*shots, contents=contents)
    first = [offer.images[0].rpartition("/")[2] for offer in made.offers]
    assert first == ["low-tide-group-grid.jpg", "low-tide-detail-b1-grid.jpg"]


def test_a_stated_photo_comes_before_all_others() -> None:
    note = {"options": {"Jar": "HH-U1"}, "photo": "both.jpg"}
    made = listing(*PHOTOS, variant=[note])
    assert made.offers[0].images[0] == "https://hh.example/p/low-tide-group-grid.jpg"
    assert len(set(made.offers[0].images)) == len(made.offers[0].images) == 4


def test_a_set_without_slots_shows_all_its_photos_and_no_crop_means_no_image() -> None:
    shots = (photo("a.jpg", "detail", shows=["HH-B1"]), photo("b.jpg", "group"))
    assert len(listing(*shots, contents=[{"item": "HH-B1"}]).offers[0].images) == 2
    assert listing(*shots, crops=()).offers[0].images == ()


@pytest.mark.parametrize(("if_tight", "padded", "tight"), [("pad", True, False), ("problem", False, True)])
def test_a_stated_focus_that_a_crop_cannot_hold_is_padded_or_marked(if_tight: str, padded: bool, tight: bool) -> None:
    crop = channel(crop=[GRID | {"if_tight": if_tight, "most_ground": "40 %"}]).crops[0]
    stated = cut_of(Photo("a.jpg", PHOTOS[0].facts, "other", WHOLE), crop)
    assert (any(stated.pad), stated.tight) == (padded, tight)
    guessed = cut_of(Photo("a.jpg", PHOTOS[0].facts, "other"), crop)
    assert (any(guessed.pad), guessed.tight) == (False, False)


def every_name(made: Listing) -> list[str]:
    return [picture.name.removeprefix("low-tide-") for shown in made.photos for picture in shown.pictures]


UNEVEN = Edges(40, 40, 40, 40)


def rough(name: str, shot: str) -> Photo:
    """A photo whose focus no square holds, with no even edge."""
    taken = photo(name, shot)
    return replace(taken, facts=replace(taken.facts, edges=UNEVEN), focus=WHOLE)


def test_a_crop_that_leaves_out_sends_other_photos_and_their_pictures_come_first_where_the_order_is_ours() -> None:
    shots = (rough("a.jpg", "closed"), photo("b.jpg", "styled"), photo("c.jpg", "detail"))
    grid, wide = GRID | {"if_tight": "leave out", "most_ground": "60 %"}, {"name": "whole", "ratio": "3:2", "width": 90}
    made = listing(*shots, crops=[grid, wide])
    assert every_name(made) == [
        "styled-grid.jpg", "styled-whole.jpg", "detail-grid.jpg", "detail-whole.jpg", "closed-whole.jpg"
    ]  # fmt: skip
    assert [image.rpartition("low-tide-")[2] for image in made.offers[0].images] == [
        "styled-grid.jpg", "detail-grid.jpg"
    ]  # fmt: skip


def test_a_set_keeps_one_picture_though_none_suits_the_crop() -> None:
    assert every_name(
        listing(rough("a.jpg", "detail"), rough("b.jpg", "closed"), crops=[GRID | {"if_tight": "leave out"}])
    ) == ["detail-grid.jpg"]


def test_the_first_picture_shows_the_box_and_is_one_that_the_crop_does_not_cut() -> None:
    shots = (photo("a.jpg", "detail"), rough("b.jpg", "closed"), photo("c.jpg", "styled"), photo("d.jpg", "label"))
    assert every_name(listing(*shots)) == ["styled-grid.jpg", "detail-grid.jpg", "label-grid.jpg", "closed-grid.jpg"]


def test_detail_names_only_what_it_shows_and_the_whole_set_what_is_always_in_it() -> None:
    alts = listing(*PHOTOS).alts
    assert alts[0] == "Open box with Gorse & Salt bar soap, Quince & Wax lip balm and Meadow body butter"
    assert alts[2] == "Close-up of Meadow body butter in a glass jar, from Low Tide"
    assert {BAR["name"], JAR["name"], SCRUB["name"]} == {"Gorse & Salt", "Meadow", "Shoreline"}
    assert listing(photo("a.jpg", "open box")).alts == (
        "Open box with Gorse & Salt bar soap, Quince & Wax lip balm and a jar",
    )
