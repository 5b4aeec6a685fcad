"""Requests that nobody sends by hand, from a seeded chance: a form of a real page, changed, or a route with anything.

Pages are walked as an owner does, by links from a room; the form that is met there is filled with words that break
programs, loses fields, has some twice, or takes a file that is none. The same chance gives the same requests for the
same pages.
"""

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from random import Random
from typing import Final
from urllib.parse import quote, urljoin, urlsplit

from tests.fuzz import nasty
from tests.fuzz.cases import KINDS
from tests.fuzz.mutate import TEXT, mutated

File = tuple[str, bytes, str]
"""A file of a form: its name, its bytes, its kind."""
ROOMS: Final = (
    "/today", "/sets", "/sets/new", "/sets/proposals", "/shelf", "/shelf/new", "/shelf/codes", "/shelf/boxes",
    "/shelf/stock", "/shelf/allotment", "/places", "/places/new", "/places/moves", "/shops", "/shops/terms", "/print",
    "/print/market", "/print/post", "/print/measure", "/past", "/past/prices", "/past/season", "/shop", "/build",
    "/start", "/shelf/table/recipes", "/shelf/table/materials", "/shelf/table/plan", "/shop/table/postage",
    "/shop/table/ingredients", "/shelf/stock/code?code=OH-B01", "/shelf/stock/batch", "/past/season?name=spring",
    "/shelf/take?row=OH-B01", "/place/web_shop/feed", "/place/web_shop/columns", "/place/web_shop/compare",
    "/place/web_shop/publish", "/shops/orders/1", "/print/market?place=stall", "/rename?old=OH-B01&new=OH-B91",
)  # fmt: skip
KEPT_FIELDS: Final = ("form_token",)
LARGE: Final = (  # what takes room or depth in place of a word
    "9" * 5_000, "-" + "9" * 5_000, "[" * 100_000, "a" * 100_000, "\x00" * 50, "٣" * 5_000, "1e99999", "../" * 2_000,
    "\ud800", "0" * 5_000 + "1", "{" * 20_000, "1/" * 3_000, '"' * 5_000, "²", "①", "-1", "9" * 20,
    "＋１",
)  # fmt: skip
NAMES: Final = (
    "../../outside/canary.png", "..\\..\\shop.toml", "a\x00.csv", "a\nb.csv", "x" * 5_000 + ".csv", "CON", "con.jpg",
    "shop.toml", "Group.JPG", "group.jpg", "/etc/passwd", ".hidden.jpg", "", ".", "..", "a.xlsx", "b.ods", "c.csv",
    "d.json", "e.png", "f.tif", "g.avif", "h.svg", "i.zip", "j", "k.csv ",
    "l.csv.", "\u202egpj.exe", "e\u0301.jpg", "\ud800.jpg",
)  # fmt: skip


@dataclass(slots=True)
class Form:
    """A form of a page: where it is sent, what its fields hold, which of them take files."""

    action: str
    sends: bool = False
    fields: list[tuple[str, str]] = field(default_factory=list)
    files: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Asked:
    """A request: what is sent to where."""

    method: str
    address: str
    fields: tuple[tuple[str, str], ...] = ()
    files: tuple[tuple[str, File], ...] = ()
    headers: Mapping[str, str] = field(default_factory=dict)

    def __str__(self) -> str:
        """Return it in a line, long values shortened."""
        sent = ", ".join(f"{_short(name)}={_short(value)}" for name, value in self.fields)
        files = ", ".join(f"{_short(name)}:{_short(file[0])}({len(file[1])})" for name, file in self.files)
        return f"{self.method} {_short(self.address, 120)} [{sent}] [{files}] {dict(self.headers) or ''}"[:3_000]


def _short(text: str, most: int = 40) -> str:
    shown = ascii(text)[1:-1]
    return shown if len(shown) <= most else f"{shown[:most]}…{len(text)}"


class Reader(HTMLParser):
    """Reads links and forms of a page."""

    def __init__(self, address: str) -> None:
        super().__init__()
        self.address = address
        self.links: list[str] = []
        self.forms: list[Form] = []
        self._area: str | None = None
        self._select: str | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a link, a form, or a field of the last form."""
        given = {name: value or "" for name, value in attrs}
        if tag == "a" and given.get("href", "").startswith(("/", "?")):
            self.links.append(urljoin(self.address, given["href"]).partition("#")[0])
        elif tag == "form":
            action = urljoin(self.address, given.get("action", "")).partition("#")[0]
            self.forms.append(Form(action, given.get("method", "get").lower() == "post"))
        if not self.forms or not (name := given.get("name", "")):
            if tag == "option" and self._select and self.forms:
                self._option(given)
            return
        form = self.forms[-1]
        kind = given.get("type", "text")
        if tag == "input" and kind == "file":
            form.files.append(name)
        elif tag == "input" and (kind not in ("checkbox", "radio") or "checked" in given):
            form.fields.append((name, given.get("value", "on" if kind == "checkbox" else "")))
        elif tag == "button":
            form.fields.append((name, given.get("value", "")))
        elif tag == "textarea":
            self._area = name
            form.fields.append((name, ""))
        elif tag == "select":
            self._select = name

    def _option(self, given: Mapping[str, str]) -> None:
        if "selected" in given or not any(name == self._select for name, _ in self.forms[-1].fields):
            self.forms[-1].fields.append((self._select or "", given.get("value", "")))

    def handle_endtag(self, tag: str) -> None:
        """Leave a field."""
        self._area = None if tag == "textarea" else self._area
        self._select = None if tag == "select" else self._select

    def handle_data(self, data: str) -> None:
        """Take what a large field holds."""
        if self._area is not None:
            name, value = self.forms[-1].fields[-1]
            self.forms[-1].fields[-1] = (name, value + data)


def read_page(text: str, address: str) -> Reader:
    """Return the links and forms of a page."""
    reader = Reader(address)
    reader.feed(text)
    return reader


def word(chance: Random) -> str:
    """Return something that breaks programs, as far as a form can carry it."""
    text = chance.choice(LARGE) if chance.random() < 0.35 else chance.choice(nasty.ALL)
    return text if chance.random() < 0.9 else text.encode("utf-8", "surrogatepass").decode("latin-1")


def changed_form(chance: Random, form: Form, token: str, given: Sequence[Path]) -> Asked:
    """Return a form sent otherwise than its page would send it."""
    fields = [each for each in form.fields if each[0] not in KEPT_FIELDS]
    if len(fields) > 60 and chance.random() < 0.8:  # a form of a whole set: as the script sends it
        stay = [each for each in fields if each[0].startswith("shown/")]
        fields = [*stay, *chance.sample(fields, chance.choice((1, 2, 6)))]
    for _ in range(chance.choice((0, 1, 1, 1, 2, 3, 8))):
        _change_field(chance, fields)
    if token and chance.random() < 0.97:
        fields.append((KEPT_FIELDS[0], token))
    names = form.files if form.files and chance.random() < 0.9 else []
    if chance.random() < 0.04:
        names = [*names, chance.choice(fields)[0] if fields else "sheet"]
    files = tuple((name, a_file(chance, given)) for name in names for _ in range(chance.choice((1, 1, 1, 2, 5))))
    headers = (
        {} if chance.random() < 0.8 else {"x-parts": chance.choice(("{}", "[]", '{"a": 1}', word(chance)[:9_000]))}
    )
    return Asked("POST" if form.sends else "GET", form.action, tuple(fields), files, _sendable(headers))


def _sendable(headers: Mapping[str, str]) -> dict[str, str]:
    return {name: re.sub(r"[^\x21-\x7e ]", "?", value).strip() for name, value in headers.items()}


def _change_field(chance: Random, fields: list[tuple[str, str]]) -> None:
    at = chance.randrange(len(fields)) if fields else -1
    name, value = fields[at] if fields else ("what", "")
    way = chance.randrange(8)
    if way < 4 and fields:
        fields[at] = (name, word(chance) if way < 3 else value + word(chance))
    elif way == 4 and fields:
        del fields[at]
    elif way == 5:
        fields.append((name, chance.choice((value, word(chance)))))
    elif way == 6:
        fields.append((_other_name(chance, name), word(chance)))
    elif fields:
        fields[at] = (name, chance.choice(fields)[1])


def _other_name(chance: Random, name: str) -> str:
    number = chance.choice(("0", "1", "99", "9" * 5_000, "-1", "x", ""))
    with_number = re.sub(r"\d+", lambda found: number, name, count=1)
    return chance.choice((word(chance), f"{name}/{number}", with_number, f"{name}/", f"/{name}", name * 3, name[:-1]))


def a_file(chance: Random, given: Sequence[Path]) -> File:
    """Return a file as it is, changed, or under a name that is no name."""
    path = chance.choice(given)
    content = path.read_bytes()
    if chance.random() < 0.5:
        others = [path.read_bytes() for path in chance.sample(list(given), 2)]
        content = mutated(chance, content, others, KINDS.get(path.suffix, TEXT))
    if chance.random() < 0.1:
        content = chance.choice(
            (b"", b"\x00" * 4_096, b"PK\x03\x04" * 200, b"[" * 100_000, b"\xff\xd8\xff" + b"x" * 99)
        )
    name = path.name if chance.random() < 0.5 else chance.choice(NAMES)
    return name, content, chance.choice(("text/csv", "image/jpeg", "application/octet-stream", "", "multipart/mixed"))


def anything(chance: Random, methods: Mapping[str, str], known: Iterable[str], token: str) -> Asked:
    """Return a request of any route, with any values in its path, query and fields."""
    path = chance.choice(sorted(methods))
    names = sorted(set(known)) or ["what"]
    values = (*names[:40], *nasty.PATHS)

    def value(found: re.Match[str]) -> str:
        if found[0].endswith(":int}"):
            return chance.choice(("0", "1", "2", "9" * 20, "9" * 4_400))
        text = chance.choice(values) if chance.random() < 0.6 else word(chance)[:3_000]
        return quote(text.encode("utf-8", "surrogatepass"), safe="" if chance.random() < 0.8 else "/")

    address = re.sub(r"\{[^}]*\}", value, path)
    fields = tuple((chance.choice(names), word(chance)) for _ in range(chance.randrange(6)))
    if methods[path] == "POST":
        return Asked("POST", address, (*fields, (KEPT_FIELDS[0], token)))
    return Asked("GET", address, fields)


def query(chance: Random, address: str) -> str:
    """Return an address with something else in its query."""
    parts = urlsplit(address)
    names = [part.partition("=")[0] for part in parts.query.split("&") if part] or ["page", "at", "note", "find", "as"]
    more = "&".join(
        f"{quote(chance.choice(names))}={quote(word(chance)[:6_000].encode('utf-8', 'surrogatepass'))}"
        for _ in range(chance.choice((1, 1, 2)))
    )
    return f"{parts.path}?{more}"


def as_text(content: bytes) -> str:
    """Return the text of a page; an answer of parts as the page that they make."""
    text = content.decode("utf-8", "replace")
    if not text.startswith("{"):
        return text
    try:
        return "".join(str(part) for part in json.loads(text).values())
    except ValueError:
        return text
