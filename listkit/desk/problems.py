"""Problems on pages: in the owner's words, grouped by the thing they are of, each with a link to the very field.

Messages name keys as files have them, which is right where somebody writes files. On a page a key is called as its
field is, from templates/desk/words/fields.en.toml, and words of ours that nobody says at a stall are others there.
"""

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Any, Final, get_args
from urllib.parse import quote, urlencode

from pydantic import BaseModel

from listkit.desk.changes import Wrong
from listkit.desk.fields import name_of
from listkit.desk.page import SHOP_PAGE, Said, homely, in_full, offer, say, sentence, set_address
from listkit.desk.tables import Line
from listkit.desk.wording import field_words, language, page_words
from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.item import Item
from listkit.model.packaging import Packaging
from listkit.model.settings import Settings
from listkit.model.shop import Shop
from listkit.model.wholesale import Wholesale
from listkit.present.problems import within_bounds
from listkit.problem import KeyPath, Level, Place, Problem, one_line
from listkit.read.folder import (
    CHANNELS,
    INGREDIENTS,
    LANGUAGES,
    MATERIALS,
    PACKAGING,
    PLAN,
    RATES,
    RECIPES,
    SETS,
    SHOP,
    STOCKISTS,
    WHOLESALE,
)

_MODELS: Final[Mapping[str, type[BaseModel]]] = {SHOP: Settings, PACKAGING: Packaging, WHOLESALE: Wholesale}
_ROOMS: Final[Mapping[str, str]] = {
    SHOP: SHOP_PAGE,
    PACKAGING: "/shelf/boxes",
    WHOLESALE: "/shops/terms",
    STOCKISTS: "/shops",
    RATES: "/shop/table/postage",
    INGREDIENTS: "/shop/table/ingredients",
    MATERIALS: "/shelf/table/materials",
    RECIPES: "/shelf/table/recipes",
    PLAN: "/shelf/table/plan",
}
"""Where a file is changed on the desk, besides sets, places and the sheet."""
_ROWS: Final = (RATES, INGREDIENTS, MATERIALS, RECIPES, PLAN)
"""Files of which each row is fields of a page."""
_EVERY: Final = (GiftSet, Settings, Channel, Wholesale, Packaging)
_CODE: Final[KeyPath] = ("code",)
_NOT_ACCEPTED: Final = frozenset({"accepted-unused", "unknown-code"})
"""Remarks on what was accepted itself."""
_NO_COLUMN: Final = re.compile('there is no column "(.+)"\\.')
_CODE_IN_TEXT: Final = re.compile(r"(?<!= )\"([^\"\s]+)\"")
_AT: Final = "at"
"""The part of an address that names a field, which its page opens and puts the focus in."""


@dataclass(frozen=True, slots=True)
class Told:
    """A problem on a page: what it says there, what the field is called that it is of, and the address of that.

    `action` is what mends it at that address, "" where a field is to be changed there; `accept` is the address of the
    form that says that it is well as it is, "" where it must be mended.
    """

    problem: Problem
    text: str
    label: str
    address: str
    action: str = ""
    accept: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Problems of one thing: a set, an item, a place, a file; what to call it, its code and address or ""."""

    title: str
    code: str
    address: str
    told: tuple[Told, ...]

    @property
    def must(self) -> int:
        """How many of them keep something from being made."""
        return sum(each.problem.level is Level.MUST_FIX for each in self.told)


def grouped(problems: Sequence[Problem], shop: Shop, rows: Sequence[Line]) -> tuple[Group, ...]:
    """Group problems by what they are of; the worst group first, sets before others.

    Args:
        problems: what is wrong.
        shop: the shop as far as it can be read.
        rows: those of the sheet, sound or not.
    """
    things, names = _Things(shop, rows), {item.code: shop.naming.of(item) for item in shop.items}
    groups: dict[tuple[str, str, str], list[Told]] = {}
    for problem in problems:
        problem = with_names(problem, names)  # noqa: PLW2901
        title, code, address = things.of(problem.place)
        each = _of_sheet(problem, shop.items_file)
        if each is None:
            at = things.field(problem.place, address)
            each = Told(problem, told(problem), label_of(problem.place), at, accept=accept_address(problem, code))
        groups.setdefault((one_line(title), code, address), []).append(each)
    made = (Group(*thing, tuple(sorted(of, key=_turn))) for thing, of in groups.items())
    return tuple(sorted(made, key=lambda each: (-each.must, not each.address.startswith("/sets/"), each.title)))


def within(groups: Sequence[Group]) -> tuple[tuple[Group, ...], int]:
    """Return groups with as many of their problems as a page shows at once, and how many are left out."""
    shown, rest = within_bounds(
        [(at, each) for at, group in enumerate(groups) for each in group.told], lambda pair: pair[1].problem
    )
    of_group: dict[int, list[Told]] = {}
    for at, each in shown:
        of_group.setdefault(at, []).append(each)
    return tuple(replace(groups[at], told=tuple(told)) for at, told in of_group.items()), len(rest)


def with_names(problem: Problem, names: Mapping[str, str]) -> Problem:
    """Return a problem whose message names goods as people call them, where it has their codes in quotes.

    >>> each = Problem(Place("sets/a/set.toml"), "code-twice", '"J-1" and "K-1" both end in 1.', "")
    >>> with_names(each, {"J-1": "Rose butter"}).message
    'Rose butter (J-1) and "K-1" both end in 1.'
    """
    if _is_empty_set(problem):
        return replace(problem, message=say("one.nothing_in_it"), hint="")
    if '"' not in problem.message:
        return problem

    def named(match: re.Match[str]) -> str:
        return f"{names[match[1]]} ({match[1]})" if match[1] in names else match[0]

    return replace(problem, message=_CODE_IN_TEXT.sub(named, problem.message))


def _is_empty_set(problem: Problem) -> bool:
    """Whether a problem says that nothing at all is in a set."""
    return problem.message == '"contents" is missing.' and problem.place.file.endswith("/set.toml")


def _of_sheet(problem: Problem, file: str) -> Told | None:
    """Return a column that the sheet lacks with what mends it; None for another problem."""
    column = _NO_COLUMN.fullmatch(problem.message) if problem.place.file == file else None
    if column is None:
        return None
    if column[1] == "code" and not file.endswith(".ods"):
        return Told(problem, say("problem.no_codes"), "", "/shelf/codes", say("codes.title"))
    field, heading = say(f"item.field.{column[1].replace(' ', '_')}"), column[1].capitalize()
    return Told(problem, say("problem.no_column", field=field, heading=heading), "", "/shelf", say("shelf.title"))


def _turn(each: Told) -> tuple[bool, str, int]:
    problem = each.problem
    return problem.level is not Level.MUST_FIX, problem.place.file, problem.place.line


def name_of_thing(place: Place, shop: Shop) -> str:
    """Return what people call what a place is of: a set, a place or an item by its name, a file by its room."""
    if place.file == shop.items_file:
        code = str(place.key[0]) if place.key else ""
        return next((shop.naming.of(item) for item in shop.items if item.code == code), code or say("room.shelf"))
    if place.file in _ROOMS and place.file not in _ROWS:
        return say(f"room.{'shop' if place.file == SHOP else 'shelf' if place.file == PACKAGING else 'shops'}")
    return _Things(shop, ()).of(place)[0]


class _Things:
    """What the files of a shop are of, and where on the desk they are."""

    def __init__(self, shop: Shop, rows: Sequence[Line]) -> None:
        self.shop, self.rows = shop, {row.line: row for row in rows}
        self.codes = Counter(row.cells.get("code", "") for row in rows)
        self.folders = {each.folder: each for each in shop.folders}
        self.places = {f"{CHANNELS}/{each.key}.toml": each.name for each in shop.channels}

    def of(self, place: Place) -> tuple[str, str, str]:
        """Return what a place is of: what to call it, its code, its address, "" for either where it has none."""
        parts = place.file.split("/")
        if parts[0] == SETS and len(parts) > 2:
            read = self.folders.get(parts[1])
            code = read.code if read is not None else ""
            return (read.name if read is not None else "") or code or parts[1], code, set_address(code or parts[1])
        if place.file == self.shop.items_file:
            return self._item(place.line)
        if parts[0] == CHANNELS:
            key = parts[-1].removesuffix(".toml")
            return self.places.get(place.file, key), "", f"/place/{quote(key, safe='')}"
        if parts[0] == LANGUAGES:
            return say("problem.language", language=parts[-1].removesuffix(".toml")), "", ""
        address = _ROOMS.get(place.file, "")
        if place.file in _ROWS and place.line:
            address += f"?{urlencode({'line': place.line})}"
        return sentence(page_words()["file"].get(place.file, place.file)), "", address

    def _item(self, line: int) -> tuple[str, str, str]:
        row = self.rows.get(line)
        if row is None:
            return say("problem.sheet"), "", "/shelf"
        code = row.cells.get("code", "")
        named = ("row", code) if code and self.codes[code] == 1 else ("line", str(line))
        return row.cells.get("name") or code or say("shelf.unnamed", line=line), code, item_page(*named)

    def field(self, place: Place, address: str) -> str:
        """Return the address of the field that a place is, on the page of what it is of."""
        if address.startswith("/place/"):
            return _place_field(address, place.key)
        if not address.startswith("/sets/"):
            return field_address(address, place.key if address not in ("", "/shelf") else ())
        picture = place.file.partition("/photos/")[2]
        if picture or place.key[:1] == ("photos",):
            return f"{address}/photos" + (f"?{urlencode({_AT: picture or name_of(place.key)})}")
        if place.file.endswith(".md"):
            return field_address(address, ("story", *place.file.rpartition("/")[2].split(".")[1:-1]))
        return field_address(address, place.key)


def problem_address(problem: Problem) -> str:
    """Return the address of the field of a place, of the shop or of its packaging or terms; "" for another file."""
    file, key = problem.place.file, problem.place.key
    if file.startswith(f"{CHANNELS}/"):
        name = file.removeprefix(f"{CHANNELS}/").removesuffix(".toml")
        return _place_field(f"/place/{quote(name, safe='')}", key)
    return field_address(_ROOMS[file], key) if file in _ROOMS else ""


def accept_address(problem: Problem, code: str = "") -> str:
    """Return the address of the form that takes a remark as it is, filled in; "" where the problem must be mended.

    Args:
        problem: the remark.
        code: that of the set or item that it is of; the row or the file of its place if left out.

    >>> accept_address(Problem(Place("sets/a/set.toml"), "band-missed", "", own_level=Level.LOOK_AT), "OHS-1")
    '/shop?accept=band-missed&of=OHS-1&open=accepted#g/accepted'
    """
    if problem.level is Level.MUST_FIX or problem.draft or problem.code in _NOT_ACCEPTED:
        return ""
    query = {"accept": problem.code, "of": code or problem.place.row or problem.place.file, "open": "accepted"}
    return f"{SHOP_PAGE}?{urlencode(query)}#g/accepted"


def item_page(by: str, name: str) -> str:
    """Return the address of a row of the sheet, by its code or its line.

    >>> item_page("row", "OH/1")
    '/shelf/item?row=OH%2F1'
    """
    return f"/shelf/item?{urlencode({by: name})}"


def field_address(address: str, key: KeyPath) -> str:
    """Return the address of a page with the field that it opens; of the terms the field is a part of the page."""
    if not key:
        return address
    if address == _ROOMS[WHOLESALE]:
        return f"{address}#{quote(f'f/{name_of(key)}', safe='')}"
    return f"{address}{'&' if '?' in address else '?'}{urlencode({_AT: name_of(key)})}"


def _place_field(address: str, key: KeyPath) -> str:
    if key[:1] == ("column",):
        return f"{address}/columns#{'-'.join(map(str, key[:2]))}"
    return f"{address}#{quote(str(key[0]), safe='')}" if key else address


def label_of(place: Place) -> str:
    """Return what the field is called that a place is, "" where it is of none."""
    if place.file.endswith(".md"):
        return say("one.field.story")
    if "/photos" in place.file:
        return say("one.field.photos")
    if place.file in _ROWS:
        fields = page_words()["rows"]["field"]  # before the field there may be its row
        return next((say(f"rows.field.{part}") for part in reversed(place.key) if part in fields), "")
    labels = _labels(model_of(place.file), language())
    if place.key == _CODE and model_of(place.file) is GiftSet:
        return ""  # what is of all of a set stands at its code
    return next((labels[part] for part in reversed(place.key) if isinstance(part, str) and part in labels), "")


def model_of(file: str) -> type[BaseModel] | None:
    """Return what a file of the shop may say; None for one of stories, pictures or languages."""
    if file.endswith("set.toml"):
        return GiftSet
    if file.startswith(f"{CHANNELS}/"):
        return Channel
    return _MODELS.get(file) or (None if file.endswith((".toml", ".md")) or "/" in file else Item)


@cache
def _labels(model: type[BaseModel] | None, tag: str) -> Mapping[str, str]:
    """Return what every key is called: as in this file where it has such a key, else as in another.

    `tag` is the language that is spoken, to be kept by.
    """
    if model is Item:
        items = {name: say(f"item.field.{name}") for name in Item.model_fields}
        return {**_labels(None, tag), **items}
    labels: dict[str, str] = {}
    for each in (*((model,) if model else ()), *_EVERY):
        labels = {**_labels_of(each), **labels}
    return labels


def _labels_of(model: type[BaseModel]) -> dict[str, str]:
    """Return what each key of a file is called; of a key that several of its tables have, as the outermost has it."""
    labels: dict[str, str] = {}
    waiting = [model]
    for each in waiting:  # grows as tables are met
        labels = {**field_words().get(each.__name__, {}), **labels}
        waiting += [
            inner
            for about in each.model_fields.values()
            for inner in _tables_in(about.annotation)
            if inner not in waiting
        ]
    return labels


def _tables_in(kind: Any) -> Iterator[type[BaseModel]]:  # noqa: ANN401 - any annotation
    """Yield the models that a value of this type is, or holds."""
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        yield kind
    for part in get_args(kind):
        yield from _tables_in(part)


@cache
def _labels_in(model: type[BaseModel] | None, key: str, tag: str) -> Mapping[str, str]:
    """Return what the keys of a table are called in a language, by the table's key in this file or else in another."""
    for each in (*((model,) if model else ()), *_EVERY):
        for name, about in each.model_fields.items():
            if key == (about.alias or name):
                return {
                    label: words for table in _tables_in(about.annotation) for label, words in _labels_of(table).items()
                }
    return {}


# What a message says on a page.

_VALUE: Final = r"\"[^\"]*\"|'[^']*'|\[[^\]]*\]|\{[^}]*\}|-?[\w.][\w.-]*"
_STATED: Final = re.compile(rf"(?<![\w\"])([a-z]+(?:_[a-z]+)*) = ({_VALUE})")
_TABLE: Final = re.compile(r"\"?\[\[?([a-z_]+)(?:\.([a-z_]+))?\]?\]\"?(?: in two pairs)?")
_JOINED: Final = re.compile(r"(?<![\w./-])([a-z]+(?:_[a-z]+)+)(?![\w/]|\.\w)")
_MISSING: Final = re.compile(r"(?<!\w)\"([a-z_]+)\"(?= is missing| is not a key)")
_ENTRY: Final = re.compile(rf"(?<!= )\{{ ((?:[a-z_]+ = (?>{_VALUE})(?:, )?)+) \}}")
_INSTEAD: Final = re.compile(r"instead of ([a-z_]+) and ([a-z_]+)\b(?! =)")
_EACH: Final = re.compile(r", one \[\[[a-z_]+\]\] each(?=\.)")
_HOLDER: Final = frozenset({'"..."', "'...'"})


def told(each: Problem | Wrong, file: str = "") -> str:
    """Return all that a problem says, in the owner's words; `file` is that of a wrong edit, which does not say it."""
    of = each.place.file if isinstance(each, Problem) else file
    return plain(sentence(in_full(each)), of)


def plain(text: str, file: str) -> str:
    """Return a message with keys called as their fields are, and words of ours as people say them.

    >>> plain('Give each its own words with says = "...".', "sets/a/set.toml")
    'Give each its own words with “What the buyer reads”.'
    >>> plain('Write option_prices = "own" or "dearest".', "sets/a/set.toml")
    'Write “When options cost unlike sums”: each its own price or "dearest".'
    >>> plain('Write item = "B-1" instead of slot and choose.', "sets/a/set.toml")
    'Write “Item”: B-1 instead of “What the buyer chooses” and “Options”.'
    >>> plain('Give one its own: { item = "B-1", part = "..." }.', "sets/a/set.toml")
    'Give one its own: “Item”: B-1, “Its ending in the codes of versions”.'
    >>> plain('Add contents: what is in it, one [[contents]] each.', "sets/a/set.toml")
    'Add contents: what is in it.'
    >>> plain('"cost" is missing.', "items.csv")
    '“Cost” is missing.'
    """
    return text if isinstance(text, Said) else _plain(text, file, language())


@lru_cache(maxsize=4096)  # the same few remarks with each part of a page
def _plain(text: str, file: str, tag: str) -> str:
    model, begun = model_of(file), _TABLE.search(text)
    labels = {**_labels(model, tag), **(_labels_in(model, begun[2] or begun[1], tag) if begun else {})}

    def named(key: str) -> str:
        return say("problem.field", field=labels[key])

    def stated(match: re.Match[str]) -> str:
        key, value = match.groups()
        if key not in labels:
            return match[0]
        return named(key) if value in _HOLDER else say("problem.stated", field=labels[key], value=_value(value))

    def table(match: re.Match[str]) -> str:
        key = match[2] or match[1]
        return named(key) if key in labels else match[0]

    def joined(match: re.Match[str]) -> str:
        return named(match[1]) if match[1] in labels else match[0]

    def entry(match: re.Match[str]) -> str:
        return match[1] if _STATED.match(match[1]) and match[1].partition(" ")[0] in labels else match[0]

    def instead(match: re.Match[str]) -> str:
        known = labels.keys() >= set(match.groups())
        return f"instead of {named(match[1])} and {named(match[2])}" if known else match[0]

    text = _EACH.sub("", text)
    for pattern, replaced in (
        (_ENTRY, entry),
        (_INSTEAD, instead),
        (_STATED, stated),
        (_TABLE, table),
        (_JOINED, joined),
        (_MISSING, joined),
    ):
        text = pattern.sub(replaced, text)
    return homely(text)


def _value(text: str) -> str:
    """Return a value of a file as a page has it.

    >>> _value('["price list", "feed"]'), _value("false"), _value("{ Jar = 'J1' }")
    ('price list, feed', 'no', 'Jar = J1')
    """
    if text in ("true", "false"):
        return say("one.yes" if text == "true" else "one.no")
    if text[0] in "[{":
        inner = text[1:-1].strip()
        return ", ".join(part.strip().replace('"', "").replace("'", "") for part in inner.split(","))
    bare = text.strip("\"'")
    return str(field_words()["choice"].get(bare, bare))


offer("told", told)
offer("accept_address", accept_address)
offer("plain", plain)
offer("problem_address", problem_address)
