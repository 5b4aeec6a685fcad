"""The contact sheet: everything that was cut, on one page that needs nothing else."""

import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest
from PIL import Image

from listkit.listing.listings import Listings
from listkit.save.save import save
from listkit.write import contact_sheet, photo_crops
from listkit.write.context import WriteContext

CONTEXT = WriteContext("test")


@pytest.fixture(scope="module")
def made(demo: Listings, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The pictures of the fair and the page over them."""
    out = tmp_path_factory.mktemp("sheet")
    jobs = [*contact_sheet.write(demo, CONTEXT), *photo_crops.write(demo, CONTEXT)]
    saved = save(jobs, out, workers=2, channel="hedgerow_fair")
    assert saved.failures == ()
    return out / "hedgerow_fair/photos"


class Images(HTMLParser):
    """Every img of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[dict[str, str | None]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "img":
            self.found.append(dict(attrs))


def test_every_picture_that_was_made_is_on_the_page_with_its_weight(made: Path) -> None:
    page = (made / "contact-sheet.html").read_text(encoding="utf-8")
    shown = {one["src"] for one in Images(page).found if not str(one["src"]).startswith("data:")}
    assert shown == {path.name for path in made.iterdir() if path.suffix == ".jpg"}
    for path in made.glob("*.jpg"):
        assert re.search(
            rf'{re.escape(path.name)}".*?</a>\s*<figcaption>[^<]*, {path.stat().st_size / 1000:.0f} kB', page, re.DOTALL
        )


def test_the_page_fetches_nothing_and_every_picture_has_words(made: Path) -> None:
    page = (made / "contact-sheet.html").read_text(encoding="utf-8")
    assert not re.search(r'(src|href)="(https?:)?//', page)
    assert "<script" not in page
    assert all(image.get("alt") for image in Images(page).found)
    assert page.count('tabindex="0"') == page.count("<section")


def test_nothing_is_distorted_and_each_original_has_its_crops_beside_it(made: Path, demo: Listings) -> None:
    """Width and height of every img are those of the picture, within a pixel; the style keeps their relation."""
    page = (made / "contact-sheet.html").read_text(encoding="utf-8")
    sizes = {path.name: Image.open(path).size for path in made.glob("*.jpg")}
    for shown in Images(page).found:
        if shown["src"] in sizes:
            wide, high = sizes[str(shown["src"])]
            assert abs(int(shown["width"] or 0) * high / wide - int(shown["height"] or 0)) <= 1
    assert "max-width: 100%; height: auto" in page
    assert "max-height" not in page
    assert "grid-template-columns" in page


def test_what_wants_a_look_comes_first_counted_and_to_be_jumped_to(made: Path) -> None:
    """At the fair one photo of the demo stands on ground that shows: in 4:3, since it was taken upright."""
    page = (made / "contact-sheet.html").read_text(encoding="utf-8")
    assert "46 photos, 1 of them want a look" in page
    assert page.index('<a href="#long-evening-styled-jpg">') < page.index("<main>")
    first = page[page.index("<section") :]
    assert first.startswith('<section id="long-evening-styled-jpg" class="look"')
    assert page.count('class="look"') == 1
    anchors = re.findall(r'<section id="([^"]*)"', page)
    assert len(set(anchors)) == len(anchors) == 46
    assert set(re.findall(r'href="#([^"]*)"', page)) <= set(anchors)


def test_an_original_stands_upright_with_its_focus_box(made: Path, demo: Listings) -> None:
    """The sideways picture of the demo is 2000 × 2668 upright (EXIF orientation 6)."""
    page = (made / "contact-sheet.html").read_text(encoding="utf-8")
    [upright] = re.findall(r"Long Evening · styled\.jpg</h2>.*?<figcaption>[^,]*, (\d+ × \d+) pixels", page, re.DOTALL)
    assert upright == "2000 × 2668"
    [listed] = [
        one
        for listing in demo
        if listing.channel.key == "hedgerow_fair"
        for one in listing.photos
        if one.photo.file.endswith("long-evening/photos/styled.jpg")
    ]
    assert listed.photo.focus is not None
    assert f"left: {listed.photo.focus.left * 100:.1f}%" in page


def test_the_page_is_made_again_when_a_cut_changes_and_not_otherwise(demo: Listings) -> None:
    [before] = [job.files[0].key for job in contact_sheet.write(demo, CONTEXT) if "hedgerow" in job.files[0].path]
    [again] = [job.files[0].key for job in contact_sheet.write(demo, CONTEXT) if "hedgerow" in job.files[0].path]
    [newer] = [
        job.files[0].key for job in contact_sheet.write(demo, WriteContext("x")) if "hedgerow" in job.files[0].path
    ]
    assert before == again != newer


def test_a_page_that_lost_a_picture_is_not_taken_for_whole(made: Path, demo: Listings, tmp_path: Path) -> None:
    [job] = [job for job in contact_sheet.write(demo, CONTEXT) if "hedgerow" in job.files[0].path]
    text = (made / "contact-sheet.html").read_text(encoding="utf-8")
    copy = tmp_path / "sheet.html"
    copy.write_text(text, encoding="utf-8")
    assert contact_sheet.verify_sheet(copy, job.recipe, job.inputs) == ""
    copy.write_text(text.replace("<img", "<p", 1), encoding="utf-8")
    assert contact_sheet.verify_sheet(copy, job.recipe, job.inputs) != ""


def test_photos_of_names_that_are_alike_but_for_their_signs_have_unlike_anchors(demo: Listings) -> None:
    """HTML Living Standard, 3.2.6: the value of an id is unlike every other in its tree."""
    page = next(contact_sheet.write(demo, CONTEXT)).inputs[1]
    assert isinstance(page, contact_sheet.Sheet)
    photo = page.photos[0]
    twins = [*contact_sheet._apart([photo, photo, replace(photo, anchor=f"{photo.anchor}-2"), photo])]
    assert len({each.anchor for each in twins}) == 4


def test_two_sets_of_one_name_are_both_reached(demo: Listings) -> None:
    page = next(contact_sheet.write(demo, CONTEXT)).inputs[1]
    assert isinstance(page, contact_sheet.Sheet)
    photo = replace(page.photos[0], set="Spring", code="A-1", anchor="one")
    photos = (photo, replace(photo, code="A-2", anchor="two"), replace(photo, set="Autumn", code="A-3", anchor="three"))
    assert [(each.anchor, each.name) for each in contact_sheet._sets(photos)] == [
        ("one", "Spring (A-1)"),
        ("two", "Spring (A-2)"),
        ("three", "Autumn"),
    ]
