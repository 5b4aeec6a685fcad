"""Tests of the listing texts."""

import re
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from urllib.parse import unquote

import html5lib
import pytest
from PIL import Image
from playwright.sync_api import Browser

from listkit.listing.listings import Listings
from listkit.save.save import save
from listkit.write import listing_text, photo_crops
from listkit.write.context import WriteContext
from listkit.write.listing_text import page
from tests.desk.desks import CHROMIUM
from tests.desk.test_browser import violations
from tests.write.two_sets import channel, listings, own


class Tags(HTMLParser):
    """The tags of a page as an independent reader sees them; it notes what is closed without having been opened."""

    void = frozenset({"meta", "br", "hr", "img"})

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.wrong: list[str] = []
        self.texts: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: object) -> None:
        if tag not in self.void:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


def test_an_html_page_is_complete_and_holds_the_text_as_it_is() -> None:
    [first, _] = own(channel())
    made = page(first)
    assert made.startswith('<!doctype html>\n<html lang="en-GB">\n<head>\n<meta charset="utf-8">\n')
    assert '<meta name="viewport" content="width=device-width, initial-scale=1">' in made
    assert f"\n<!-- the text begins here -->\n{first.description}<!-- the text ends here -->\n" in made
    tags = Tags(made)
    assert (tags.open, tags.wrong) == ([], [])


def test_a_title_and_keywords_are_escaped_in_html() -> None:
    [first, _] = own(channel())
    made = page(replace(first, title='<b>"A" & B</b>', keywords=("<i>", "a & b")))
    assert "<h1>&lt;b&gt;&#34;A&#34; &amp; B&lt;/b&gt;</h1>" in made
    assert "<p>&lt;i&gt;, a &amp; b</p>" in made
    assert '<b>"A" & B</b>' in Tags(made).texts


def test_a_plain_page_is_title_text_and_keywords() -> None:
    [first, bar] = own(channel(text="plain"))
    assert page(replace(first, description="A bar & a jar.\n")) == (
        "First Nectar gift set\n\nA bar & a jar.\n\nspring gift, honey\n"
    )
    assert page(replace(bar, description="A *bar*.")) == "One Bar gift set\n\nA *bar*.\n"


def test_a_markdown_page_has_its_title_as_a_heading_and_the_text_as_it_is() -> None:
    [first, _] = own(channel(text="markdown"))
    made = page(replace(first, title="*First* Nectar", description="A **bar** & a [jar](https://a.example)."))
    assert made == "# \\*First\\* Nectar\n\nA **bar** & a [jar](https://a.example).\n\nspring gift, honey\n"


@pytest.mark.parametrize(("text", "ending"), [("html", "html"), ("plain", "txt"), ("markdown", "md")])
def test_each_set_has_one_file_in_the_channels_own_kind(tmp_path: Path, text: str, ending: str) -> None:
    jobs = list(listing_text.write(listings(channel(text=text)), WriteContext("1")))
    paths = [file.path for job in jobs for file in job.files]
    assert paths == [f"web_shop/listings/first-nectar.{ending}", f"web_shop/listings/one-bar.{ending}"]
    path = tmp_path / "a"
    jobs[0].recipe(*jobs[0].inputs, (path,))
    assert listing_text.verify_text(path, jobs[0].recipe, jobs[0].inputs) == ""
    path.write_bytes(path.read_bytes().replace("“".encode(), b"\xe2\x80", 1))
    assert listing_text.verify_text(path, jobs[0].recipe, jobs[0].inputs).endswith(" is no utf-8.")
    path.write_bytes(b"")
    assert listing_text.verify_text(path, jobs[0].recipe, jobs[0].inputs) == "it is not the text that was asked for."


def test_only_channels_that_ask_for_listings_get_them() -> None:
    assert list(listing_text.write(listings(channel(make=["feed"])), WriteContext("1"))) == []


@pytest.fixture(scope="module")
def demo_pages(small: Listings, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's listings in HTML, with its pictures, small."""
    out = tmp_path_factory.mktemp("out")
    jobs = [*listing_text.write(small, WriteContext("1")), *photo_crops.write(small, WriteContext("1"))]
    assert save(tuple(jobs), out).failures == ()
    return out


def test_each_page_is_whole_html_with_its_pictures_and_headings_that_skip_no_level(demo_pages: Path) -> None:
    """The HTML standard by html5lib, which takes no error; WCAG 2.2, G141 for headings, H37 for pictures."""
    pages = sorted(demo_pages.glob("*/listings/*.html"))
    assert len({path.parent.parent.name for path in pages}) == 2
    for path in pages:
        tree = html5lib.HTMLParser(html5lib.getTreeBuilder("etree"), strict=True, namespaceHTMLElements=False).parse(
            path.read_text(encoding="utf-8")
        )
        levels = [int(node.tag[1]) for node in tree.iter() if re.fullmatch("h[1-6]", str(node.tag))]
        assert levels.count(1) == 1
        assert all(below - above <= 1 for above, below in pairwise(levels))
        pictures = list(tree.iter("img"))
        assert pictures
        for picture in pictures:
            with Image.open(path.parent / unquote(picture.attrib["src"])) as image:
                assert image.size == (int(picture.attrib["width"]), int(picture.attrib["height"]))
            assert picture.attrib["alt"]


@pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed: apt install chromium")
def test_a_page_is_for_everybody_on_a_phone_too(browser: Browser, demo_pages: Path) -> None:
    with browser.new_context() as context:
        opened = context.new_page()
        for path in sorted(demo_pages.glob("*/listings/smoker-and-veil.html")):
            opened.goto(path.as_uri())
            for width in (1280, 360):
                opened.set_viewport_size({"width": width, "height": 800})
                assert violations(opened) == [], (path, width)
                assert opened.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_a_fault_in_the_owners_words_of_the_proof_leaves_out_the_pages_own_headings_alone() -> None:
    of = listings(channel())
    shop = of.catalog.shop
    texts = tuple((dict(shop.templates.texts) | {"proof/en.toml": "[proof"}).items())
    templates = replace(shop.templates, texts=texts, owners=frozenset({"proof/en.toml"}))
    broken = replace(of, catalog=replace(of.catalog, shop=replace(shop, templates=templates)))
    [job, _] = listing_text.write(broken, WriteContext("1"))
    text = str(job.inputs[0])
    assert "<h2" not in text
    assert "the text begins here" in text
