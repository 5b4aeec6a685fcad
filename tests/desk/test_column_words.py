"""The column chooser and the country in an owner's words: no bracket, no key, no per cent; what is surely meant."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from babel import Locale
from starlette.testclient import TestClient

from listkit.actions.own_sheet import column_choices, column_meanings, decide_columns, understand_sheet
from listkit.desk.column_words import add_words, asked, sheet_help, sheet_word, why_words
from listkit.desk.countries import country_code, country_text
from listkit.desk.page import say
from listkit.desk.wording import languages, speaking
from listkit.learn.matching import Match, match_feed, match_items
from listkit.read.shop import read_shop
from tests.desk.desks import form, opened, text
from tests.learn.corpus import FRESH, FRESH_LAST, HALVES, LAST, OWN_SHEETS, PLAIN, PLAIN_KEPT_BACK, samples
from tests.shops import clean_shop

PUZZLES = re.compile(r"[\[\](){}=%]|\.toml|\bkeys?\b|(?<!\w)_|\w_\w", re.IGNORECASE)
SHEET = """MY GOODS 2026,,,,,,,
Nr,What it is,What's in it,Sells,Makes,Weighs,Big,Left
SOAPS,,,,,,,
S1,Oat soap,110,"6,50",1.90,120,80 x 55 x 25 mm,12
S2,Rye soap,110,6.50,1.90,120,80 x 55 x 25 mm,9
,Total,,13.00,3.80,,,21
"""
HINTS = re.compile(r'<p class="hint"[^>]*>(.*?)</p>|<option[^>]*>(.*?)</option>|<li>(.*?)</li>')


def doubts() -> Iterator[Match]:
    """Yield what was made of every column of the corpus, places' samples and owners' own sheets."""
    for half in (*HALVES, *FRESH, LAST, FRESH_LAST, OWN_SHEETS, *PLAIN, *PLAIN_KEPT_BACK):
        match = match_items if "sheets" in half else match_feed
        for each in samples(half):
            yield from match(each.headings, each.rows)


def test_every_reason_for_a_doubt_has_words_of_its_own() -> None:
    unsure = say("columns.why.unsure")
    reasons = {each.reason for each in doubts() if not each.sure and each.reason}
    assert len(reasons) > 20
    assert {each for each in reasons if why_words(each, str, ("price", "cost")) == unsure} == set()


@pytest.mark.parametrize("tag", languages())
def test_what_a_column_can_be_is_said_without_signs_that_only_a_program_has(tag: str) -> None:
    with speaking(tag):
        said = {says: f"{sheet_word(says)}: {sheet_help(says)}" for says, _ in column_meanings()}
        read = understand_sheet("goods.csv", SHEET.encode())
        lines = [add_words(each, "goods.csv") for each in decide_columns(read).lacking]
        lines += [asked(choice, sheet_word).why for choice in column_choices(read)]
    assert len(set(said.values())) == len(said), "no two look alike"
    odd = {
        key: words for key, words in said.items() if PUZZLES.search(re.sub(r"\((INCI|aucun|3 ans|18 ans)\)", "", words))
    }
    assert odd == {}
    assert [line for line in lines if PUZZLES.search(line)] == []


@pytest.mark.parametrize("tag", languages())
def test_the_page_of_columns_has_no_brackets_and_is_all_in_its_language(tmp_path: Path, tag: str) -> None:
    with opened(tmp_path / "new") as (client, desk):
        client.headers["accept-language"] = tag
        page = client.post("/start/sheet", data=form(desk), files={"sheet": ("g.csv", SHEET.encode(), "text/csv")}).text
        assert page.count('<li class="choice') == 8
        assert 'lang="en"' not in page or tag == "en"
        shown = [text("".join(parts)) for parts in HINTS.findall(page.partition('id="country"')[0])]
        allowed = re.compile(r"\((INCI|aucun|3 ans|18 ans)\)")
        assert [each for each in shown if PUZZLES.search(allowed.sub("", each))] == []


NAMES = [
    ("UK", "GB"), ("uk", "GB"), ("U.K.", "GB"), ("England", "GB"), ("Great Britain", "GB"), ("Scotland", "GB"),
    ("the United Kingdom", "GB"), ("USA", "US"), ("U.S.A.", "US"), ("United States of America", "US"),
    ("Deutschland", "DE"), ("deutschland", "DE"), ("Österreich", "AT"), ("osterreich", "AT"), ("Italia", "IT"),
    ("España", "ES"), ("Royaume-Uni", "GB"), ("États-Unis", "US"), ("Éire", "IE"), ("DEU", "DE"), ("gb", "GB"),
    ("United Kingdom (GB)", "GB"), ("Suomi", "FI"), ("日本", "JP"), ("", ""), ("ZZ", ""), ("Ruritania", ""), ("U", ""),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "code"), NAMES)
def test_a_country_is_understood_as_people_write_it(typed: str, code: str) -> None:
    assert country_code(typed) == code


def test_every_country_is_understood_by_all_the_names_that_the_desk_shows() -> None:
    """CLDR's own names, through babel, in each language of the desk."""
    for tag in languages():
        with speaking(tag):
            for code, name in Locale(tag).territories.items():
                if country_code(code) == code:
                    assert country_code(str(name)) == code, (tag, name)
                    assert country_text(code) == f"{name} ({code})"
                    assert country_code(country_text(code)) == code


@pytest.mark.parametrize("typed", ["UK", "England", "United Kingdom (GB)"])
def test_a_new_shop_has_the_letters_of_the_country_that_was_named(tmp_path: Path, typed: str) -> None:
    with opened(tmp_path / "new") as (client, desk):
        made = client.post("/start/small", data=form(desk, name="Bee", currency="GBP", country=typed))
        assert made.url.path == "/today", text(made.text)
    assert read_shop(tmp_path / "new")[0].settings.country == "GB"


def test_a_country_that_nobody_knows_is_asked_for_with_those_written_nearly_so(tmp_path: Path) -> None:
    with opened(tmp_path / "new") as (client, desk):
        page = client.post("/start/small", data=form(desk, name="Bee", currency="EUR", country="Germny"))
        assert page.status_code == 422
        assert "No country is known as “Germny”. Is it Germany (DE)?" in text(page.text)
        assert 'value="Germny"' in page.text


def test_your_shop_and_a_place_show_a_country_by_its_name_and_take_one(tmp_path: Path) -> None:
    folder = clean_shop(tmp_path / "shop")
    with opened(folder) as (client, desk):
        page = client.get("/shop").text
        before = read_shop(folder)[0].settings.country
        assert f'value="{country_text(before)}"' in page
        shown = hidden(page)
        client.post("/shop", data=form(desk, **shown, country="Deutschland"))
        assert read_shop(folder)[0].settings.country == "DE"
        same = (folder / "shop.toml").read_bytes()
        client.post("/shop", data=form(desk, **hidden(client.get("/shop").text), country="Germany (DE)"))
        assert (folder / "shop.toml").read_bytes() == same, "what is shown and sent back changes nothing"
        place(client, desk, folder)


def place(client: TestClient, desk: object, folder: Path) -> None:
    """Write a country into a place's form, as its page sends it."""
    key = read_shop(folder)[0].channels[0].key
    shown = hidden(client.get(f"/place/{key}").text)
    client.post(f"/place/{key}/change", data={**shown, "country": "USA"})
    assert read_shop(folder)[0].channels[0].country == "US"


def hidden(page: str) -> dict[str, str]:
    """Return the hidden fields of a page's form of fields."""
    inside = page.partition('id="fields"')[2].partition("</form>")[0]
    return dict(re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)"', inside))
