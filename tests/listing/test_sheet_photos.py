"""Pictures of the line sheet: which photo a buyer sees of a set, and that all of them go into one letter."""

from dataclasses import replace
from decimal import Decimal

import pytest

from listkit.compute.build import build_catalog
from listkit.listing.listings import Listings
from listkit.listing.papers import papers_of
from listkit.listing.photos import SHEET_SIZES, SheetPhoto, two_of
from listkit.model.photo import WHOLE
from listkit.model.shop import Photo, Shop
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


def photos(of: Shop) -> tuple[SheetPhoto, ...]:
    """The photos of a sheet; the shop has no channel."""
    listings = Listings(build_catalog(of), ())
    assert papers_of(listings).document is not None
    return papers_of(listings).photos


def small(*photos: Photo) -> Shop:
    own = settings(language="en-GB")
    one = gift_set([{"item": "A-1"}])
    return shop(
        [item("A-1")], [one], settings=own, wholesale=wholesale("SET-1", "A-1"), templates=TEMPLATES,
        photos={"SET-1": photos},
    )  # fmt: skip


def test_an_item_is_shown_by_a_close_view_of_it_alone() -> None:
    of = small(*shots("styled"), photo("bar.jpg", "detail", shows=("A-1",)))
    assert [(one.code, one.name) for one in photos(of)] == [("SET-1", "set-1-1.jpg"), ("A-1", "item-a-1.jpg")]


def test_every_picture_has_words_and_none_is_made_twice() -> None:
    made = photos(small(*shots("styled", "open box")))
    assert all(one.alt for one in made)
    assert len({one.name for one in made}) == len(made) == 2


def test_without_photos_there_are_no_pictures() -> None:
    assert photos(small()) == ()


def test_all_pictures_of_a_hundred_sets_weigh_less_than_five_megabytes() -> None:
    """Common practice, no source: what is mailed stays below five megabytes; pages take the rest."""
    assert all(most * kilobytes <= 4_500 for most, _, kilobytes in SHEET_SIZES[:-1])
    sides = [side for _, side, _ in SHEET_SIZES]
    assert sides == sorted(sides, reverse=True)


def test_a_square_keeps_a_stated_focus_whole_with_ground_beside_it() -> None:
    taken = photo("0.jpg", "styled")
    [found], [stated] = (
        photos(small(taken)),
        photos(small(replace(taken, focus=replace(WHOLE, left=Decimal("0.0667"), right=Decimal("0.9999"))))),
    )
    assert not any(found.cut.pad)
    assert found.cut.right - found.cut.left == found.cut.bottom - found.cut.top == 2000
    assert (stated.cut.right - stated.cut.left, stated.cut.bottom - stated.cut.top) == (2800, 2000)
    assert not stated.cut.tight
    assert any(stated.cut.pad)


def test_an_item_without_a_photo_borrows_one_of_a_set_where_other_items_have_theirs() -> None:
    """A-2 is in the set whatever is chosen; where no item has a photo, nothing is lent: items are rows of a table."""
    one = gift_set([{"item": "A-1"}, {"item": "A-2"}])
    of = shop(
        [item("A-1"), item("A-2")], [one], settings=settings(language="en-GB"),
        wholesale=wholesale("SET-1", "A-1", "A-2"), templates=TEMPLATES,
        photos={"SET-1": (*shots("styled", "open box"), photo("bar.jpg", "detail", shows=("A-1",)))},
    )  # fmt: skip
    lent = {
        made.code: (made.lent_by, made.photo.file.rpartition("/")[2]) for made in photos(of) if made.code != "SET-1"
    }
    assert lent == {"A-1": ("", "bar.jpg"), "A-2": (of.sets[0].gift_set.name, "1.jpg")}
    bare = replace(of, sets=tuple(replace(each, photos=shots("styled", "open box")) for each in of.sets))
    assert {made.code for made in photos(bare)} == {"SET-1"}
