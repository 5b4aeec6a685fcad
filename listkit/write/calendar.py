"""The owner's calendar: an iCalendar file (RFC 5545) and the layout of its page.

A day's UID comes from the shop, its kind and its code, never from its date, so that an import in another year moves
what is there. DTSTAMP is the day that the command is for, at midnight UTC: the same shop gives the same bytes.
"""

import datetime
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Any, Final
from urllib.parse import urlsplit

from babel.dates import format_date
from icalendar import Calendar, Event
from slugify import slugify

from listkit.compute.calendar import YearDay
from listkit.compute.working_days import ONE_DAY
from listkit.listing.plan_words import CalendarWords, day_text
from listkit.listing.sentences import fill
from listkit.model.shop import Shop
from listkit.problem import FieldError
from listkit.save.job import digest_of
from listkit.units.spoken import date_text, locale_of
from listkit.write.print import Layout, layout_with, own_head

PRODUCT: Final = "-//listkit//calendar//EN"
LAYOUT: Final = ("plan/calendar.typ", "print/common.typ")


def calendar_bytes(days: Sequence[YearDay], shop: Shop, spoken: CalendarWords, today: datetime.date) -> bytes:
    """Return the calendar as iCalendar: whole days, each taking none of anybody's time.

    Raises:
        FieldError: it does not read back as it was written.
    """
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", f"{shop.settings.name}: {spoken.title}")
    stamp = datetime.datetime.combine(today, datetime.time(), datetime.UTC)
    for day, uid in zip(days, uids_of(days, shop), strict=True):
        event = Event()
        event.add("uid", uid)
        event.add("dtstamp", stamp)
        event.add("dtstart", day.day)
        event.add("dtend", (day.until or day.day) + ONE_DAY)
        event.add("summary", day_text(day, spoken))
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    content: bytes = calendar.to_ical()
    written = [str(event["uid"]) for event in Calendar.from_ical(content).walk("VEVENT")]
    if written != uids_of(days, shop):
        raise FieldError("the calendar does not read back as it was written.")
    return content


def uids_of(days: Sequence[YearDay], shop: Shop) -> list[str]:
    """Return what names each day, none twice: where codes are alike but for their signs, those written anew say more.

    "S-1" is as it is written, and "S.1" would be the same.
    """
    plain = [uid_of(day, shop) for day in days]
    often = Counter(plain)
    return [
        f"{digest_of(day.code)[:8]}-{uid}" if often[uid] > 1 and slugify(day.code, lowercase=False) != day.code else uid
        for day, uid in zip(days, plain, strict=True)
    ]


def uid_of(day: YearDay, shop: Shop) -> str:
    """Return what names a day in every calendar, in every year, unless another code has the same letters."""
    host = urlsplit(shop.settings.website).hostname or f"{slugify(shop.settings.name)}.invalid"
    number = f"-{day.number}" if day.number > 1 else ""
    return f"{day.kind.replace('_', '-')}-{slugify(day.code, lowercase=False)}{number}@{host}"


def calendar_layout(days: Sequence[YearDay], shop: Shop, spoken: CalendarWords, today: datetime.date) -> Layout:
    """Return the page, in months."""
    language = shop.settings.language
    facts = {
        **own_head(shop, spoken.title),
        "running": f"{spoken.title} · {date_text(today, language)}",
        "nothing": spoken.nothing,
        "days": len(days),
        "months": list(_months(days, spoken, language)),
    }
    return layout_with(shop, LAYOUT, facts, day=today)


def _months(days: Sequence[YearDay], spoken: CalendarWords, language: str) -> Iterator[dict[str, Any]]:
    locale = locale_of(language)
    for (year, month), of_month in groupby(days, key=lambda day: (day.day.year, day.day.month)):
        yield {
            "name": format_date(datetime.date(year, month, 1), "LLLL yyyy", locale=locale),
            "days": [
                {"day": format_date(day.day, "EEE d", locale=locale), "what": _what(day, spoken, language)}
                for day in of_month
            ],
        }


def _what(day: YearDay, spoken: CalendarWords, language: str) -> str:
    text = day_text(day, spoken)
    return f"{text}, {fill(spoken.until, day=date_text(day.until, language))}" if day.until else text
