"""Texts: every element of a good listing, in each kind; a template without one of them is found out."""

import html
import re
from datetime import date
from decimal import Decimal
from html.parser import HTMLParser
from typing import Any

import pytest
from markdown_it import MarkdownIt

from listkit.compute.build import build_catalog
from listkit.listing.build import build_listings
from listkit.listing.listings import Listing, OnDay, PriorPrice
from listkit.read.templates import own_templates
from listkit.units.money import Money
from tests.listing.shops import DISH, ITEMS, channel, folder, listed, shop

KINDS = {"html": "listing/listing.html", "plain": "listing/listing.txt", "markdown": "listing/listing.md"}
BLOCK = re.compile(r"^\{# (\w+):.*?(?=^\{# |\Z)", re.MULTILINE | re.DOTALL)
TEMPLATES = dict(own_templates())
STORY = "{{ set.name }} was *packed* by the first {{ count }} of us, from {{ cheapest | in_currency }}."


def listing(kind: str, *, template: str | None = None, **changes: Any) -> Listing:
    contents = [{"item": "HH-B1"}, {"item": "HH-M1"}, {"slot": "Jar", "choose": ["HH-U1", "HH-S1"]}]
    packaging = {"box": "S", "message_card": {"characters": 200}}
    made = shop(
        folder(story=STORY, **(packaging | {"contents": contents} | changes)),
        channels=[channel(text=kind)],
        templates={KINDS[kind]: template} if template is not None else None,
    )
    found = listed(made)
    assert found.problems == ()
    return found.listings[0]


def test_an_emptied_sentence_of_the_box_leaves_no_line_behind() -> None:
    words = TEMPLATES["words/en.toml"]
    line = next(each for each in words.splitlines() if each.startswith("box_inside = "))
    contents = [{"item": "HH-B1"}, {"item": "HH-M1"}, {"item": "HH-S1"}]
    made = shop(
        folder(story=STORY, box="S", message_card={"characters": 200}, contents=contents),
        channels=[channel(text="plain")],
        templates={"words/en.toml": words.replace(line, 'box_inside = ""')},
    )
    found = listed(made)
    assert found.problems == ()
    text = found.listings[0].plain
    assert "162" not in text
    assert "The box comes with a message card." in text
    assert not re.search(r"\n{3}|^ *-? *$\n\n", text, re.MULTILINE)


def numbered(kind: str, number: int, text: str) -> str:
    return f"<li>{text}</li>" if kind == "html" else f"{number}. {text}"


def elements(kind: str, of: Listing) -> dict[str, list[str]]:
    """Return what must stand in a text of this kind, by the block that brings it; figures by hand."""
    emphasis = {"html": "<em>packed</em>", "plain": "packed", "markdown": "*packed*"}[kind]
    return {
        "opening": [
            "For the hour when the rocks are bare.",
            "Gorse & Salt bar soap, Meadow mini butter and a jar of your choosing, in a gift box.",
        ],
        "story": [f"Low Tide was {emphasis} by the first 3 of us, from £29.00."],
        "contents": [
            numbered(kind, 1, "Gorse & Salt bar soap, 110 g"),
            numbered(kind, 2, "Meadow mini butter, 30 ml"),
            numbered(kind, 3, "A jar of your choosing, 150 g or 100 ml"),
        ],
        "choice": [
            "Choose your jar",
            "Meadow body butter – hay, 100 ml, £31.00",
            "Shoreline sugar scrub – kelp, 150 g, £29.00",
            *(f"{choice} – " for offer in of.offers for choice in offer.choices),
        ],
        "sizes": ["Meadow mini butter: a mini of 30 ml. The full size is Meadow body butter, 100 ml."],
        "ingredients": ["Sodium Olivate, Aqua", "Cera Alba, Parfum", "Sucrose"],
        "allergens": ["Beeswax, honey or propolis is in"],
        "cautions": ["For external use only.", "Gorse & Salt", "Keep out of reach.", "rinse well with water."],
        "defer": ["the rules where you live come first", "ask a licensed professional"],
        "packing": ["162 × 122 × 70 mm inside", "The box comes with a message card.", "up to 200 characters"],
        "care": [
            "Store in a cool, dry place",
            "within 12 months of making: mini butter, and body butter or sugar scrub.",
        ],
    }


def missing(kind: str, of: Listing) -> list[str]:
    text = html.unescape(of.description)
    return [block for block, parts in elements(kind, of).items() if any(part not in text for part in parts)]


def listing_while_reduced(kind: str, template: str | None = None) -> Listing:
    """A listing with a reduction in force, and lawful prices before it."""
    sale = {"from": "2027-03-01", "until": "2027-03-07", "by": "10 %"}
    templates = {KINDS[kind]: template} if template is not None else None
    made = shop(folder(reduction=[sale]), channels=[channel(text=kind)], templates=templates)
    priors = (PriorPrice("web", code, Money(Decimal("29.00"), "GBP")) for code in ("HHS-1-U1", "HHS-1-S1"))
    return build_listings(build_catalog(made), OnDay(date(2027, 3, 2), tuple(priors))).listings[0]


@pytest.mark.parametrize("kind", KINDS)
def test_a_text_has_every_element(kind: str) -> None:
    assert missing(kind, listing(kind)) == []


@pytest.mark.parametrize("kind", KINDS)
def test_a_template_without_one_block_lacks_just_its_element(kind: str) -> None:
    template = TEMPLATES[KINDS[kind]]
    blocks = {found[1]: found[0] for found in BLOCK.finditer(template)}
    assert "was £" in listing_while_reduced(kind).description.lower()
    assert "was £" not in listing_while_reduced(kind, template.replace(blocks.pop("reduction"), "")).description.lower()
    assert list(blocks) == list(elements(kind, listing(kind)))
    for name, block in blocks.items():
        assert missing(kind, listing(kind, template=template.replace(block, ""))) == [name]


@pytest.mark.parametrize("kind", KINDS)
def test_the_options_are_letter_for_letter_the_choices_of_the_offers(kind: str) -> None:
    says = "Rain & <Rye> * [jar] 100 % _soft_"
    made = listing(kind, contents=[{"slot": "Jar", "choose": [{"item": "HH-U1", "says": says}, "HH-S1"]}])
    assert made.offers[0].choices == (says,)
    assert says in words_of(kind, made.description)


class _Words(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.parts: list[str] = []

    def handle_data(self, data: str) -> None:
        self.parts.append(data)


def words_of(kind: str, text: str) -> str:
    """Return what a reader of the text sees, in one line: by Python's HTML parser, by CommonMark, or as it stands."""
    if kind == "plain":
        return " ".join(text.split())
    parser = _Words()
    parser.feed(MarkdownIt().render(text) if kind == "markdown" else text)
    return " ".join("".join(parser.parts).split())


def only_words(text: str) -> list[str]:
    """Return the words without what a list or a heading has before or behind it."""
    return [word for word in re.findall(r"[\w£%.&*<>']+", text.replace(":", " ")) if not re.fullmatch(r"\d\.", word)]


def test_the_three_kinds_say_the_same_words() -> None:
    told = {kind: only_words(words_of(kind, listing(kind).description)) for kind in KINDS}
    assert told["html"] == told["markdown"] == told["plain"]
    assert only_words(listing("html").plain) == told["plain"]


@pytest.mark.parametrize("kind", KINDS)
def test_names_with_signs_of_markup_stay_words(kind: str) -> None:
    bad = "<b>#1</b> *Tide* _x_ [a](b) `c` & more"
    made = listing(kind, name=bad, theme=f"For {bad}")
    assert words_of(kind, made.description).count(bad) == 2
    assert "<b>" not in (made.description if kind == "html" else "")


def test_plain_is_one_line() -> None:
    made = listing("html")
    assert "\n" not in made.plain
    assert made.plain.startswith("For the hour when the rocks are bare. Gorse & Salt bar soap,")


@pytest.mark.parametrize("kind", KINDS)
def test_what_a_set_does_not_have_leaves_no_heading(kind: str) -> None:
    bare = [{key: DISH[key] for key in ("code", "name", "retail", "cost", "weight", "size")}]
    made = shop(
        folder(story="", theme="", season="", box="none", contents=[{"item": "HH-D1"}]),
        items=bare,
        channels=[channel(text=kind)],
    )
    text = words_of(kind, listed(made).listings[0].description)
    assert text.replace(":", "").replace("1. ", "") == "Slatted. What you get Slatted"


def test_a_message_without_a_card_has_a_heading_of_its_own() -> None:
    text = listing("plain", box="none").description
    assert "Your message:\nYou may add a message of up to 200 characters.\n" in text
    assert "box" not in text


def test_a_card_without_a_message_only_lies_in_the_box() -> None:
    assert "The box comes with a message card.\n" in listing("plain", message_card=None).description
    assert "message" not in listing("plain", message_card=None, card=False).description


def test_the_outside_of_a_box_is_told_where_it_is_stated() -> None:
    box = {"code": "S", "inside": "162 x 122 x 70 mm", "outside": "166 x 126 x 74 mm", "weight": "58 g", "cost": "0.95"}
    made = shop(folder(), channels=[channel(text="plain")], packaging=[box])
    assert "The closed gift box measures 166 × 126 × 74 mm.\n" in (listed(made).listings[0].description)


def test_what_keeps_equally_long_names_nothing_as_keeping_least() -> None:
    alike = [item | {"shelf_life": "1 month"} for item in ITEMS]
    made = shop(folder(), items=alike, channels=[channel(text="plain")])
    assert "Use within 1 month of making.\n" in listed(made).listings[0].description


def test_a_mini_whose_full_size_is_not_in_the_shop_still_tells_its_own() -> None:
    items = [item for item in ITEMS if item["code"] != "HH-U1"]
    made = shop(folder(contents=[{"item": "HH-M1"}]), items=items, channels=[channel(text="plain")])
    assert "Sizes:\n- Meadow mini butter: a mini of 30 ml.\n" in listed(made).listings[0].description
