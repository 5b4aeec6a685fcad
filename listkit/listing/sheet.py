"""The line sheet in words: every figure as the shop's language writes it, ready to be set, listed or filled in.

What a sheet does not state has no words: an empty text or tuple, never a dash of our own but in a column.
"""

import datetime
import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from listkit.compute.catalog import Catalog, Choice, SetFacts
from listkit.compute.orders import suggest_order
from listkit.compute.wholesale import Keeps, Sheet, SheetEntry, SheetGroup, SheetLine, build_sheet
from listkit.listing.formats import (
    fitting,
    list_text,
    measure_text,
    read_weight_text,
    sides_text,
    utf8_bytes,
    weight_text,
)  # fmt: skip
from listkit.listing.offers import shown_slots
from listkit.listing.print_words import PrintWords, print_words
from listkit.listing.sentences import fill
from listkit.listing.titles import content_lines
from listkit.listing.words import Words, capital, in_measure, parse_words, paths_of, size_text
from listkit.model.fields import ShopModel
from listkit.model.settings import Season
from listkit.model.shop import Shop
from listkit.model.wholesale import ANY_TIME, AS_ORDERED, Window
from listkit.units.money import Money, amounts_in
from listkit.units.quantity import share_text
from listkit.units.shown import Measures
from listkit.units.spoken import date_text, money_text

# The version of a line sheet: a short code of all that it states, so that two sheets with one code say the same.
#
# Pictures, layout, paper and wording play no part: a sheet in a buyer's hands stays good when only its looks change, or
# what becomes of an order beyond the stock, which it does not state.

# No 0, O, 1 or I, which are mistaken for each other, and no vowels, so that no code is a word.
SIGNS: Final = "23456789BCDFGHJKLMNPQRSTVWXZ"
LENGTH: Final = 5
_LOOKS: Final = {"design", "front", "paper", "barcodes", "gtins", "groups", "tiers", "notes", "window", "beyond_stock"}


def version_code(sheet: Sheet) -> str:
    """Return five signs of SIGNS; of two sheets that differ, one in seventeen million has the other's code."""
    told = json.dumps(list(_facts(sheet)), ensure_ascii=False, sort_keys=True, default=_plain)
    number = int.from_bytes(hashlib.sha256(told.encode("utf-8", "surrogatepass")).digest())
    signs = []
    for _ in range(LENGTH):
        number, sign = divmod(number, len(SIGNS))
        signs.append(SIGNS[sign])
    return "".join(signs)


def _facts(sheet: Sheet) -> Iterator[object]:
    yield sheet.currency
    yield {name: value for name, value in _stated(sheet.terms).items() if name not in _LOOKS}
    yield [tier.start for tier in sheet.tiers]
    for group in sheet.groups:
        yield [group.title, *_window(group.window), [_entry(entry) for entry in group.entries]]


def _stated(model: ShopModel) -> dict[str, object]:
    """Return what is unlike its default, so that a term that is new to us changes nothing where it is not stated."""
    values = {name: getattr(model, name) for name in type(model).model_fields}
    return {name: value for name, value in values.items() if value != type(model).model_fields[name].default}


def _window(window: Window) -> tuple[object, ...]:
    days = window.order_by, window.ships_from, window.ships_until
    return (*days, window.ships) if window.ships else days


def _entry(entry: SheetEntry) -> list[object]:
    facts = entry.facts
    theme = [facts.source.gift_set.theme, facts.season] if facts else []
    keeps = [entry.keeps.months, entry.keeps.on_arrival] if entry.keeps else None
    packs = [entry.packs.case, entry.packs.least, entry.packs.together]
    sizes = [size.sides for size in entry.outsides]
    outside = sizes if len(sizes) > 1 else sizes[0] if sizes else None
    more = [entry.last_chance, entry.lead, entry.note, entry.case_gtin, entry.display]
    return [entry.code, entry.name, theme, packs, keeps, outside, more, [_line(line) for line in entry.lines]]


def _line(line: SheetLine) -> list[object]:
    pieces = [
        [piece.quantity, item.code, item.name, item.form, item.net.text if item.net else ""]
        for piece in line.pieces
        for item in (piece.item,)
    ]
    says = [choice.says for choice in line.choices]
    numbers = [line.gtin, line.case_gtin, f"{line.weight.grams.normalize():f}"]
    return [line.code, says, numbers, line.wholesale, line.tiers, line.retail, pieces]


def _plain(value: Any) -> object:  # noqa: ANN401 (whatever is no JSON: money, days, lengths, tables)
    return _stated(value) if isinstance(value, ShopModel) else str(value)


Pairs = tuple[tuple[str, str], ...]
"""What something is called, and what it is."""


@dataclass(frozen=True, slots=True)
class LineText:
    """One code: what is chosen, its numbers, its prices."""

    code: str
    choice: str
    gtin: str
    case_gtin: str
    wholesale: str
    tiers: tuple[str, ...]
    retail: str


@dataclass(frozen=True, slots=True)
class DisplayText:
    """A set's display set: what it is, the code it is ordered by, what it costs."""

    label: str
    code: str
    price: str


@dataclass(frozen=True, slots=True)
class EntryText:
    """A set or an item. `facts` are phrases in the order of every entry; `size` is an item's own."""

    code: str
    name: str
    is_set: bool
    theme: str
    size: str
    contents: tuple[str, ...]
    facts: tuple[str, ...]
    flags: tuple[str, ...]
    note: str
    case_gtin: str
    lines: tuple[LineText, ...]
    display: DisplayText | None


@dataclass(frozen=True, slots=True)
class GroupText:
    """Entries under a title, with the days that hold for them."""

    title: str
    window: Pairs
    entries: tuple[EntryText, ...]


@dataclass(frozen=True, slots=True)
class FirstOrderText:
    """A first order that just meets the opening amount. Rows are code, name, how many, what one costs and all cost."""

    rows: tuple[tuple[str, str, str, str, str], ...]
    says: str


@dataclass(frozen=True, slots=True)
class SheetText:
    """The whole sheet in words. `head` stands on the first page, `notes` are sentences that hold for all of it."""

    version: str
    name: str
    issued: datetime.date | None
    head: Pairs
    groups: tuple[GroupText, ...]
    terms: Pairs
    notes: tuple[str, ...]
    contact: tuple[str, ...]
    order_to: str
    first_order: FirstOrderText | None


@dataclass(frozen=True, slots=True)
class SheetVoice:
    """The words of the shop's language, and its currency."""

    words: Words
    own: PrintWords
    currency: str

    @property
    def language(self) -> str:
        """BCP 47."""
        return self.words.language

    @property
    def measures(self) -> Measures:
        """What words weights and lengths in the documents."""
        return Measures(self.words.measure or "metric")

    def money(self, amount: Money) -> str:
        """Return an amount with its sign."""
        return money_text(amount.amount, amount.currency, self.language)

    def day(self, day: datetime.date, style: str = "medium") -> str:
        """Return a day."""
        return date_text(day, self.language, style=style)

    def span(self, first: datetime.date | None, last: datetime.date | None) -> str:
        """Return "1 March to 15 April", "from 1 March", "until 15 April" or ""."""
        own = self.own.sheet
        if first and last:
            return fill(own.between, first=self.day(first), last=self.day(last))
        if first:
            return fill(own.from_day, day=self.day(first))
        return fill(own.until_day, day=self.day(last)) if last else ""


def voice_of(shop: Shop) -> SheetVoice | None:
    """Return the words that the shop's documents are written with; None where its language has none, which is told."""
    language, known = shop.settings.language, dict(shop.templates.texts)
    own, _ = print_words(shop.templates, language)
    texts = tuple((path, known[path]) for path in paths_of("words", language) if path in known)
    words = parse_words(language, texts)[0] if texts else None
    return SheetVoice(in_measure(words, shop), own, shop.settings.currency) if words and own else None


@dataclass(frozen=True, slots=True)
class Document:
    """A sheet with its words."""

    sheet: Sheet
    voice: SheetVoice
    text: SheetText


def document_of(catalog: Catalog) -> Document | None:
    """Return the shop's line sheet in words; None without terms for shops, without lines, or without words."""
    return document_with(build_sheet(catalog), catalog.shop)


def document_with(sheet: Sheet | None, shop: Shop) -> Document | None:
    """Return a sheet of the shop in words; None for no sheet, for one without lines, or without words."""
    voice = voice_of(shop) if sheet is not None and sheet.groups else None
    if sheet is None or voice is None:
        return None
    return Document(sheet, voice, sheet_text(sheet, shop, voice))


def sheet_text(sheet: Sheet, shop: Shop, voice: SheetVoice) -> SheetText:
    """Return the sheet in words."""
    version = version_code(sheet)
    groups = tuple(_group(group, sheet, voice) for group in sheet.groups)
    return SheetText(
        version=version,
        name=sheet_name(sheet, version),
        issued=sheet.terms.issued,
        head=tuple(_head(sheet, voice)),
        groups=groups,
        terms=tuple(_terms(sheet, voice)),
        notes=tuple(_notes(sheet, voice)),
        contact=contact_of(shop),
        order_to=shop.settings.email or shop.settings.phone or shop.settings.website,
        first_order=_first_order(sheet, groups, voice),
    )


def _first_order(sheet: Sheet, groups: tuple[GroupText, ...], voice: SheetVoice) -> FirstOrderText | None:
    order = suggest_order(sheet) if voice.own.sheet.first_order else None
    if order is None:
        return None
    names = {line.code: full_name(entry, line) for group in groups for entry in group.entries for line in entry.lines}
    rows = tuple(
        (
            part.line.code, names[part.line.code], str(part.quantity), voice.money(part.each),
            voice.money(part.each * part.quantity),
        )
        for part in order.lines
    )  # fmt: skip
    sells = fill(voice.own.sheet.first_order_sells, amount=voice.money(order.total), retail=voice.money(order.retail))
    return FirstOrderText(rows, sells)


_SEASON_BYTES: Final = 180  # of a file's name, which has 255 at most on most systems


def sheet_name(sheet: Sheet, version: str) -> str:
    """Return what files of the sheet are called by: season, day of issue, version, as far as they are stated."""
    issued = sheet.terms.issued.isoformat() if sheet.terms.issued else ""
    season = "-".join("".join(sign if sign.isalnum() else " " for sign in sheet.terms.season.lower()).split())
    season = season[: fitting(season, _SEASON_BYTES, utf8_bytes)].rstrip("-")
    return "-".join(part for part in (season, issued, version) if part)


def contact_of(shop: Shop) -> tuple[str, ...]:
    """Return how the shop is reached, its name first."""
    settings = shop.settings
    website = settings.website.removeprefix("https://").removesuffix("/")
    return tuple(part for part in (settings.name, settings.email, settings.phone, website) if part)


def _head(sheet: Sheet, voice: SheetVoice) -> Iterator[tuple[str, str]]:
    terms, own = sheet.terms, voice.own.sheet
    if season := _span(sheet, voice):
        yield own.season, season
    if terms.issued:
        yield own.issued, voice.day(terms.issued, "long")
    if terms.valid_until:
        yield own.valid_until, voice.day(terms.valid_until, "long")
    if terms.opening:
        yield own.opening, voice.money(terms.opening)
    if terms.reorder:
        yield own.reorder, voice.money(terms.reorder)
    if terms.lead:
        yield own.lead, terms.lead


_ALL_YEAR: Final = 300  # days; what is on sale so long is of no season


def _span(sheet: Sheet, voice: SheetVoice) -> str:
    """Return the seasons that the sheet spans: "Spring to autumn 2027"; as stated where its sets have none."""
    sets = (entry.facts.season for entry in sheet.entries if entry.facts and entry.facts.season)
    seasons = sorted(
        (season for season in sets if (season.off_sale - season.on_sale).days <= _ALL_YEAR),
        key=lambda season: season.on_sale,
    )
    if not seasons:
        return capital(sheet.terms.season)
    first, last = seasons[0], seasons[-1]

    def named(season: Season, year: int | None) -> str:
        return season.name if year is None or season.name[-1:].isdigit() else f"{season.name} {year}"

    ends = named(last, last.on_sale.year)
    if first.name == last.name:
        return capital(ends)
    begins = named(first, first.on_sale.year if first.on_sale.year != last.on_sale.year else None)
    return capital(fill(voice.own.sheet.between, first=begins, last=ends))


def _terms(sheet: Sheet, voice: SheetVoice) -> Iterator[tuple[str, str]]:
    terms, own = sheet.terms, voice.own.terms
    for name in (
        "payment", "carriage", "lead", "damages", "returns", "cancellation", "back_orders", "testers", "exclusivity",
        "online_resale", "resale_proof",
    ):  # fmt: skip
        stated = getattr(terms, name)
        free = terms.carriage_free if name == "carriage" else None
        if free and free.amount not in amounts_in(stated):
            free_over = fill(voice.own.sheet.free_over, amount=voice.money(free))
            stated = "; ".join(filter(None, (stated, free_over)))
        if stated:
            yield getattr(own, name), stated


def _notes(sheet: Sheet, voice: SheetVoice) -> Iterator[str]:
    own, display = voice.own.sheet, sheet.terms.display
    yield own.before_tax
    if any(sheet.taxes):
        yield fill(own.tax_included, share=" / ".join(share_text(rate) for rate in sheet.taxes))
    yield own.suggested
    for tier in sheet.tiers:
        yield fill(own.tiers, count=str(tier.start))
    if display and display.free_from and any(entry.display for entry in sheet.entries):
        yield fill(own.free_from, count=str(display.free_from))


def _group(group: SheetGroup, sheet: Sheet, voice: SheetVoice) -> GroupText:
    entries = tuple(_entry_text(entry, sheet, voice) for entry in group.entries)
    title = voice.own.sheet.display_set if all(entry.holds for entry in group.entries) else group.title
    return GroupText(title, tuple(window_told(group.window, voice)), entries)


def window_told(window: Window, voice: SheetVoice) -> Iterator[tuple[str, str]]:
    """Yield when to order and when it ships."""
    if window.order_by:
        yield voice.own.sheet.order_by, voice.day(window.order_by)
    words = voice.own.sheet
    how = {AS_ORDERED: words.as_ordered, ANY_TIME: words.any_time}.get(window.ships, "")
    if ships := ", ".join(part for part in (voice.span(window.ships_from, window.ships_until), how) if part):
        yield words.ships, ships


def _entry_text(entry: SheetEntry, sheet: Sheet, voice: SheetVoice) -> EntryText:
    own, facts, item = voice.own.sheet, entry.facts, entry.item
    display = sheet.terms.display
    label = fill(own.display_holds, what=display.holds) if display and display.holds else own.display_set
    return EntryText(
        code=entry.code,
        name=entry.name,
        is_set=entry.is_set,
        theme=facts.source.gift_set.theme if facts else "",
        size=measure_text(item.net.text, voice.language) if item and item.net else "",
        contents=_contents(facts, entry, voice) if facts else (),
        facts=tuple(_entry_facts(entry, voice)),
        flags=(own.last_chance,) if entry.last_chance else (),
        note=entry.note,
        case_gtin="" if len(entry.lines) == 1 and entry.lines[0].case_gtin else entry.case_gtin,
        lines=tuple(_lines(entry, voice)),
        display=None if entry.display is None else DisplayText(
            label, display_code(entry.code), voice.money(entry.display) if entry.display.amount else own.free
        ),
    )  # fmt: skip


def display_code(code: str) -> str:
    """Return what a set's display is ordered by: its code and a word, since no code of the shop has a space."""
    return f"{code} display"


def _contents(facts: SetFacts, entry: SheetEntry, voice: SheetVoice) -> tuple[str, ...]:
    offered = {line.code for line in entry.lines}
    slots = shown_slots(facts, tuple((one, None) for one in facts.variants if one.code in offered), voice.currency)
    return tuple(line.text for line in content_lines(voice.words, facts, slots))


def held_text(entry: SheetEntry) -> tuple[str, ...]:
    """Return what a display set holds: "2 × First Nectar"."""
    return tuple(f"{each.count} × {each.name}" for each in entry.holds)


def free_text(entry: SheetEntry, voice: SheetVoice) -> str:
    """Return from which order on a display set costs nothing, "" where it always costs."""
    if entry.free_from is None:
        return ""
    amount, words = voice.money(entry.free_from), voice.own.sheet
    return fill(words.free_over, amount=amount) if words.free_over else f"{words.free} ≥ {amount}"


def _entry_facts(entry: SheetEntry, voice: SheetVoice) -> Iterator[str]:
    own, packs = voice.own.sheet, entry.packs
    yield from held_text(entry)
    if packs.case:
        mixed = packs.together and len(entry.lines) > 1
        yield fill(own.case_mixed if mixed else own.case_of, count=str(packs.case))
    if packs.least:
        yield fill(own.at_least, count=str(packs.least))
    if entry.outsides:
        sizes = (sides_text(size.sides, voice.language, voice.words.measure) for size in entry.outsides)
        yield voice.words.one_of(tuple(sizes))
    yield weights_text(entry, voice)
    if entry.keeps:
        yield keeps_text(entry.keeps, voice)
    if entry.facts and entry.facts.season:
        season = entry.facts.season
        yield fill(own.in_season, first=voice.day(season.on_sale), last=voice.day(season.off_sale))
    if entry.lead:
        yield f"{own.lead}: {entry.lead}"
    if free := free_text(entry, voice):
        yield free


def weights_text(entry: SheetEntry, voice: SheetVoice) -> str:
    """Return what one weighs, "443 to 507 g" where its lines differ."""
    weights = [line.weight for line in entry.lines]
    write = read_weight_text if voice.measures.customary else weight_text
    least, most = (write(weight, voice.language) for weight in (min(weights), max(weights)))
    return least if least == most else fill(voice.own.sheet.between, first=least, last=most)


def keeps_text(keeps: Keeps, voice: SheetVoice) -> str:
    """Return how long the shortest-lived piece keeps."""
    own, time = voice.own.sheet, voice.words.count("month", keeps.months)
    return fill(own.keeps_on_arrival if keeps.on_arrival else own.keeps_from_making, time=time)


def _lines(entry: SheetEntry, voice: SheetVoice) -> Iterator[LineText]:
    rows = zip(*(line.choices for line in entry.lines), strict=True)
    varied = tuple(len({size_text(choice.item, voice.language) for choice in row}) > 1 for row in rows)
    for line in entry.lines:
        told = tuple(_choice(choice, voice, sized=sized) for choice, sized in zip(line.choices, varied, strict=True))
        yield LineText(
            code=line.code,
            choice=list_text(told, voice.language) if len(told) <= 3 else "; ".join(told),
            gtin=line.gtin,
            case_gtin=line.case_gtin,
            wholesale=voice.money(line.wholesale),
            tiers=tuple(voice.money(price) for price in line.tiers),
            retail=voice.money(line.retail),
        )


def _choice(choice: Choice, voice: SheetVoice, *, sized: bool) -> str:
    """Return what is chosen, with its size where the options of its slot differ in theirs."""
    size = size_text(choice.item, voice.language) if sized else ""
    return f"{choice.says}, {size}" if size else choice.says


def full_name(entry: EntryText, line: LineText) -> str:
    """Return what one line is called on a list: the entry's name with what is chosen, an item's with its size."""
    more = line.choice or entry.size
    return f"{entry.name}, {more}" if more else entry.name
