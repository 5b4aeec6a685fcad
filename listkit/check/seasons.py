"""Checks of seasons and days in texts, against the set's season and the calendar.

What may be meant otherwise is left alone: a season in the middle of a story that also names the set's own, a day
without a word that makes it a last one.
"""

import datetime
import re
from collections.abc import Iterator
from typing import Final

from listkit.check.alike import Passage, folded, passages
from listkit.check.places import CheckContext, offered, offered_alone_too
from listkit.compute.catalog import SetFacts
from listkit.listing.listings import Listings
from listkit.listing.titles import LONGEST_SEASON
from listkit.listing.words import base_language
from listkit.model.settings import Season
from listkit.problem import Problem
from listkit.units.spoken import Spoken

# The seasons of the year by language, folded; from memory. French "été" is also "been", so it needs its article.
_SEASONS: Final = {
    "en": {"spring": "spring(?:time)?", "summer": "summer", "autumn": "autumn", "winter": "winter"},
    "fr": {"spring": "printemps", "summer": "(?:l'|d'|en |cet )ete", "autumn": "automne", "winter": "hiver"},
    "de": {
        "spring": r"(?:fruhling|fruhjahr)\w*", "summer": r"sommer\w*", "autumn": r"herbst\w*", "winter": r"winter\w*",
    },
}  # fmt: skip
# Days that a gift is for, month and day; from memory. They may come up to three weeks behind the last day of sale. Of
# days that move, or differ by country, several are named: Easter falls between 22 March and 25 April.
_CHRISTMAS, _HALLOWEEN, _VALENTINE = ((12, 25),), ((10, 31),), ((2, 14),)
_EASTER: Final = ((3, 22), (4, 8), (4, 25))
_MOTHERS: Final = ((3, 1), (3, 29), (5, 8), (5, 31))
_HARVEST: Final = ((8, 15), (9, 22), (10, 15))
_SNOW: Final = ((11, 10), (12, 1), (1, 10))
_FATHERS: Final = ((3, 19), (5, 9), (6, 18))
_THANKS: Final = ((10, 11), (11, 25))
_LIGHTS: Final = ((10, 18), (11, 1), (11, 14))
_NEW_YEAR, _BONFIRE = ((1, 1),), ((11, 5),)
_OCCASIONS: Final = {
    "en": {
        r"christmas(?:sy|time)?|xmas|advent": _CHRISTMAS, "halloween": _HALLOWEEN, r"valentine'?s?": _VALENTINE,
        "easter": _EASTER, r"mother'?s day|mothering sunday": _MOTHERS, r"first snow": _SNOW, r"harvest": _HARVEST,
        r"father'?s day": _FATHERS, "thanksgiving": _THANKS, r"diwali|deepavali": _LIGHTS,
        r"new year(?:'?s)?(?: eve| day)?": _NEW_YEAR, r"bonfire night|guy fawkes": _BONFIRE,
    },
    "fr": {
        r"noel": _CHRISTMAS, "halloween": _HALLOWEEN, "saint-valentin": _VALENTINE, "paques": _EASTER,
        r"fete des meres": _MOTHERS, r"premieres? neiges?": _SNOW, r"moissons?|vendanges?": _HARVEST,
        r"fete des peres": _FATHERS, r"nouvel an|jour de l'an": _NEW_YEAR,
    },
    "de": {
        r"weihnacht\w*|advent\w*": _CHRISTMAS, "halloween": _HALLOWEEN, r"valentin\w*": _VALENTINE,
        r"oster\w*": _EASTER, "muttertag": _MOTHERS, r"erste[rnm]? schnee": _SNOW, r"ernte(?:dank\w*)?": _HARVEST,
        "vatertag": _FATHERS, r"silvester|neujahr\w*": _NEW_YEAR,
    },
}  # fmt: skip
# Before an occasion that is past, or that something is counted from: "since Christmas", "ten days before Easter".
_PAST: Final = re.compile(
    r"\b(?:since|last|past|after|before|until|every|previous|depuis|apres|avant|dernier|derniere|chaque|jusqu'a"
    r"|seit|nach|vor|letzte\w*|vergangene\w*|jede\w*|bis)(?: years?'?s?)?(?: the| la| le| a| der| dem| den| zu)?\s+$"
)
_BEFORE: Final = 60  # letters in which such words are
_OVER: Final = re.compile(r"\s+(?:is|are|was|were|has|had)(?: long)? (?:over|past|gone|passed|behind us)\b")
_GIFTS: Final = "box|gift|present|set|hamper|bundle|parcel|coffret|boite|cadeau|geschenk|kiste|schachtel"
_A_GIFT: Final = re.compile(rf"(?:[ -]\w+)?[ -](?:{_GIFTS})")
_GIFT_OF: Final = re.compile(rf"\b(?:{_GIFTS})s?(?: d'| de l'| de | du | of | fur(?: den)? )$")
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
                place = passage.place(max(0, folded_in_place(passage.text).find(word)))
                yield Problem(place, "season-word", message, hint)


def folded_in_place(text: str) -> str:
    """Return `text` in small letters without accents, every letter where it stood."""
    return "".join(folded(sign)[:1] or " " if sign.isalpha() else sign.replace("’", "'") for sign in text)


def _wrong(passage: Passage, season: Season) -> Iterator[str]:
    """Yield each word of a passage for an occasion outside the season, then for another season."""
    base = base_language(passage.language)
    text = folded_in_place(passage.text)
    short = passage.key[:1] and passage.key[0] in _SHORT
    for pattern, days in _OCCASIONS.get(base, {}).items():
        if not any(_in_season(season, month, day) for month, day in days):
            finds = (match for match in _finds(pattern, text) if not _OVER.match(text, match.end()))
            yield from (match[0] for match in finds if not _is_past(text, match.start()))
    sold_in = folded_in_place(season.name)
    its_own = {name for names in _SEASONS.values() for name, pattern in names.items() if _finds(pattern, sold_in)}
    patterns = _SEASONS.get(base, {}) if its_own else {}
    for name in (name for name in patterns if name not in its_own):
        yield from (match[0] for match in _finds(patterns[name], text) if short or _is_for(text, match))


def _is_past(text: str, start: int) -> bool:
    """Whether the words right before an occasion say that it is past, or that something is counted from it.

    Only these are looked at: a text may name one thousands of times.
    """
    before = text[:start]
    words = before.rstrip()
    return words != before and bool(_PAST.search(f"{words[-_BEFORE:]} "))


def _finds(pattern: str, text: str) -> list[re.Match[str]]:
    return list(re.finditer(rf"(?<![\w-])(?:{pattern})(?!\w)(?! (?:water|onion|clean|roll))", text))


def _is_for(text: str, match: re.Match[str]) -> bool:
    """Whether words like "for this" come before a find, or it says what a gift is: "a winter box"."""
    before = text[max(0, match.start() - 24) : match.start()]
    return bool(re.search(_FOR_NOW, before) or _GIFT_OF.search(before) or _A_GIFT.match(text, match.end()))


def _in_season(season: Season, month: int, day: int) -> bool:
    """Whether the day of some year lies in the season or the three weeks after it."""
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
    language, spoken = listings.catalog.shop.settings.language, listings.catalog.shop.settings.spoken
    for facts in offered_alone_too(listings.catalog):
        for passage in passages(facts, language):
            for start, end, day in _days(passage):
                if _is_deadline(passage.text, start, end) and (fault := _day_fault(day, facts, context.today, spoken)):
                    typed_day = " ".join(passage.text[start:end].split())
                    hint = "Write {{ season.off_sale | date }}, which follows the season, or take it out."
                    yield Problem(passage.place(start), "date-passed", f'"{typed_day}" {fault}.', hint)


def _day_fault(day: tuple[int, int, int], facts: SetFacts, today: datetime.date, spoken: Spoken) -> str:
    """Return what is wrong with a day, year 0 where none is typed; "" for nothing."""
    year, month, number = day
    season, passed = facts.season, f"has passed: today is {spoken.day(today)}"
    try:
        if year:
            typed = datetime.date(year, month, number)
            recent = typed.year >= today.year - _YEARS_BACK
            return passed if typed < today and recent else ""
        years = range(season.on_sale.year, season.off_sale.year + 1) if season else range(0)
        known = [datetime.date(year, month, number) for year in years]
    except ValueError:
        return "is no day of the calendar"
    inside = [each for each in known if season and season.on_sale <= each <= season.off_sale]
    if season and not inside:
        return f"lies outside the season {season.name}, {spoken.day(season.on_sale)} to {spoken.day(season.off_sale)}"
    return passed if inside and max(inside) < today else ""


def _is_deadline(text: str, start: int, end: int) -> bool:
    """Whether a word in the same sentence makes a day a last or first one."""
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
        for match in re.finditer(pattern, text):
            yield *match.span(), (int(match["year"] or 0), months.index(match["month"]) + 1, int(match["day"]))
    for match in re.finditer(r"(?<!\d)(20\d\d)-(\d\d)-(\d\d)(?!\d)", text):
        yield *match.span(), (int(match[1]), int(match[2]), int(match[3]))
    for match in re.finditer(r"(?<!\d)(\d{1,2})[./](\d{1,2})[./](20\d\d)(?!\d)", text):
        first, second = int(match[1]), int(match[2])
        month_first = passage.language == "en-US"
        yield *match.span(), (int(match[3]), first if month_first else second, second if month_first else first)
