"""Every page speaks each language whole: the same words in every file of words, with the same values in them."""

import ast
import re
import string
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any

import html5lib
import pytest
from pydantic import BaseModel

import listkit
from listkit.cli import COMMANDS
from listkit.desk import wording
from listkit.desk.fields import FormField
from listkit.desk.fields import form as form_of
from listkit.desk.page import marked, say, shot_word
from listkit.desk.problems import plain
from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.item import Item
from listkit.model.packaging import Packaging
from listkit.model.settings import Settings
from listkit.model.wholesale import Wholesale
from listkit.read.photos import OTHER, SHOTS
from listkit.shipped import shipped_templates
from tests.desk.desks import form, opened, text
from tests.shops import clean_shop, small_demo

OTHERS = tuple(tag for tag in wording.languages() if tag != "en")
KINDS = {"pages": wording.page_words, "fields": wording.field_words}


def texts_of(table: Any, key: str = "") -> Iterator[tuple[str, str]]:
    """Yield each text of a file with its dotted key; those of a list by their places."""
    if isinstance(table, str):
        yield key, table
        return
    pairs = table.items() if isinstance(table, dict) else enumerate(table)
    for part, entry in pairs:
        yield from texts_of(entry, f"{key}.{part}" if key else str(part))


def values_of(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


def in_language(tag: str, kind: str) -> dict[str, str]:
    with wording.speaking(tag):
        return dict(texts_of(KINDS[kind]()))


@pytest.mark.parametrize(("tag", "kind"), tuple(product(OTHERS, KINDS)))
def test_a_language_says_all_that_english_says_with_the_same_values(tag: str, kind: str) -> None:
    english, spoken = in_language("en", kind), in_language(tag, kind)
    assert common(spoken) == common(english), "the same keys in the same order"
    assert english.keys() <= spoken.keys()
    assert [key for key in english if values_of(english[key]) != values_of(spoken[key])] == []


def common(texts: dict[str, str]) -> list[str]:
    """Return the keys that all languages have: what fields are for, and values of a file, English may leave as is."""
    return [key for key in texts if not key.startswith(("help.", "choice."))]


@pytest.mark.parametrize("tag", OTHERS)
def test_no_help_and_no_choice_is_left_in_english(tag: str) -> None:
    """English has what the models say; another language has words of its own for every field and every choice."""
    with wording.speaking(tag):
        spoken = wording.field_words()
        fields = {(model, key) for model in spoken if model[0].isupper() for key in spoken[model]}
        fields |= {("Item", key) for key in Item.model_fields}
        helped = {(model, key) for model, table in spoken["help"].items() for key in table}
        shown = [field for model in (GiftSet, Channel, Settings, Packaging, Wholesale) for field in every_field(model)]
    assert fields == helped
    choices = {choice for field in shown for choice, _ in field.choices if any(map(str.isalpha, choice))}
    assert choices - spoken["choice"].keys() == set()


def every_field(model: type[BaseModel]) -> Iterator[FormField]:
    """Yield each field of a file of a model, with those of what may be added to it."""
    waiting = list(form_of(model, {}).every())
    for field in waiting:  # grows as entries are met
        yield field
        waiting += (inner for blank in field.blanks for inner in blank.fields)
        waiting += field.fields


# CLDR's plural rules, cardinals: English has its form for one with 1 alone, French with 0 and 1.
@pytest.mark.parametrize(("tag", "single"), [("en", {1}), ("fr", {0, 1})])
def test_a_count_takes_the_form_of_its_language(tag: str, single: set[int]) -> None:
    with wording.speaking(tag):
        assert {count for count in range(12) if wording.is_single(count)} == single


def test_a_language_without_words_is_answered_in_english() -> None:
    with wording.speaking("nl"):
        assert (wording.language(), say("count.sets", count=1)) == ("en", "1 set")


@pytest.mark.parametrize(
    ("accepted", "tag"),
    [
        ("", "en"),
        ("en-GB,en;q=0.9", "en"),
        ("nl,en;q=0.1", "en"),
        ("fr-CA,fr;q=0.9,en;q=0.5", "fr"),
        ("en;q=0.5,fr", "fr"),
        ("*;q=0.5", "en"),
        (";;;q=,,", "en"),
        ("q" * 9000, "en"),
    ],
)
def test_what_a_browser_asks_for_is_understood_or_left_alone(accepted: str, tag: str) -> None:
    assert wording.preferred(accepted) == tag


def test_the_language_of_a_reader_is_chosen_on_the_page_and_stays(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        for tag in wording.languages():
            answer = client.post("/language", data=form(desk, language=tag, here="/sets"), follow_redirects=False)
            assert (answer.status_code, answer.headers["location"]) == (303, "/sets")
            page = client.get("/sets").text
            assert f'<html lang="{tag}">' in page
            assert all(name in page for other, name in wording.languages().items() if other != tag), "a way to each"


@pytest.mark.parametrize("here", ["https://example.org/", "//example.org", "/\\example.org", ""])
def test_a_choice_of_language_leads_nowhere_but_to_the_desk(tmp_path: Path, here: str) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        answer = client.post("/language", data=form(desk, language="xx", here=here), follow_redirects=False)
        assert (answer.headers["location"], "set-cookie" in answer.headers) == ("/", False)


PAGES = (
    "/today", "/sets", "/sets/new", "/sets/OHS-1", "/sets/OHS-1/photos", "/sets/OHS-1/delete", "/build", "/shelf",
    "/shelf/item?row=OH-B01", "/shelf/boxes", "/shelf/new", "/shelf/take?row=OH-B01", "/shelf/allotment",
    "/rename?old=OH-B01&new=OH-B77", "/past", "/places", "/places/new", "/places/moves", "/place/web_shop",
    "/place/web_shop/columns", "/place/web_shop/feed", "/place/web_shop/publish", "/place/web_shop/compare",
    "/place/web_shop/delete", "/print/market", "/print/post", "/shops", "/shops/terms", "/print",
    "/print/measure", "/shelf/stock", "/shop", "/shop?at=season&set=OHS-1", "/shop/table/postage",
    "/shop/table/ingredients", "/shelf/table/recipes", "/shelf/table/materials", "/shelf/table/plan",
    "/past/season?name=winter", "/nowhere",
)  # fmt: skip
REFUSED = {"/nowhere": 404, "/place/web_shop/publish": 409}  # it was not built yet
LONG = 12  # letters: a shorter text may be a name, or part of a longer one


def spoken_texts(page: str) -> tuple[str, str]:
    """Return what a page says in its own language, attributes too, and what it marks as English."""
    inside: list[str] = []
    outside: list[str] = []

    def walk(element: Any, english: bool) -> None:
        if element.tag in ("script", "style"):
            return
        tag = element.get("lang", "en" if english else "fr")
        into = inside if tag == "en" else outside
        into += [element.text or "", *(element.get(name, "") for name in ("aria-label", "title", "alt"))]
        for child in element:
            walk(child, tag == "en")
            into.append(child.tail or "")

    walk(html5lib.parse(page, namespaceHTMLElements=False), english=False)
    return " ".join(" ".join(outside).split()), " ".join(" ".join(inside).split())


def long_words(kind: str) -> list[tuple[str, str]]:
    """Return the words without values that are long enough and unlike, each in English and in French."""
    english, french = in_language("en", kind), in_language("fr", kind)
    pairs = [(english[key], french[key]) for key in english if not values_of(english[key])]
    return [(ours, theirs) for ours, theirs in pairs if min(len(ours), len(theirs)) > LONG and ours != theirs]


def test_a_page_in_french_has_no_words_of_the_desk_in_english(tmp_path: Path) -> None:
    """The messages of checks are in English, and marked so (WCAG 2.2, 3.1.2); but for names nothing there is French."""
    pages = long_words("pages")
    cautions = (shipped_templates() / "cautions" / "en.toml").read_text(encoding="utf-8")  # in the shop's language
    words = [(english, french) for english, french in (*pages, *long_words("fields")) if english not in cautions]
    names = {label for key, label in in_language("fr", "pages").items() if key.startswith("item.field.")}
    strays: list[tuple[str, str]] = []
    with opened(small_demo(tmp_path / "shop")) as (client, desk):
        client.headers["accept-language"] = "fr-FR,fr;q=0.9,en;q=0.5"
        desk.shop_state.look(measured=True)
        assert desk.shop_state.full(wait=60) is not None
        for path in PAGES:
            answer = client.get(path)
            assert answer.status_code == REFUSED.get(path, 200), path
            said, marked = spoken_texts(answer.text)
            assert say_in("fr", "skip") in said, path
            strays += [(path, english) for english, _ in words if english in said]
            strays += [(path, french) for _, french in pages if french in marked and french not in names]
    assert strays == []


def say_in(tag: str, key: str) -> str:
    with wording.speaking(tag):
        return say(key)


def test_pictures_packaging_and_files_that_cannot_be_read_are_spoken_of_in_french_too(tmp_path: Path) -> None:
    shop = small_demo(tmp_path / "shop")
    with opened(shop) as (client, desk):
        client.headers["accept-language"] = "fr"
        desk.shop_state.look(measured=True)
        photos = client.get("/sets/OHS-1/photos").text
        with wording.speaking("fr"):
            shown = {shot: shot_word(shot) for shot in (*SHOTS, OTHER)}
        assert len(set(shown.values())) == len(shown), "no two look alike"
        assert all(f'<option value="{shot}"' in photos for shot in shown)
        assert all(f">{words}</option>" in photos for words in shown.values())
        stock = text(client.get("/shelf/stock").text)
        assert "la carte" in stock
        assert "calage de la boîte" in stock
        assert "the card" not in stock
        file = shop / "channels" / "web_shop.toml"
        file.write_text("name = ", encoding="utf-8")
        refused = client.post("/place/web_shop/change", data=form(desk))
        assert "est illisible en l’état" in text(refused.text)
        assert "cannot be read" not in text(refused.text)


def _messages() -> Iterator[str]:
    """Yield the texts of the rooms whose messages the desk shows, values put in as codes."""
    root = Path(listkit.__file__).parent
    for room in ("check", "compute", "edit", "ledger", "listing", "read", "actions"):
        for file in sorted((root / room).rglob("*.py")):
            if file.name == "rules.py":  # what the command that explains rules shows
                continue
            nodes = list(ast.walk(ast.parse(file.read_text(encoding="utf-8"))))
            parts = {id(part) for node in nodes if isinstance(node, ast.JoinedStr) for part in node.values}
            for node in nodes:
                if id(node) in parts:
                    continue
                if isinstance(node, ast.Constant) and isinstance(node.value, str) and " " in node.value:
                    yield "" if "\n" in node.value else node.value  # no docstring of several lines
                elif isinstance(node, ast.JoinedStr):
                    values = (str(part.value) if isinstance(part, ast.Constant) else "oh-1" for part in node.values)
                    yield "".join(values)


def test_no_message_on_a_page_asks_for_a_command_where_there_is_a_page() -> None:
    names = "|".join(sorted(COMMANDS))
    asked = re.compile(rf"\blistkit ({names})\b")
    texts = [text for text in _messages() if asked.search(text)]
    assert len(texts) > 20
    assert [said for text in texts if asked.search(said := plain(text, "shop.toml"))] == []


def test_pages_that_messages_name_are_there_and_are_led_to(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, _):
        for key, address in wording.pages_named().values():
            assert client.get(address).status_code == 200, address
            assert marked(f"See “{say(key)}”.") == f'See <a href="{address}">{say(key)}</a>.'


@pytest.mark.parametrize("kind", ["", "fields."])
def test_what_is_sold_in_several_ways_has_one_word_on_the_desk(kind: str) -> None:
    words = (shipped_templates() / "desk" / "words" / f"{kind}en.toml").read_text(encoding="utf-8")
    said = [line.partition(" = ")[2] for line in words.splitlines() if not line.startswith(("#", "[", "keys = "))]
    texts = [re.sub(r"\{[^{}]*\}", "", line) for line in said]
    strays = [text for text in texts if re.search(r"\b(variants?|options?|ways? to choose)\b", text, re.IGNORECASE)]
    assert strays == []
    assert any("version" in text for text in texts)
