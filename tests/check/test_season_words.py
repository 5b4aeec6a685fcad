"""Seasons and days typed in texts.

What a text may say of a season is common practice, no source.
"""

import datetime
from time import process_time
from typing import Any

import pytest
from babel import Locale

from listkit.check.seasons import MONTHS, folded_in_place
from tests.check.found import found, told
from tests.small_shop import gift_set, item, settings, shop

SPRING = {"name": "spring", "on_sale": "2027-02-15", "off_sale": "2027-05-10"}
WINTER = {"name": "winter", "on_sale": "2026-10-12", "off_sale": "2026-12-24"}


def of(season: dict[str, Any], story: str = "", language: str = "en-GB", **says: Any) -> Any:
    one = gift_set([{"item": "A-1"}], season=season["name"], **says)
    stories = {"SET-1": story} if story else {}
    return shop([item("A-1")], [one], settings=settings(season=[season], language=language), stories=stories)


def words(code: str, made: Any, today: datetime.date = datetime.date(2026, 11, 25)) -> list[str]:
    return [one.message.split('"')[1] for one in found(code, made, today)]


def test_month_names_are_those_of_unicode_cldr() -> None:
    for language, names in MONTHS.items():
        cldr = Locale(language).months["format"]["wide"]
        assert names.split() == [folded_in_place(cldr[number]) for number in range(1, 13)]


@pytest.mark.parametrize(
    ("says", "word"),
    [
        ({"theme": "A box for dark winter evenings."}, "winter"),
        ({"name": "Summer Box"}, "summer"),
        ({"keywords": ["spring gift", "christmas gift"]}, "christmas"),
        ({"story": "Wrap up warm: this winter the box is back."}, "winter"),
        ({"story": "Our box for autumn. And so on, in spring."}, "autumn"),
        ({"story": "Un coffret d'hiver.", "language": "fr"}, "hiver"),
        ({"theme": "Ein Geschenk für Weihnachten.", "language": "de"}, "weihnachten"),
        ({"story": "Three bars to open by the tree at Christmas."}, "christmas"),
        ({"story": "The first snow lay on the hives when we made it."}, "first snow"),
        ({"story": "Made for harvest suppers."}, "harvest"),
        ({"story": "A winter gift box of three bars."}, "winter"),
        ({"story": "Zum Muttertag im Advent.", "language": "de"}, "advent"),
    ],
)
def test_another_season_in_a_text_is_told(says: dict[str, Any], word: str) -> None:
    assert words("season-word", of(SPRING, **says)) == [word]


@pytest.mark.parametrize(
    "says",
    [
        {"theme": "The first spring morning."},
        {"story": "All winter we waited, and then it was spring."},
        {"theme": "Made with spring water.", "keywords": ["springtime"]},
        {"story": "Le printemps a été long.", "language": "fr"},
        {"theme": "A midsummer-green box."},
        {"story": "We found the bowl last Christmas, and ten days after Christmas it broke."},
        {"story": "In autumn the bees are quiet, in winter they sleep."},
        {"story": "Pour Pâques et la fête des Mères.", "language": "fr"},
    ],
)
def test_its_own_season_and_other_meanings_are_left_alone(says: dict[str, Any]) -> None:
    assert words("season-word", of(SPRING, **says)) == []


def test_an_occasion_within_three_weeks_of_the_last_day_belongs_to_the_season() -> None:
    assert words("season-word", of(WINTER, theme="For Christmas.")) == []
    assert words("season-word", of(WINTER, theme="For Valentine's day.")) == ["valentine's"]


@pytest.mark.parametrize(
    ("story", "language"),
    [
        ("Order by 12 November 2026.", "en-GB"),
        ("Last orders November 12th, 2026", "en-US"),
        ("Available until 2026-11-12.", "en-GB"),
        ("On sale until 12/11/2026.", "en-GB"),
        ("On sale until 11/12/2026.", "en-US"),
        ("Commandez avant le 12 novembre 2026.", "fr"),
        ("Bestellen Sie bis zum 12. November 2026.", "de"),
    ],
)
def test_a_last_day_that_has_passed_is_told_in_each_way_of_writing_it(story: str, language: str) -> None:
    [line] = told("date-passed", of(WINTER, story=story, language=language))
    today = "November 25, 2026" if language == "en-US" else "25 November 2026"
    assert f"has passed: today is {today}." in line
    assert line.startswith("Look at · sets/set-1/story.md, line 1: ")


@pytest.mark.parametrize(
    "story",
    [
        "Order by 25 November 2026.", "We opened on 3 May 2024.", "Since June 1952 we have sold it.",
        "Order by 24 December.", "Order by the twelfth.", "Order it. On 12 November 2026 it rained.",
    ],
)  # fmt: skip
def test_the_day_itself_history_and_days_without_a_last_word_are_left_alone(story: str) -> None:
    assert words("date-passed", of(WINTER, story=story)) == []


def test_a_day_without_year_lies_in_the_season_and_no_day_is_invented() -> None:
    assert (
        "lies outside the season winter, 12 October 2026 to 24 December 2026"
        in told("date-passed", of(WINTER, "By 3 May."))[0]
    )
    assert "has passed: today is 25 November 2026." in told("date-passed", of(WINTER, story="Order by 3 November."))[0]
    assert "is no day of the calendar" in told("date-passed", of(WINTER, story="Order by 31 November 2026."))[0]


def test_an_occasion_that_is_named_thousands_of_times_is_looked_at_in_step() -> None:
    story = "after christmas " * 3_000
    begun = process_time()
    assert words("season-word", of(SPRING, story)) == []
    assert process_time() - begun < 2.0  # was 6 s, and four times that for twice as many
    assert words("season-word", of(SPRING, f"{story} For Christmas.")) == ["christmas"]
