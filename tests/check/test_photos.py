"""Checks of photos on small shops; what was measured is given, save once for a picture blurred and darkened.

Lightness is ISO/CIE 11664-4; limits are our own, measured, no source.
"""

import datetime
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageFilter

from listkit.check.rules import THRESHOLDS
from listkit.listing.listings import Listings
from listkit.listing.photos import ITEM_MM
from listkit.model.shop import Photo, Shop
from listkit.picture.facts import measure
from listkit.problem import Level
from tests.check.found import found, run, told
from tests.checked import problems_of
from tests.shops import PROBLEMS, broken_shop
from tests.small_shop import channel, gift_set, item, listings, photo, settings, shop

SHIPPED = Path(__file__).resolve().parents[2] / "templates" / "print"
JAR = {"slot": "Jar", "choose": ["A-1", "A-2"]}
ITEMS = [item("A-1", name="Clover & Cream"), item("A-2", name="Linden & Oat")]


def one_set(*photos: Photo, rules: dict[str, Any] | None = None, notes: Any = (), **says: Any) -> Shop:
    of = gift_set([JAR], photos=notes, **says)
    crops = [{"name": "grid", "ratio": "1:1", "width": 1800, "smallest": 900}]
    channels = (channel(crop=crops),)
    return shop(ITEMS, [of], photos={"SET-1": photos}, channels=channels, settings=settings(**(rules or {})))


def test_missing_shots_are_told_once_a_set() -> None:
    rules = {"shots": {"required": ["open box", "styled", "closed"]}}
    assert told("shot-missing", one_set(photo("a.jpg", "styled"), rules=rules)) == [
        'Must fix · sets/set-1/photos: First Set has no photo of the kind "open box" and "closed". '
        'Put one there called "open-box.jpg", or say shot = "..." of one that is there.'
    ]
    assert found("shot-missing", one_set(photo("a.jpg", "styled"), rules=rules, box="none")) == []


def test_a_photo_too_small_for_a_crop_says_what_would_do() -> None:
    """800 of 900 pixels: the original must grow by 9/8, 800 x 600 to 900 x 675."""
    small = photo("a.jpg", width=800, height=600)
    assert told("photo-small", one_set(small)) == [
        'Must fix · sets/set-1/photos/a.jpg: the crop "grid" of Stall is 800 pixels wide, and at least 900 are '
        "wanted. The photo has 800 × 600; one of 900 × 675 would do, or a smaller focus box."
    ]
    assert found("photo-small", one_set(photo("a.jpg", width=900))) == []


def test_a_crop_that_cuts_into_the_focus_box_is_told_once_a_photo() -> None:
    of = one_set(photo("a.jpg"))
    (listing,) = listings(of)
    picture = listing.photos[0].pictures[0]
    crop = picture.crop.model_copy(update={"if_tight": "problem"})
    tight = replace(picture, crop=crop, cut=replace(picture.cut, tight=True))
    pictures = replace(listing.photos[0], pictures=(tight, tight))
    assert lines("crop-tight", Listings(listings(of).catalog, (replace(listing, photos=(pictures,)),))) == [
        'Must fix · sets/set-1/photos/a.jpg: "grid" (1:1) cannot hold all of the focus box. '
        'Write a smaller focus, if_tight = "pad" for the crop, or take the picture from further away.'
    ]


def lines(code: str, of: Listings) -> list[str]:
    return [str(problem) for problem in run(code, of)]


def test_one_file_twice_in_a_set_is_told_whatever_it_shows() -> None:
    one, two = photo("a.jpg", shows=("A-1",)), photo("b.jpg", shows=("A-2",), sha256=photo("a.jpg").facts.sha256)
    (problem,) = found("photo-twice", one_set(one, two))
    assert (problem.place.file, problem.level) == ("sets/set-1/photos/b.jpg", Level.MUST_FIX)


def test_what_looks_the_same_is_looked_at_unless_shows_tells_it_apart() -> None:
    """Five steps of four levels in one field are 20 of 255, six are 24."""
    one, near, far = photo("a.jpg", likeness=0), photo("b.jpg", likeness=5), photo("b.jpg", likeness=6)
    (problem,) = found("photo-twice", one_set(one, near))
    assert problem.level is Level.LOOK_AT
    assert found("photo-twice", one_set(one, far)) == []
    assert found("photo-twice", one_set(replace(one, shows=("A-1",)), replace(near, shows=("A-2",)))) == []
    assert found("photo-twice", one_set(one, near, rules={"checks": {"photo-twice": "19"}})) == []


def test_a_picture_of_one_option_may_be_in_many_sets_but_not_one_of_a_whole_set() -> None:
    def two_sets(*shows: str) -> Shop:
        sets = [gift_set([JAR], code=f"SET-{n}") for n in (1, 2)]
        return shop(ITEMS, sets, photos={one.code: (photo("a.jpg", shows=shows),) for one in sets})

    assert found("photo-twice", two_sets("A-1")) == []
    assert len(found("photo-twice", two_sets())) == 1


@pytest.mark.parametrize(
    ("name", "alt", "where"),
    [("jar.jpg", "Linden & Oat in its jar", "its words say"), ("jar-linden-oat.jpg", "", "its file name says")],
)
def test_a_photo_whose_words_or_name_name_another_option_is_told(name: str, alt: str, where: str) -> None:
    (problem,) = found("photo-shows-another", one_set(photo(name, shows=("A-1",), alt=alt)))
    assert problem.message == f'{name} shows A-1, but {where} "linden and oat".'
    assert found("photo-shows-another", one_set(photo(name, shows=("A-2",), alt=alt))) == []
    assert found("photo-shows-another", one_set(photo(name, alt=alt))) == []


def test_a_variant_whose_own_photo_shows_another_option_is_told_at_its_line() -> None:
    note = [{"options": {"Jar": "A-1"}, "photo": "b.jpg"}]
    (problem,) = found("photo-shows-another", one_set(photo("b.jpg", shows=("A-2",)), variant=note))
    assert problem.place.key == ("variant", 0, "photo")
    assert problem.message == "b.jpg shows A-2, which is not in this variant."


def test_a_photo_for_several_variants_may_show_any_of_them() -> None:
    note = [{"options": {}, "photo": "b.jpg"}]
    assert found("photo-shows-another", one_set(photo("b.jpg", shows=("A-2",)), variant=note)) == []


def test_dark_and_blurred_photos_are_looked_at_up_to_the_threshold() -> None:
    dark, blurred = (THRESHOLDS[code].ours for code in ("photo-dark", "photo-blurred"))
    just = photo("a.jpg", brightness=dark, sharpness=blurred)
    below = photo("b.jpg", brightness=dark - Decimal("0.001"), sharpness=blurred - Decimal("0.001"))
    of = one_set(just, below)
    assert [one.place.file for one in found("photo-dark", of)] == ["sets/set-1/photos/b.jpg"]
    assert [one.place.file for one in found("photo-blurred", of)] == ["sets/set-1/photos/b.jpg"]


def test_every_picture_of_the_demo_is_bright_and_sharp_until_it_is_darkened_or_blurred(
    demo: Listings, demo_folder: Path, tmp_path: Path
) -> None:
    shots = [one for facts in demo.catalog.sets for one in facts.source.photos]
    assert min(one.facts.sharpness for one in shots) > THRESHOLDS["photo-blurred"].ours + Decimal("0.1")
    assert min(one.facts.brightness for one in shots) > THRESHOLDS["photo-dark"].ours + Decimal("0.2")
    with Image.open(demo_folder / shots[0].file) as picture:
        spoilt = picture.convert("RGB").filter(ImageFilter.GaussianBlur(min(picture.size) * 0.01))
    spoilt.point(lambda value: value * 0.3).save(tmp_path / "spoilt.jpg", quality=90)
    facts = measure(tmp_path / "spoilt.jpg")
    assert facts.sharpness < THRESHOLDS["photo-blurred"].ours
    assert facts.brightness < THRESHOLDS["photo-dark"].ours


def test_words_that_two_photos_share_are_told_once() -> None:
    notes = [{"file": "a.jpg", "alt": "A jar"}, {"file": "b.jpg", "alt": "a  JAR"}]
    (problem,) = found("alt-twice", one_set(photo("a.jpg", alt="A jar"), photo("b.jpg", alt="a  JAR"), notes=notes))
    assert problem.place.key == ("photos", 1, "alt")
    assert problem.message == 'a.jpg and b.jpg have the same words: "a  JAR".'


def test_an_option_without_a_picture_is_told_where_two_others_have_one() -> None:
    assert found("option-unseen", one_set(photo("a.jpg", shows=("A-1",)))) == []
    slot = [{"slot": "Jar", "choose": ["A-1", "A-2", "A-3"]}]
    three = [item(code) for code in ("A-1", "A-2", "A-3")]
    photos = (photo("a.jpg", shows=("A-1",)), photo("b.jpg", shows=("A-2",)))
    (problem,) = found("option-unseen", shop(three, [gift_set(slot)], photos={"SET-1": photos}))
    assert problem.message == "Jar: no photo shows A-3, though 2 other options have one."


@pytest.mark.parametrize(("width", "design", "is_told"), [
    (592, "quiet", False), (580, "quiet", True), (592, "bold", True), (1540, "bold", False),
])  # fmt: skip
def test_a_piece_of_few_pixels_is_told_until_there_are_those_that_the_hint_asks_for(
    width: int, design: str, is_told: bool, tmp_path: Path
) -> None:
    """25.4 mm an inch: 170 of them on 22 mm are 148 pixels, on 57 mm 382; the piece with its air is a quarter wide."""
    shop_folder = broken_shop(tmp_path, PROBLEMS / "piece-blurred")
    picture = shop_folder / "sets/dawn/photos/open-box.png"
    with Image.open(picture) as small:
        small.convert("RGB").resize((width, width * 3 // 4)).save(picture)
    terms = shop_folder / "wholesale.toml"
    terms.write_text(f'design = "{design}"\n{terms.read_text(encoding="utf-8")}', encoding="utf-8")
    told_of = [one for one in problems_of(shop_folder, datetime.date(2027, 3, 1)) if one.code == "piece-blurred"]
    assert bool(told_of) is is_told
    if design == "bold" and is_told:
        assert "which are 382 here" in told_of[0].message


def test_the_widths_of_pieces_on_paper_are_those_of_the_layouts() -> None:
    """Of the bold one three beside each other, 5 mm apart, on A4 (ISO 216) within margins of 14 mm."""
    layout = (SHIPPED / "line_sheet.typ").read_text(encoding="utf-8")
    assert f"#let item-side = {ITEM_MM['quiet']}mm" in layout
    assert ITEM_MM["bold"] == (210 - 2 * 14 - 2 * 5) // 3
