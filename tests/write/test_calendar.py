"""The calendar against RFC 5545, and read by a second parser; its page in four languages."""

import datetime
from pathlib import Path

import pytest
import vobject

from listkit.compute.calendar import KINDS, YearDay
from listkit.listing.plan_words import calendar_words, day_text
from listkit.model.settings import Settings
from listkit.model.shop import Shop, Templates
from listkit.read.templates import own_templates
from listkit.write.calendar import calendar_bytes, calendar_layout, uid_of
from listkit.write.print import print_pdf, verify_pdf

D = datetime.date.fromisoformat
TODAY = D("2026-01-05")
DAYS = tuple(
    YearDay(kind, "OH-B01", "Rosemary; rind, oat", D("2026-02-16") + datetime.timedelta(30 * at), count="2")
    for at, kind in enumerate(KINDS)
)


def shop(language: str = "en-GB", **changes: str) -> Shop:
    """A shop that is nothing but its settings and our templates."""
    stated = {"name": "Trim & Sons", "currency": "GBP", "country": "GB", "language": language, **changes}
    settings = Settings.model_validate(stated, context={"currency": "GBP"})
    return Shop(root=Path(), settings=settings, templates=Templates(own_templates()))


def written(days: tuple[YearDay, ...], of: Shop) -> bytes:
    """The calendar of these days."""
    return calendar_bytes(days, of, calendar_words(of), TODAY)


def test_each_day_is_a_whole_day_with_what_rfc_5545_asks_for() -> None:
    """RFC 5545: 3.4 and 3.6 (PRODID, VERSION 2.0 once each), 3.6.1 (UID, DTSTAMP; DTEND is the day after)."""
    lines = written(DAYS[:1], shop()).decode().split("\r\n")
    assert lines == [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//listkit//calendar//EN",
        "X-WR-CALNAME:Trim & Sons: The year ahead",
        "BEGIN:VEVENT",
        r"SUMMARY:Order Rosemary\; rind\, oat",
        "DTSTART;VALUE=DATE:20260216",
        "DTEND;VALUE=DATE:20260217",
        "DTSTAMP:20260105T000000Z",
        "UID:buy-OH-B01@trim-sons.invalid",
        "TRANSP:TRANSPARENT",
        "END:VEVENT",
        "END:VCALENDAR",
        "",
    ]


def test_the_day_after_the_last_ends_a_span() -> None:
    """The example of RFC 5545, 3.6.1: 28 June to 8 July 2007 ends on 9 July."""
    span = YearDay("ships", "wholesale", "", D("2007-06-28"), until=D("2007-07-08"))
    text = written((span,), shop()).decode()
    assert "DTSTART;VALUE=DATE:20070628\r\nDTEND;VALUE=DATE:20070709\r\n" in text


@pytest.mark.parametrize("name", ["A" * 67, "A" * 68, "É" * 40, "É" * 33 + "a", "Trim" + "😀" * 20, "A" * 400])
def test_lines_are_folded_within_75_octets_and_no_letter_is_split(name: str) -> None:
    """RFC 5545, 3.1: at most 75 octets, the space of the fold counts in the next line; unfolded it is the same text."""
    of = shop()
    of = Shop(root=of.root, settings=of.settings, templates=Templates((("plan/en.toml", only_name(of)),)))
    text = written((YearDay("buy", "X", name, TODAY),), of)
    begin = text.index(b"SUMMARY:")
    lines = text[begin : text.index(b"\r\nDTSTART")].split(b"\r\n")
    assert all(len(line) <= 75 for line in lines)
    assert all(line.startswith(b" ") for line in lines[1:])
    unfolded = [line.decode() for line in lines]  # each line is UTF-8 by itself
    assert unfolded[0] + "".join(line[1:] for line in unfolded[1:]) == f"SUMMARY:{name}"
    assert len(lines) == 1 or len(lines[0]) + len(name[-1].encode()) > 74, "folded no earlier than needed"


def only_name(of: Shop) -> str:
    """Our words with a sentence that is the name alone."""
    return of.templates["plan/en.toml"].replace('buy = "Order {name}"', 'buy = "{name}"')


def test_a_second_parser_reads_the_same_days() -> None:
    """vobject, which shares no code with the library that writes."""
    of = shop(website="https://ottermarl.example")
    calendar = vobject.readOne(written(DAYS, of).decode())
    assert calendar.version.value == "2.0"
    read = [(e.uid.value, e.summary.value, e.dtstart.value, e.dtend.value) for e in calendar.vevent_list]
    assert read == [
        (uid_of(day, of), day_text(day, calendar_words(of)), day.day, day.day + datetime.timedelta(1)) for day in DAYS
    ]
    stamp = datetime.datetime.combine(TODAY, datetime.time(), datetime.UTC)
    assert {event.dtstamp.value for event in calendar.vevent_list} == {stamp}


def test_what_names_a_day_is_the_same_in_another_year_and_unlike_every_other() -> None:
    """RFC 5545, 3.8.4.7: a UID is kept for the life of the event."""
    of = shop()
    later = tuple(YearDay(each.kind, each.code, each.name, D("2029-07-01")) for each in DAYS)
    assert [uid_of(day, of) for day in DAYS] == [uid_of(day, of) for day in later]
    assert len({uid_of(day, of) for day in DAYS}) == len(KINDS)
    assert written(DAYS, of) == written(DAYS, of)


def test_days_of_codes_that_are_alike_but_for_their_signs_have_unlike_names() -> None:
    """RFC 5545, 3.8.4.7: a UID is globally unique; of two events with one, a calendar keeps one."""
    of = shop()
    days = tuple(YearDay("buy", code, code, D("2026-02-16")) for code in ("S-1", "S.1", "S_1"))
    events = vobject.readOne(written(days, of).decode()).vevent_list
    assert events[0].uid.value == "buy-S-1@trim-sons.invalid"
    assert len({event.uid.value for event in events}) == 3


@pytest.mark.parametrize("language", ["en-GB", "fr", "de", "es", "it"])
def test_the_page_is_printed_in_the_words_of_a_language_else_in_english(language: str, tmp_path: Path) -> None:
    of = shop(language)
    words = calendar_words(of)
    print_pdf(tmp_path / "page.pdf", calendar_layout(DAYS, of, words, TODAY))
    assert verify_pdf(tmp_path / "page.pdf", print_pdf, ()) == ""
    assert (words.title == "The year ahead") == (language in ("en-GB", "it"))
    assert all(day_text(day, words) for day in DAYS)
