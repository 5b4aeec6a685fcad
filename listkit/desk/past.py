"""Past: prices over time as a picture and a table, what was published when, and every change of a file, to take back.

Nothing of it is stored for this room: prices and publications are the ledger's, changes those of `edit/past.py`. A
ledger that cannot be used hides the first two alone.
"""

import csv
import datetime
import re
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, TypeVar
from urllib.parse import quote, urlencode

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from listkit.actions.history import Drawing, History, drawn, history_of
from listkit.actions.season import end_of_season
from listkit.bounded_toml import parse_bounded
from listkit.compute.catalog import Catalog, SetFacts
from listkit.desk import changes
from listkit.desk.page import Desk, in_full, page, page_of, say, set_address
from listkit.desk.problems import label_of, name_of_thing
from listkit.edit.past_lines import PastChange, PastFile
from listkit.ledger.history import RETAIL, PricePoint
from listkit.ledger.store import LEDGER, Record, priced_codes, records
from listkit.listing.titles import fold
from listkit.model.item import Item
from listkit.model.shop import Shop
from listkit.pipeline import WHOLESALE
from listkit.present.season import season_blocks
from listkit.problem import BlockedError, FieldError, Place, one_line
from listkit.read.headings import our_field
from listkit.read.source import Source, decoded
from listkit.units.spoken import Spoken, date_text, money_text

_BACK: Final = "taken back: "
_MORE: Final = re.compile(r" and ([0-9]{1,9}) more")
PAGE: Final = 20
"""Changes and publications of a page."""
MOST_GOODS: Final = 60
"""So many goods are offered at once; a longer search word finds fewer."""
_Row = TypeVar("_Row")
DRAWING_POLICY: Final = "default-src 'none'; sandbox"


@dataclass(frozen=True, slots=True)
class Good:
    """Something with recorded prices; `codes` are those of a set's variants, each with what is chosen in it."""

    code: str
    name: str
    codes: tuple[tuple[str, str], ...] = ()

    @property
    def address(self) -> str:
        """Where its prices are shown, those of the first variant where it is a set."""
        return prices_address(self.codes[0][0] if self.codes else self.code)


@dataclass(frozen=True, slots=True)
class Publication:
    """A record of a place: when, where, and the owner's note."""

    day: str
    time: str
    place: str
    note: str


@dataclass(frozen=True, slots=True)
class FieldMove:
    """A field that differs: what it is called, what it said before and after, "" for nothing."""

    label: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class FileThen:
    """A file of a change: its path, what became of it, and the lines before and after, None where they are not kept.

    `moves` are its fields that differ, where the lines before and after are of one kind.
    """

    path: str
    what: str
    before: str | None
    after: str | None
    moves: tuple[FieldMove, ...] = ()


@dataclass(frozen=True, slots=True)
class ChangeThen:
    """A change of the past as it is shown; `at` is its time for a form."""

    number: int
    at: str
    when: str
    what: str
    files: tuple[FileThen, ...]
    taken_back: bool


@dataclass(frozen=True, slots=True)
class PriceThen:
    """A price of the table; `price` is "" from the day on that it was taken down."""

    day: str
    place: str
    price: str
    amount: Decimal | None
    note: str


def prices_address(code: str) -> str:
    """Return the address of the prices of a code.

    >>> prices_address("OHS-1/S 03")
    '/past/prices?code=OHS-1%2FS+03'
    """
    return f"/past/prices?{urlencode({'code': code})}"


def show(desk: Desk, request: Request) -> Response:
    """Return the page: goods with prices, publications and changes, of those that a search asks for."""
    state = desk.shop_state
    seen, asked = state.look(), " ".join(request.query_params.get("q", "").split())[:200]
    shop, fault = seen.opened.shop, ""
    try:
        known, published = priced_codes(shop.root / LEDGER), records(shop.root / LEDGER)
    except FieldError as refused:
        known, published, fault = (), (), in_full(refused)
    try:
        done, past_fault = changes.past(shop.root), ""
    except FieldError as refused:
        done, past_fault = (), in_full(refused)
    goods = tuple(_matching_goods(goods_of(seen.catalog, known), asked))
    every = tuple(_matching_publications(published, shop, asked))
    made = tuple(
        change for change in reversed(done) if _matches(asked, f"{_text_of(change)} {what_words(change, shop)}")
    )
    return page(
        desk,
        request,
        "past",
        asked=asked,
        fault=fault,
        past_fault=past_fault,
        goods=goods[:MOST_GOODS],
        more_goods=max(0, len(goods) - MOST_GOODS),
        published=_on_page(every, request, "published"),
        changes=[change_then(change, shop) for change in _on_page(made, request, "changes")],
        pages={"published": _pages(every, request, "published"), "changes": _pages(made, request, "changes")},
        to=lambda name, number: f"/past?{urlencode({'q': asked, name: number})}#{name}",
        seasons=[(each.name, f"/past/season?{urlencode({'name': each.name})}") for each in shop.settings.seasons],
        here_now=f"/past?{urlencode({'q': asked})}" if asked else "/past",
    )


def show_season(desk: Desk, request: Request) -> Response:
    """Return a season looked back on, as the command shows it, with a picture and a bar for each set."""
    state, name = desk.shop_state, request.query_params.get("name", "")[:200]
    try:
        end = end_of_season(state.folder, name, state.today())
    except FieldError as refused:
        status = _status_of(refused)
        return page(desk, request, "past", template="season", status=status, fault=in_full(refused), blocks=())
    settings = end.shop.settings
    spoken = Spoken(settings.language, settings.currency)
    shown = season_blocks(end, lambda key, **parts: say(f"season.{key}", **parts), spoken)
    blocks = [("text" if isinstance(block, str) else type(block).__name__, block) for block in shown]
    fronts = {each.code: each.facts.source.front for each in end.sets}
    pictures = {
        code: f"{set_address(code)}/photos/{quote(photo.name, safe='')}?size=tile"
        for code, photo in fronts.items()
        if photo
    }
    return page(desk, request, "past", template="season", fault="", blocks=blocks, pictures=pictures)


def show_prices(desk: Desk, request: Request) -> Response:
    """Return the prices of a code over time, as a picture and as a table; of a set the way to its variants."""
    seen, code = desk.shop_state.look(), request.query_params.get("code", "")
    shop, day = seen.opened.shop, seen.day
    facts = next((each for each in seen.catalog.listed if code in (each.code, *_codes_of(each))), None)
    try:
        history = history_of(shop, code, day)
    except FieldError as fault:
        first = next(iter(_codes_of(facts)), "") if facts is not None and code == facts.code else ""
        if first and first != code and first in _known(shop):
            return RedirectResponse(prices_address(first), 303)
        status = _status_of(fault)
        return page(desk, request, "past", template="past_prices", code=code, fault=fault, history=None, status=status)
    names = _names(shop)
    return page(
        desk,
        request,
        "past",
        template="past_prices",
        code=history.code,
        name=_name_of(history.code, seen.catalog, facts),
        fault=None,
        history=history,
        drawing=f"/past/drawing?{urlencode({'code': history.code, 'v': _stamp(history, day)})}",
        rows=[_price_then(point, shop, names) for point in reversed(history.points)],
        lowest=[(names.get(key, key), price and _money(Decimal(price), shop)) for key, price in history.lowest.items()],
        beside=[(each.code, ", ".join(choice.says for choice in each.choices)) for each in facts.variants]
        if facts is not None and len(facts.variants) > 1
        else [],
        prices_address=prices_address,
    )


def show_drawing(desk: Desk, request: Request) -> Response:
    """Return the picture of the prices of a code."""
    seen, code = desk.shop_state.look(), request.query_params.get("code", "")
    how = Drawing(
        title=say("past.drawn_title", code=code),
        axis=say("past.axis", currency=seen.opened.shop.settings.currency),
        wholesale=say("past.wholesale"),
        retail=say("past.retail"),
        narrow="narrow" in request.query_params,
        marked="",
        shaded="",
    )
    try:
        svg = drawn(seen.opened.shop, history_of(seen.opened.shop, code, seen.day), seen.day, how)
    except FieldError as fault:
        return Response(status_code=_status_of(fault))
    return Response(svg, media_type="image/svg+xml", headers={"content-security-policy": DRAWING_POLICY})


def _status_of(fault: FieldError) -> int:
    """Return how a page answers that cannot be shown: a ledger in the way is another thing than what is not there."""
    return 409 if isinstance(fault, BlockedError) else 404


# Goods with prices


def goods_of(catalog: Catalog, known: Sequence[str]) -> Iterator[Good]:
    """Yield all that has a recorded price: sets with their variants, items, then codes that the shop has no more."""
    left = dict.fromkeys(known)
    for facts in catalog.sets:
        variants = [each for each in facts.variants if each.code in left]
        codes = tuple((each.code, ", ".join(choice.says for choice in each.choices)) for each in variants)
        if codes or facts.code in left:
            yield Good(facts.code, facts.name, codes)
        for code in (facts.code, *(code for code, _ in codes)):
            left.pop(code, None)
    for item in catalog.shop.items:
        if item.code in left:
            yield Good(item.code, catalog.shop.naming.of(item))
            left.pop(item.code)
    yield from (Good(code, say("past.no_more")) for code in left)


def _matching_goods(goods: Iterator[Good], asked: str) -> Iterator[Good]:
    """Yield the goods that every word of a search is in; of a set found by a variant alone that variant."""
    for good in goods:
        of_set = f"{good.code} {good.name}"
        codes = tuple(each for each in good.codes if _matches(asked, f"{of_set} {' '.join(each)}"))
        if codes or _matches(asked, of_set):
            yield Good(good.code, good.name, codes or good.codes)


def _codes_of(facts: SetFacts | None) -> tuple[str, ...]:
    return tuple(each.code for each in facts.variants) if facts is not None else ()


def _known(shop: Shop) -> frozenset[str]:
    try:
        return frozenset(priced_codes(shop.root / LEDGER))
    except FieldError:
        return frozenset()


def _name_of(code: str, catalog: Catalog, facts: SetFacts | None) -> str:
    if facts is not None:
        return facts.name
    return next((catalog.shop.naming.of(item) for item in catalog.shop.items if item.code == code), say("past.no_more"))


# Prices and publications


def _names(shop: Shop) -> dict[str, str]:
    names = {channel.key: channel.name for channel in shop.channels}
    return {**names, WHOLESALE: say("past.wholesale"), RETAIL: say("past.retail")}


def _money(amount: Decimal, shop: Shop) -> str:
    return money_text(amount, shop.settings.currency, shop.settings.language)


def _price_then(point: PricePoint, shop: Shop, names: dict[str, str]) -> PriceThen:
    price = point.other if point.price is None else _money(point.price, shop)
    day = date_text(point.day, shop.settings.language)
    return PriceThen(day, names.get(point.channel, point.channel), price, amount=point.price, note=point.note)


def _stamp(history: History, day: datetime.date) -> str:
    """Return what makes the address of a drawing another one when there is another price or day."""
    return f"{len(history.points)}-{day}"


def _matching_publications(published: Sequence[Record], shop: Shop, asked: str) -> Iterator[Publication]:
    """Yield the records that every word of a search is in, the last first."""
    names, language = _names(shop), shop.settings.language
    for record in reversed(published):
        place = names.get(record.channel, record.channel)
        shown = Publication(date_text(record.day, language), record.at[11:16], place, record.note)
        if _matches(asked, f"{shown.day} {record.day} {place} {record.note}"):
            yield shown


# Changes


def change_then(change: PastChange, shop: Shop) -> ChangeThen:
    """Return a change with what became of each of its files."""
    when = change.when.astimezone()
    shown = f"{date_text(when.date(), shop.settings.language)}, {when:%H:%M}"
    return ChangeThen(
        number=change.number,
        at=change.when.isoformat(),
        when=shown,
        what=what_words(change, shop),
        files=tuple(_file_then(file, shop) for file in change.files),
        taken_back=change.taken_back,
    )


_LONGEST_WHAT: Final = 10_000  # letters


def what_words(change: PastChange, shop: Shop) -> str:
    """Return what a change was of, things and fields as the desk calls them; what was said in words stays as it is.

    It is cut where it is longer than any that is written here: the file may be another program's.
    """
    if len(change.what) > _LONGEST_WHAT:
        return one_line(change.what)
    begun, _, rest = change.what.rpartition(_BACK)
    more = next((found for found in _MORE.finditer(rest) if found.end() == len(rest)), None)
    things: dict[str, dict[str, None]] = {}
    paths = {file.path for file in change.files}
    for text in (rest[: more.start()] if more else rest).split(", "):
        path, _, key = text.partition(": ")
        if path not in paths:
            return change.what
        of_row = path == shop.items_file and "." in key  # a code may have points of its own, a field has none
        place = Place(path, key=tuple(key.rsplit(".", 1) if of_row else filter(None, key.split("."))))
        things.setdefault(name_of_thing(place, shop), {})[label_of(place)] = None
    said = "; ".join(
        ": ".join(filter(None, (name, ", ".join(filter(None, labels))))) for name, labels in things.items()
    )
    said = say("today.and_more", names=said, count=int(more[1])) if more else said
    return say("past.taken_back", what=said) if begun or rest != change.what else said


def _file_then(file: PastFile, shop: Shop) -> FileThen:
    if file.patch is not None:
        before, after = file.patch.before, file.patch.after
        moves = tuple(_moves(file.path, before.splitlines(), after.splitlines(), shop))
        return FileThen(file.path, say("past.changed"), before, after, moves)
    what = "past.made" if not file.before else "past.gone" if not file.after else "past.replaced"
    return FileThen(file.path, say(what), None, None)


def _moves(path: str, before: list[str], after: list[str], shop: Shop) -> Iterator[FieldMove]:
    """Yield the fields in which lines differ one by one; none where lines came or went."""
    if len(before) != len(after):
        return
    of_line = _cells_of_table(path, shop) if path.endswith((".csv", ".tsv", ".txt")) else _value_of_line
    for old, new in zip(before, after, strict=True):
        was, now = of_line(old), of_line(new)
        if was.keys() != now.keys():
            continue
        for key in (key for key in was if was[key] != now[key]):
            yield FieldMove(_called(path, key, shop), was[key], now[key])


def _called(path: str, key: str, shop: Shop) -> str:
    """Return the name of the field of a key or heading; the key itself where a line alone does not say which it is."""
    if path == shop.items_file:
        field = our_field(key, tuple(Item.model_fields))
        return (label_of(Place(path, key=("", field))) if field else "") or key
    return (label_of(Place(path, key=(key,))) if path.endswith("/set.toml") else "") or key


def _value_of_line(line: str) -> Mapping[str, str]:
    """Return the value of a line of TOML by its key; nothing where it is no line of one value.

    >>> _value_of_line('price = "5.50"  # since May')
    {'price': '5.50'}
    """
    try:
        stated = parse_bounded(line)
    except tomllib.TOMLDecodeError:
        return {}
    return {key: str(value) for key, value in stated.items() if not isinstance(value, dict | list)}


def _cells_of_table(path: str, shop: Shop) -> Callable[[str], Mapping[str, str]]:
    """Return what takes a line of a table into cells by the headings that the table has now."""
    content = (shop.root / path).read_bytes() if (shop.root / path).is_file() else b""
    source = decoded(path, content)
    first = source.text.partition("\n")[0] if isinstance(source, Source) else ""
    sign = max(",;\t", key=first.count)

    def row(line: str) -> list[str]:
        try:
            return next(csv.reader([line], delimiter=sign), [])
        except csv.Error:  # a line end of another kind in it, or a cell beyond measure
            return []

    headings = row(first.strip("\r"))

    def cells(line: str) -> Mapping[str, str]:
        texts = row(line)
        return dict(zip(headings, texts, strict=True)) if len(texts) == len(headings) else {}

    return cells


def _text_of(change: PastChange) -> str:
    """Return all of a change that is looked into for words."""
    patches = [f"{file.patch.before} {file.patch.after}" for file in change.files if file.patch is not None]
    return " ".join((change.what, f"{change.when:%Y-%m-%d}", *(file.path for file in change.files), *patches))


def _matches(asked: str, text: str) -> bool:
    """Whether every word of a search is in a text, whatever its accents and capitals."""
    within = fold(text)
    return all(word in within for word in fold(asked).split())


def _on_page(rows: Sequence[_Row], request: Request, name: str) -> Sequence[_Row]:
    at = page_of(request, name, len(rows), PAGE)
    return rows[(at - 1) * PAGE : at * PAGE]


def _pages(rows: Sequence[object], request: Request, name: str) -> tuple[int, int]:
    """Return which page of some rows is shown, and how many there are."""
    return page_of(request, name, len(rows), PAGE), max(1, -(-len(rows) // PAGE))
