"""Pictures of the line sheet: which photo a buyer sees of a set, and that all of them go into one letter."""

from dataclasses import replace

import pytest

from listkit.compute.build import build_catalog
from listkit.compute.wholesale import build_sheet
from listkit.listing.listings import Listings
from listkit.model.shop import Photo, Shop
from listkit.write.context import WriteContext
from listkit.write.sheet_pictures import _SIZES, SheetPictures, sheet_pictures, two_of
from listkit.write.sheet_text import voice_of
from tests.small_shop import gift_set, item, photo, settings, shop, wholesale
from tests.write.sheets import TEMPLATES


def shots(*names: str) -> tuple[Photo, ...]:
    return tuple(photo(f"{at}.jpg", shot) for at, shot in enumerate(names))


@pytest.mark.parametrize(
    ("there", "shown"),
    [
        (("open box", "closed", "styled"), ("closed", "open box")),
        (("styled", "from above"), ("styled", "from above")),
        (("open box",), ("open box",)),
        (("styled",), ("styled",)),
        (("group",), ("group",)),
        (("detail", "label"), ("detail",)),
        ((), ()),
    ],
)
def test_a_buyer_sees_the_set_as_it_stands_and_open(there: tuple[str, ...], shown: tuple[str, ...]) -> None:
    assert tuple(one.shot for one in two_of(shots(*there))) == shown


def pictures(of: Shop) -> SheetPictures:
    catalog = build_catalog(of)
    sheet, voice = build_sheet(catalog), voice_of(of)
    assert sheet is not None
    assert voice is not None
    return sheet_pictures(sheet, catalog, voice, WriteContext("1"))


def small(*photos: Photo) -> Shop:
    own = settings(language="en-GB")
    one = gift_set([{"item": "A-1"}])
    return shop(
        [item("A-1")], [one], settings=own, wholesale=wholesale("SET-1", "A-1"), templates=TEMPLATES,
        photos={"SET-1": photos},
    )  # fmt: skip


def test_an_item_is_shown_by_a_close_view_of_it_alone() -> None:
    of = small(*shots("styled"), photo("bar.jpg", "detail", shows=("A-1",)))
    assert [(code, [one.name for one in shown]) for code, shown in pictures(of).of] == [
        ("SET-1", ["set-1-1.jpg"]),
        ("A-1", ["item-a-1.jpg"]),
    ]


def test_every_picture_has_words_and_none_is_made_twice() -> None:
    made = pictures(small(*shots("styled", "open box")))
    assert all(one.alt for _, shown in made.of for one in shown)
    assert len(made.names) == len(set(made.names)) == len(made.jobs) == 2


def test_without_photos_there_are_no_pictures() -> None:
    assert pictures(small()) == SheetPictures((), (), (), logo=False)


def test_all_pictures_of_a_hundred_sets_weigh_less_than_five_megabytes() -> None:
    """Common practice, no source: what is mailed stays below five megabytes; pages take the rest."""
    assert all(most * kilobytes <= 4_500 for most, _, kilobytes in _SIZES[:-1])
    sides = [side for _, side, _ in _SIZES]
    assert sides == sorted(sides, reverse=True)


def test_a_photo_that_moves_is_made_again_and_the_sheet_with_it() -> None:
    styled = photo("0.jpg", "styled")
    moved = replace(styled, facts=replace(styled.facts, sha256="f" * 64))
    assert pictures(small(styled)).keys != pictures(small(moved)).keys


def test_listings_without_channels_have_pictures_too() -> None:
    of = small(*shots("styled"))
    assert Listings(build_catalog(of), ()).listings == ()
    assert len(pictures(of).jobs) == 1
