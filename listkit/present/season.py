"""A season looked back on: as text, as a page, as JSON and as rows of a table; and what was made for another year."""

import datetime
import textwrap
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import Any, Final

from listkit.actions.next_year import NextYear, PriceMoved
from listkit.actions.season import Cut, Left, SeasonEnd, YearRun
from listkit.compute.season_end import NOTHING, Keeps, SetWorth
from listkit.listing.cells import money_digits
from listkit.pipeline import WHOLESALE
from listkit.present.table import DASH, percent, table
from listkit.problem import as_typed, times
from listkit.read.wording import listed
from listkit.units.money import Money
from listkit.units.spoken import Spoken

_NAMED: Final = 6


@dataclass(frozen=True, slots=True)
class Heading:
    """What the lines below it are about."""

    text: str


@dataclass(frozen=True, slots=True)
class Rows:
    """A table: its rows, the headings first where it has some; the first `left` columns are words."""

    rows: Sequence[Sequence[str]]
    left: int
    headed: bool = True


COLOURS: Final = 6
"""So many places have a colour of their own; words stand beside each."""


@dataclass(frozen=True, slots=True)
class Part:
    """What a place gave of a bar: where it begins and how long it is in per cent, its colour, the same in words."""

    begin: str
    length: str
    colour: int
    words: str


@dataclass(frozen=True, slots=True)
class Bar:
    """A set with what it kept in all, place by place; `alt` is what its picture shows."""

    code: str
    name: str
    words: str
    alt: str
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Chart:
    """The sets in their order, each with a picture and a bar; in a terminal the words of the bars alone."""

    bars: tuple[Bar, ...]


Block = Heading | Rows | Chart | str
"""A part of what is shown; a text is a paragraph, with line ends where it is too long for a terminal."""


Say = Callable[..., str]
"""Returns the words of a key of `WORDS`, in somebody's language, with the parts that they name filled in."""

WORDS: Final = {
    "title": "{season}, {first} to {last}; amounts in {currency}.",
    "runs": "It is not over: these are the figures so far.",
    "to_come": "It has not begun.",
    "worth": "What was worth making, by what is kept for each hour of packing (nothing ran short)",
    "worth_scarce": "What was worth making, by what is kept for each piece of what was scarce: {scarce}",
    "left_worth": "What is left, worth {amount} at cost",
    "clearing": "How to clear it",
    "leaving": "What goes off where",
    "years": "Season over season",
    "so_far": "{year} so far",
    "redirects": "Redirects, old code and what replaces it:",
    "no_redirect": "no set holds any of it: the shop's first page",
    "set": "set",
    "went": "went",
    "takings": "takings",
    "kept": "kept in all",
    "each": "each",
    "hour": "for an hour",
    "scarce": "for each {scarce}",
    "code": "code",
    "name": "name",
    "keeps": "keeps until",
    "coming": "coming sets",
    "left": "left",
    "cost": "cost",
    "at_cost": "worth",
    "alone": "alone",
    "none": "none",
    "not_known": "not known",
    "at_most": "{day} at most",
    "past": "{day} (past)",
    "at_most_past": "{day} at most (past)",
    "bar": "{number} went, {amount} kept",
    "part": "{place} {number} for {amount}",
    "shops": "Shops",
    "no_place": "no place named",
    "sets_went": "sets that went",
    "hours": "hours of packing",
    "kept_hour": "kept for an hour",
}


def in_english(key: str, **parts: object) -> str:
    """Return words of a season in English.

    >>> in_english("bar", number=3, amount="£45.00")
    '3 went, £45.00 kept'
    """
    return WORDS[key].format(**parts)


def season_lines(end: SeasonEnd, bold: Callable[[str], str] = str) -> Iterator[str]:
    """Yield what `season_blocks` gives as lines of a terminal; `bold` marks headings."""
    for at, block in enumerate(season_blocks(end)):
        if isinstance(block, Heading):
            yield from ("",) * bool(at)
            yield bold(block.text)
        elif isinstance(block, Chart):
            of_places = ((bar.code, ", ".join(part.words for part in bar.parts)) for bar in block.bars)
            yield from (f"  {code}: {places}" for code, places in of_places if places)
        else:
            yield textwrap.indent(block if isinstance(block, str) else table(block.rows, left=block.left), "  ")


def season_blocks(end: SeasonEnd, say: Say = in_english, spoken: Spoken | None = None) -> Iterator[Block]:
    """Yield what was worth making, what is left, how to clear it, what goes off where, other years.

    Headings, columns and bars are in the words of `say`, with amounts and days as `spoken` words them; sentences are
    in English.
    """
    spoken, season = spoken or end.shop.settings.spoken, end.season
    first, last = spoken.day(season.on_sale), spoken.day(season.off_sale)
    yield Heading(say("title", season=season.name, first=first, last=last, currency=spoken.currency))
    if end.runs:
        yield say("to_come" if season.on_sale > end.day else "runs")
    name = goods_name(end, end.scarce)
    scarce = f"{end.scarce}, {name}" if name != end.scarce else name
    yield Heading(say("worth_scarce", scarce=scarce) if scarce else say("worth"))
    yield from _worth_blocks(end, say, spoken)
    if end.further:
        numbers = ", then ".join(f"{number} {code}" for code, number in end.further)
        yield f"What is left of {end.scarce} goes furthest as {numbers} (no more of each than went)."
    yield Heading(say("left_worth", amount=spoken.money(sum((each.worth for each in end.left), Decimal(0)))))
    yield from _left_blocks(end, say)
    yield Heading(say("clearing"))
    yield from _cut_lines(end)
    yield Heading(say("leaving"))
    if end.leaving:
        lines = [(each.place, ": ".join(filter(None, (each.what, ", ".join(each.codes))))) for each in end.leaving]
        yield Rows(lines, left=2, headed=False)
    yield say("redirects")
    yield Rows([(old, new or say("no_redirect")) for old, new in end.replaced], left=2, headed=False)
    if len(end.years) > 1:
        yield Heading(say("years"))
        yield Rows(_year_rows(end, say), left=1)


def goods_name(end: SeasonEnd, code: str) -> str:
    """Return what a code is called, among what is left or in the sheet."""
    names = {item.code: item.name for item in end.shop.items}
    return names.get(code, code)


def _worth_blocks(end: SeasonEnd, say: Say, spoken: Spoken) -> Iterator[Block]:
    money = _money(end)
    if not end.number:
        yield "Nothing moved of these sets in the year around the season: there is no figure to rank them by."
        yield "Add what was sold: listkit stock add sales.csv --place web_shop."
        return
    scarce = [say("scarce", scarce=end.scarce)] if end.scarce else []
    rows = [["", *map(say, ("set", "went", "takings", "kept", "each", "hour")), *scarce]]
    for at, each in enumerate(end.sets, 1):
        row = [f"{at}.", f"{each.code} {each.facts.name}", str(each.number), money(each.takings), money(each.kept)]
        row += [money(each.each), money(each.per_hour), *([money(each.per_scarce)] if scarce else [])]
        rows.append(row)
    yield Rows(rows, left=2)
    yield Chart(tuple(_bars(end, say, spoken)))
    if end.supposed:
        yield f"The price of {times(end.supposed, 'set')} is today's: the ledger has none of that day and place."
    if end.lost:
        yield f"Left out, as they are in no file any more: {', '.join(end.lost[:_NAMED])}."
    if end.drafts:
        yield f"Left out, as they are drafts, which are not counted: {', '.join(end.drafts[:_NAMED])}."


def _bars(end: SeasonEnd, say: Say, spoken: Spoken) -> Iterator[Bar]:
    """Yield each set with its bar: as long as its share of what the best set kept, parted by place."""
    sums = [sum((max(NOTHING, of.kept) for of in each.by_place), NOTHING) for each in end.sets]
    most = max(sums, default=NOTHING) or Decimal(1)
    names = {WHOLESALE: say("shops")} | {channel.key: channel.name for channel in end.shop.channels}
    places = list(dict.fromkeys(of.place for each in end.sets for of in each.by_place))
    for each in end.sets:
        parts, begin = [], NOTHING
        for of in each.by_place:
            length = (100 * max(NOTHING, of.kept) / most).quantize(Decimal("0.1"), ROUND_HALF_UP)
            place = names.get(of.place, of.place) or say("no_place")
            words = say("part", place=place, number=of.number, amount=spoken.money(of.kept))
            parts.append(Part(str(begin), str(length), places.index(of.place) % COLOURS, words))
            begin += length
        photo, went = each.facts.source.front, say("bar", number=each.number, amount=spoken.money(each.kept))
        yield Bar(each.code, each.facts.name, words=went, alt=photo.alt if photo else "", parts=tuple(parts))


def _left_blocks(end: SeasonEnd, say: Say) -> Iterator[Block]:
    money = _money(end)
    if not end.left:
        yield "Nothing is left that is counted."
        return
    rows = [tuple(map(say, ("code", "name", "keeps", "coming", "left", "cost", "at_cost")))]
    for each in end.left:
        coming = ", ".join(each.coming[:_NAMED]) or say("alone" if each.alone else "none")
        cells = (f"{each.code}", each.name, keeps_words(each.keeps, end.day, say), coming)
        rows.append((*cells, str(each.number), money(each.cost), money(each.worth)))
    yield Rows(rows, left=4)
    unknown: dict[str, list[str]] = {}
    for each in end.left:
        if each.keeps.why:
            unknown.setdefault(each.keeps.why, []).append(each.code)
    for why, codes in unknown.items():
        more = f" and {len(codes) - _NAMED} more" if len(codes) > _NAMED else ""
        yield f"Until when {', '.join(codes[:_NAMED])}{more} keeps is not known: {why}."
    if unknown:
        yield "Write its months into the column shelf life, and add what is made: listkit stock add made.csv"


def keeps_words(keeps: Keeps, day: datetime.date, say: Say = in_english) -> str:
    """Return until when something keeps; a dash where it keeps for ever, as a box does."""
    if keeps.until is None:
        return say("not_known") if keeps.why else DASH
    key = "_".join(filter(None, ("at_most" * keeps.at_most, "past" * (keeps.until < day))))
    return say(key, day=keeps.until) if key else str(keeps.until)


def _cut_lines(end: SeasonEnd) -> Iterator[str]:
    if end.season.on_sale > end.day:
        yield "It has not begun: there is nothing to clear yet."
        return
    by_words: dict[tuple[str, str], list[str]] = {}
    for cut in end.cuts:
        by_words.setdefault((cut.code, cut_words(cut, end.shop.settings.spoken)), []).append(cut.place)
    for (code, what), places in by_words.items():
        yield f"{code} at {listed(places, 'and')}: {what}"
    if end.cuts and not end.runs:
        ended = end.shop.settings.spoken.day(end.season.off_sale)
        yield f"The season ended on {ended}: to lower a price, move its last day on first."
    used = [each.code for each in end.left if each.coming]
    alone = [each.code for each in end.left if each.alone and not each.coming]
    rest = [each.code for each in end.left if not each.alone and not each.coming and " " not in each.code]
    packs = [each.code for each in end.left if not each.coming and " " in each.code]
    if used:
        yield f"Coming sets use {', '.join(used)}."
    if alone:
        yield f"Sold as single pieces too: {', '.join(alone)}."
    if rest:
        yield f"No coming set holds {', '.join(rest)}."
        yield "List it alone ([singles] in shop.toml), or see what could be made of it: listkit add --propose"
    for each in end.of_leftovers:
        pieces = " + ".join(item.code for item in each.fixed)
        options = listed([item.code for item in each.options])
        price, number = end.shop.settings.spoken.money(each.facts.cheapest), each.facts.can_make
        yield f"A set of what is left: {pieces} + {options}, {price}, of which {number} can be made."
    if packs:
        yield f"No coming set needs {', '.join(packs)}; it keeps."
    yield "Look up your country's rules before you announce anything."


def cut_words(cut: Cut, spoken: Spoken) -> str:
    """Return what may be done with a price, and what may be said of it."""
    if cut.by is None or cut.price is None:
        return f"no lower price: {cut.reason}"
    said = (
        f"to be announced as {percent(cut.share)}, {cut.reason}" if cut.share else f"not to be announced: {cut.reason}"
    )
    return f"at most {percent(cut.by)} less, to {spoken.money(cut.price)}; {said}"


def _year_rows(end: SeasonEnd, say: Say) -> list[list[str]]:
    money = _money(end)
    years = [str(run.season.on_sale.year) for run in end.years]
    rows = [["", say("so_far", year=years[0]) if end.runs else years[0], *years[1:]]]
    rows.append([say("sets_went"), *(str(run.number) for run in end.years)])
    rows.append([say("takings"), *(money(run.takings) for run in end.years)])
    rows.append([say("kept"), *(money(run.kept) for run in end.years)])
    rows.append([say("hours"), *(_hours(run) for run in end.years)])
    rows.append([say("kept_hour"), *(money(_per_hour(run)) for run in end.years)])
    return rows


def _hours(run: YearRun) -> str:
    return f"{(run.minutes / 60).quantize(Decimal('0.1'), ROUND_HALF_UP)}"


def _per_hour(run: YearRun) -> Decimal | None:
    return run.kept * 60 / run.minutes if run.minutes else None


def _money(end: SeasonEnd) -> Any:  # noqa: ANN401 - a function of amounts
    currency = end.shop.settings.currency
    return lambda amount: DASH if amount is None else money_digits(Money(amount, currency))


# For scripts and spreadsheets


def season_json(end: SeasonEnd) -> dict[str, Any]:
    """Return all of it; amounts as texts with the currency's digits, None where a figure does not exist."""
    money = _money(end)

    def amount(exact: Decimal | None) -> str | None:
        return None if exact is None else str(money(exact))

    return {
        "season": end.season.name,
        "from": str(end.season.on_sale),
        "until": str(end.season.off_sale),
        "runs": end.runs,
        "currency": end.shop.settings.currency,
        "scarce": end.scarce or None,
        "sets": [_set_json(each, amount) for each in end.sets],
        "prices_of_today": end.supposed,
        "lost": list(end.lost),
        "drafts": list(end.drafts),
        "further": [{"code": code, "number": number} for code, number in end.further],
        "left": [_left_json(each, amount) for each in end.left],
        "reductions": [
            {
                "code": cut.code,
                "place": cut.place,
                "by": None if cut.by is None else str(cut.by),
                "price": str(cut.price) if cut.price else None,
                "announced": str(cut.share),
                "reason": cut.reason,
            }
            for cut in end.cuts
        ],
        "of_leftovers": [list(each.codes) for each in end.of_leftovers],
        "leaving": [{"place": each.place, "what": each.what, "codes": list(each.codes)} for each in end.leaving],
        "redirects": [{"code": old, "instead": new or None} for old, new in end.replaced],
        "years": [
            {
                "from": str(run.season.on_sale),
                "until": str(run.season.off_sale),
                "sets": run.number,
                "takings": amount(run.takings),
                "kept": amount(run.kept),
                "minutes": str(run.minutes),
                "kept_per_hour": amount(_per_hour(run)),
            }
            for run in end.years
        ],
    }


def _set_json(each: SetWorth, amount: Any) -> dict[str, Any]:  # noqa: ANN401 - a function of amounts
    return {
        "code": each.code,
        "name": each.facts.name,
        "went": each.number,
        "takings": amount(each.takings),
        "kept": amount(each.kept),
        "minutes": str(each.minutes),
        "kept_per_hour": amount(each.per_hour),
        "scarce_pieces": each.scarce.pieces,
        "kept_per_scarce": amount(each.per_scarce),
        "places": [
            {"place": of.place, "went": of.number, "takings": amount(of.takings), "kept": amount(of.kept)}
            for of in each.by_place
        ],
    }


def _left_json(each: Left, amount: Any) -> dict[str, Any]:  # noqa: ANN401 - a function of amounts
    return {
        "code": each.code,
        "name": each.name,
        "left": each.number,
        "cost": amount(each.cost),
        "worth": amount(each.worth),
        "keeps_until": str(each.keeps.until) if each.keeps.until else None,
        "at_most": each.keeps.at_most,
        "coming": list(each.coming),
        "alone": each.alone,
    }


def season_rows(end: SeasonEnd) -> Iterator[tuple[str, ...]]:
    """Yield the rows of one table: what it is about, a code, a place, a figure's name, the figure."""
    money = _money(end)
    yield "about", "code", "place", "figure", "value"
    for each in end.sets:
        figures = {"went": str(each.number), "takings": money(each.takings), "kept": money(each.kept)}
        figures |= {"minutes of packing": str(each.minutes), "kept for an hour": money(each.per_hour)}
        figures |= {f"kept for each {end.scarce}": money(each.per_scarce)} if end.scarce else {}
        yield from (("set", each.code, "", figure, "" if value == DASH else value) for figure, value in figures.items())
        for of in each.by_place:
            yield "set", each.code, of.place, "went", str(of.number)
            yield "set", each.code, of.place, "kept", money(of.kept)
    for left in end.left:
        yield "left", left.code, "", "left", str(left.number)
        yield "left", left.code, "", "worth at cost", money(left.worth)
        yield "left", left.code, "", "keeps until", str(left.keeps.until or "")
        yield "left", left.code, "", "coming sets", " ".join(left.coming)
    for cut in end.cuts:
        yield "reduction", cut.code, cut.place, "by", percent(cut.by) if cut.by else ""
        yield "reduction", cut.code, cut.place, "may be announced", percent(cut.share) if cut.share else ""
    for leaving in end.leaving:
        yield from (("to send", code, leaving.place, "what", leaving.what) for code in leaving.codes or ("",))
    for old, new in end.replaced:
        yield "redirect", old, "", "replaced by", new
    for run in end.years:
        year = str(run.season.on_sale.year)
        yield "year", year, "", "went", str(run.number)
        yield "year", year, "", "kept", money(run.kept)


# Over to next year


def _both(moved: PriceMoved, spoken: Spoken) -> tuple[str, str, str]:
    return spoken.money(moved.before) if moved.before else DASH, "→", spoken.money(moved.now)


def next_year_lines(folder: Path, year: NextYear) -> Iterator[str]:
    """Yield what was made, what moved in prices and why, and what is left to the owner."""
    season = year.season
    new = "is new in shop.toml" if year.fresh else "was in shop.toml already"
    yield f"{season.name}, {year.spoken.day(season.on_sale)} to {year.spoken.day(season.off_sale)}, {new}."
    for each in year.made:
        photos = f", {times(len(each.photos), 'picture')} of last year's" if each.photos else ""
        source = each.source.gift_set.code
        yield f"{folder / 'sets' / each.new.folder}: {each.new.code}, {each.new.name}, from {source}{photos}"
        rows = [
            (f"  {moved.code}", *_both(moved, year.spoken), "; ".join(moved.why) or "as it was")
            for moved in each.prices
        ]
        if rows:
            yield table(rows, left=5)
    for there in year.there:
        yield f"{folder / 'sets' / there} was there already and is left as it is."
    if year.made:
        yield "They are drafts, which no build shows. Look through story and theme and take new pictures; then take the"
        yield f"line status out of each set.toml. Next: listkit check --shop {as_typed(folder)}"


def next_year_json(year: NextYear) -> dict[str, Any]:
    """Return the season, and each set with its prices before and now."""
    return {
        "season": year.season.name,
        "from": str(year.season.on_sale),
        "until": str(year.season.off_sale),
        "new": year.fresh,
        "there": list(year.there),
        "sets": [
            {
                "code": each.new.code,
                "folder": f"sets/{each.new.folder}",
                "name": each.new.name,
                "begun_with": each.source.gift_set.code,
                "photos": list(each.photos),
                "prices": [
                    {
                        "code": moved.code,
                        "before": str(moved.before) if moved.before else None,
                        "now": str(moved.now),
                        "why": list(moved.why),
                    }
                    for moved in each.prices
                ],
            }
            for each in year.made
        ],
    }
