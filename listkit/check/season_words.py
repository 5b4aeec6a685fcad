"""Seasons and days that are typed in a set's texts, held against its season and the calendar.

What may be meant otherwise is left alone: a season in the middle of a story that also names the set's own, a day
without a word that makes it a last one.
"""

import datetime
import re
from collections.abc import Iterator
from typing import Final

from listkit.check.alike import Passage, folded, passages
from listkit.check.places import CheckContext, offered
from listkit.compute.catalog import SetFacts
from listkit.listing.listings import Listings
from listkit.listing.titles import LONGEST_SEASON
from listkit.listing.words import base_language
from listkit.model.settings import Season
from listkit.problem import Place, Problem

# The seasons of the year by language, folded; from memory. French "été" is also "been", so it needs its article.
_SEASONS: Final = {
    "en": {"spring": "spring(?:time)?", "summer": "summer", "autumn": "autumn", "winter": "winter"},
    "fr": {"spring": "printemps", "summer": "(?:l'|d'|en |cet )ete", "autumn": "automne", "winter": "hiver"},
    "de": {
        "spring": r"(?:fruhling|fruhjahr)\w*", "summer": r"sommer\w*", "autumn": r"herbst\w*", "winter": r"winter\w*",
    },
}  # fmt: skip
# Days that a gift is for, month and day; from memory. They may come up to three weeks behind the last day of sale.
_OCCASIONS: Final = {
    "en": {r"christmas|xmas|advent": (12, 25), "halloween": (10, 31), r"valentine'?s?": (2, 14)},
    "fr": {r"noel": (12, 25), "halloween": (10, 31), "saint-valentin": (2, 14)},
    "de": {r"weihnacht\w*|advent\w*": (12, 25), "halloween": (10, 31), r"valentin\w*": (2, 14)},
}
_AFTER: Final = datetime.timedelta(days=21)
_FOR_NOW: Final = r"(?:this|for|cet|cette|pour|ce|diesen|diesem|fur den|fur)(?: l'| le | la |\s+)(?:early |late )?$"
_SHORT: Final = frozenset({"name", "title", "theme", "keywords"})


def season_word(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A text names the season that its set is sold in, and occasions that lie in it. Told once a text."""
    language = listings.catalog.shop.settings.language
    for facts in offered(listings.catalog):
        season = facts.season
        if season is None or (season.off_sale - season.on_sale).days > LONGEST_SEASON:
            continue
        for passage in passages(facts, language):
            word = next(_wrong(passage, season), "")
            if word:
                message = f'"{word}" stands in a text of {facts.name}, whose season is {season.name}.'
                hint = "Name its own season or none; {{ season.name }} in a story follows it."
                yield Problem(_place(passage, word), "season-word", message, hint)


def _place(passage: Passage, word: str) -> Place:
    return passage.place(max(0, folded_in_place(passage.text).find(word)))


def folded_in_place(text: str) -> str:
    """Return `text` in small letters without accents, every letter where it stood."""
    return "".join(folded(sign)[:1] or " " if sign.isalpha() else sign.replace("’", "'") for sign in text)


def _wrong(passage: Passage, season: Season) -> Iterator[str]:
    base = base_language(passage.language)
    text = folded_in_place(passage.text)
    short = passage.key[:1] and passage.key[0] in _SHORT
    for pattern, (month, day) in _OCCASIONS.get(base, {}).items():
        if not _in_season(season, month, day):
            yield from (one[0] for one in _finds(pattern, text) if short or _is_for(text, one))
    own = {name for words in _SEASONS.values() for name, word in words.items() if _finds(word, _plain(season.name))}
    words = _SEASONS.get(base, {}) if own else {}
    found = {name: _finds(pattern, text) for name, pattern in words.items()}
    named_own = any(found.get(name) for name in own)
    for name in (name for name in words if name not in own):
        yield from (one[0] for one in found[name] if short or not named_own or _is_for(text, one))


def _plain(text: str) -> str:
    return folded_in_place(text)


def _finds(pattern: str, text: str) -> list[re.Match[str]]:
    return list(re.finditer(rf"(?<![\w-])(?:{pattern})(?!\w)(?! (?:water|onion|clean|roll))", text))


def _is_for(text: str, one: re.Match[str]) -> bool:
    return re.search(_FOR_NOW, text[max(0, one.start() - 24) : one.start()]) is not None


def _in_season(season: Season, month: int, day: int) -> bool:
    years = range(season.on_sale.year, season.off_sale.year + 2)
    return any(season.on_sale <= datetime.date(year, month, day) <= season.off_sale + _AFTER for year in years)


# Months by language, folded; Unicode CLDR has the same names (tests hold them against it).
MONTHS: Final = {
    "en": "january february march april may june july august september october november december",
    "fr": "janvier fevrier mars avril mai juin juillet aout septembre octobre novembre decembre",
    "de": "januar februar marz april mai juni juli august september oktober november dezember",
}
# Words that make a day a last or a first one; from memory.
_LAST: Final = re.compile(
    r"\b(?:until|till|by|before|last|latest|orders?|ends?|closes?|from|available|launch\w*|sale|send|dispatch\w*|post"
    r"|jusqu\w*|avant|dernier\w*|commande\w*|a partir|des le|bis|vor|letzte\w*|bestell\w*|ab)\b"
)
_YEARS_BACK: Final = 4
"""Years that a day lies back and may still be a forgotten one; what is older is history."""
_SENTENCE_END: Final = re.compile(r"[.!?\n](?:\s|$)")


def date_passed(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """A day typed in a text as a last or first one has not passed, and lies in the set's season."""
    language = listings.catalog.shop.settings.language
    for facts in offered(listings.catalog):
        for passage in passages(facts, language):
            for start, end, day in _days(passage):
                if _is_deadline(passage.text, start, end) and (told := _told(day, facts, context.today)):
                    words = " ".join(passage.text[start:end].split())
                    hint = "Write {{ season.off_sale | date }}, which follows the season, or take it out."
                    yield Problem(passage.place(start), "date-passed", f'"{words}" {told}.', hint)


def _told(day: tuple[int, int, int], facts: SetFacts, today: datetime.date) -> str:
    """Return what is wrong with a day, year 0 where none is typed; "" for nothing."""
    year, month, number = day
    season = facts.season
    try:
        if year:
            typed = datetime.date(year, month, number)
            recent = typed.year >= today.year - _YEARS_BACK
            return f"has passed on {today.isoformat()}" if typed < today and recent else ""
        years = range(season.on_sale.year, season.off_sale.year + 1) if season else range(0)
        known = [datetime.date(year, month, number) for year in years]
    except ValueError:
        return "is no day of the calendar"
    inside = [one for one in known if season and season.on_sale <= one <= season.off_sale]
    if season and not inside:
        return f"lies outside the season {season.name}, {season.on_sale.isoformat()} to {season.off_sale.isoformat()}"
    return f"has passed on {today.isoformat()}" if inside and max(inside) < today else ""


def _is_deadline(text: str, start: int, end: int) -> bool:
    before = folded_in_place(text[max(0, start - 120) : start])
    after = folded_in_place(text[end : end + 60])
    before = _SENTENCE_END.split(before)[-1]
    return bool(_LAST.search(before) or _LAST.search(_SENTENCE_END.split(after)[0]))


def _days(passage: Passage) -> Iterator[tuple[int, int, tuple[int, int, int]]]:
    """Yield where a day is typed, and its year (0 for none), month and day."""
    base = base_language(passage.language)
    text = folded_in_place(passage.text)
    months = MONTHS.get(base, MONTHS["en"]).split()
    names = "|".join(months)
    day, year = r"(?P<day>\d{1,2})(?:st|nd|rd|th|er|\.)?", r"(?:,? ?(?P<year>20\d\d))?"
    for pattern in (rf"(?<![\w-]){day} (?:of )?(?P<month>{names}){year}\b", rf"\b(?P<month>{names}) {day}(?!\d){year}"):
        for one in re.finditer(pattern, text):
            yield *one.span(), (int(one["year"] or 0), months.index(one["month"]) + 1, int(one["day"]))
    for one in re.finditer(r"(?<!\d)(20\d\d)-(\d\d)-(\d\d)(?!\d)", text):
        yield *one.span(), (int(one[1]), int(one[2]), int(one[3]))
    for one in re.finditer(r"(?<!\d)(\d{1,2})[./](\d{1,2})[./](20\d\d)(?!\d)", text):
        first, second = int(one[1]), int(one[2])
        month_first = passage.language == "en-US"
        yield *one.span(), (int(one[3]), first if month_first else second, second if month_first else first)
