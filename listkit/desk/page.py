"""What every room is made of: the desk itself, templates and words, a page from a view model, the address of a field.

The templates are the desk's own, with everything escaped; they are not the bounded language of the owner's templates.
What a page says is in templates/desk/words/, by dotted key; a word that is missing is a mistake of ours and raises.
"""

import datetime
import hashlib
import re
import threading
from collections import deque
from collections.abc import Callable, Iterable, Mapping
from contextvars import ContextVar
from dataclasses import dataclass, field
from functools import cache
from html import unescape
from pathlib import Path
from typing import Any, Final, Protocol
from urllib.parse import quote

import jinja2
from babel.lists import format_list
from markupsafe import Markup, escape
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from listkit.actions.compare import Comparison
from listkit.actions.learn import SampleRead
from listkit.actions.own_sheet import SheetRead
from listkit.compute.catalog import SetFacts
from listkit.desk.building import Builder
from listkit.desk.guard import FORM_TOKEN, Keys
from listkit.desk.state import Seen, ShopState
from listkit.desk.wording import is_single, language, languages, nouns, page_words, pages_named, sendable
from listkit.listing.formats import MEASURES
from listkit.model.shop import Shop
from listkit.shipped import shipped_templates
from listkit.units.colour import contrast
from listkit.units.spoken import money_text

ROOMS: Final = ("today", "sets", "shelf", "places", "shops", "print", "past", "shop")
"""The rooms at the left edge, in their order; each has its word, its address /<room> and its template."""
SHOP_PAGE: Final = "/shop"
PARTS_HEADER: Final = "x-parts"
"""With it a script asks for the parts of a page that have moved: it has the stamps of those that are there."""
_MOST_NOTES: Final = 50
_LIGHT, _DARK = "#fbfbf9", "#191a1c"  # the grounds of desk.css
_READABLE: Final = 4.5  # WCAG 2.2, 1.4.3

Today = Callable[[], datetime.date]
"""Gives the day that counts as today."""
Clock = Callable[[], datetime.datetime]
"""Gives the time with its zone, for the past of files."""


@dataclass(frozen=True, slots=True)
class Note:
    """A sentence for the next page.

    `change` is the number of one that can be taken back, 0 for none, `when` its time; `address` is where that leads to.
    """

    number: int
    text: str
    change: int = 0
    address: str = ""
    when: str = ""


_NO_NOTE: Final = Note(0, "")


@dataclass(slots=True)
class Desk:
    """One desk: the folder it was opened for, the shop once there is one, and what goes on beside the pages.

    `close` ends it, `closing` is True from then on. `sheet` is the owner's own while she decides what its columns are,
    `sample` a place's. `compared` are the last comparisons by the keys of places; they are kept nowhere else.
    """

    folder: Path
    keys: Keys
    today: Today
    now: Clock
    builder: Builder
    close: Callable[[], None]
    closing: bool = False
    state: ShopState | None = None
    sheet: SheetRead | None = None
    sample: SampleRead | None = None
    compared: dict[str, tuple[str, Comparison]] = field(default_factory=dict)  # by place, with its seal
    _notes: deque[Note] = field(default_factory=lambda: deque(maxlen=_MOST_NOTES))
    _lock: threading.Lock = field(default_factory=threading.Lock)

    @property
    def shop_state(self) -> ShopState:
        """The shop's state, on pages that there are only with a shop."""
        assert self.state is not None, "app.py shows these pages only where there is a shop"
        return self.state

    def open_shop(self, folder: Path) -> None:
        """Serve the shop in a folder from now on, and no other."""
        if self.state is not None:
            self.state.end()
        self.folder = folder
        self.state = ShopState(folder, folder / "out", self.today)
        self.sheet = None
        self.sample = None
        self.compared.clear()

    def note(self, text: str, change: int = 0, address: str = "", when: str = "") -> int:
        """Keep a sentence for the next page; return the number by which it is asked for."""
        with self._lock:
            number = self._notes[-1].number + 1 if self._notes else 1
            self._notes.append(Note(number, text, change, address, when))
            return number

    def noted(self, number: str) -> Note:
        """Return the note of a number; an empty one where there is none."""
        with self._lock:  # another page may leave one meanwhile
            return next((note for note in self._notes if str(note.number) == number), _NO_NOTE)


# Templates and words


class Said(str):
    """Words of the desk's own, in the language that is spoken."""

    __slots__ = ()


def say(key: str, /, **values: object) -> str:
    """Return the words of a dotted key with values put in; of a count's two forms the one for `count`.

    Further counts within it say what they count: {of:cuts} is "2 cuts", by the words count.cuts.

    Raises:
        KeyError: there are no such words, or a value is missing.

    >>> say("count.sets", count=1), say("count.sets", count=3)
    ('1 set', '3 sets')
    >>> say("photos.cut_off", count=1, of=2), say("photos.cut_off", count=1, of=1)
    ('1 of 2 cuts loses part of the focus box.', '1 of 1 cut loses part of the focus box.')
    """
    entry: Any = page_words()
    for part in key.split("."):
        entry = entry[part]
    if isinstance(entry, dict):
        entry = entry["single" if is_single(int(str(values["count"]))) else "several"]
    counted = {name: _Count(value) if type(value) is int else value for name, value in values.items()}
    return Said(str(entry).format_map(counted))


def linked(key: str, address: str, /, **values: object) -> Markup:
    """Return the words of a key as `say` does, with what stands between {a} and {z} in them a link to an address."""
    text = str(escape(say(key, a="\x02", z="\x03", **values)))
    link = f'<a href="{escape(address)}">'
    return Markup(text.replace("\x02", link).replace("\x03", "</a>"))  # noqa: S704 (all escaped)


class _Count(int):
    """A number that words can have with what it counts, in the form that it asks for."""

    def __format__(self, counted: str) -> str:
        return say(f"count.{counted}", count=int(self)) if counted else str(int(self))


@cache
def _environment() -> jinja2.Environment:
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(shipped_templates() / "desk"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        auto_reload=False,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["say"] = say
    environment.filters["sentence"] = sentence
    environment.filters["homely"] = homely
    environment.filters["marked"] = marked
    environment.filters["whole"] = whole
    environment.filters["word"] = word
    environment.globals["in_full"] = in_full
    environment.globals["shot_word"] = shot_word
    environment.globals["set_address"] = set_address
    environment.globals["figure"] = figure
    environment.globals["as_carried"] = _as_carried
    environment.globals["sized"] = lambda text, measure: MEASURES[measure](text)
    return environment


_NAME_FIRST: Final = re.compile(r"[^\s\d/_.]*(?:[/_\d]|\.\w)")  # of a file, a key or a code


def sentence(text: str) -> str:
    """Return a message that begins a line of its own, as one that followed its file does not; a name stays as it is.

    >>> sentence("the season begins."), sentence("web_shop/feed.csv is not built.")
    ('The season begins.', 'web_shop/feed.csv is not built.')
    """
    return text if _NAME_FIRST.match(text) else type(text)(text[:1].upper() + text[1:])


def word(written: str) -> str:
    """Return how a page shows a word that the owner's files have in English, as its own; any other text as it is.

    >>> with speaking("fr"): word("on sale"), word("soap")
    ('en vente', 'soap')
    """
    return str(page_words()["word"].get(written, written))


def shot_word(shot: str) -> str:
    """Return what a picture shows as a page says it; any other text as it is."""
    return str(page_words()["shot"].get(shot, shot))


class Message(Protocol):
    """What is wrong, and what to do about it."""

    @property
    def message(self) -> str:
        """What is wrong."""

    @property
    def hint(self) -> str:
        """What to do about it."""


def in_full(*wrong: Message) -> str:
    """Return all that messages say; it counts as words of the desk where each of them does."""
    kind = Said if wrong and all(isinstance(each.message, Said) for each in wrong) else str
    return kind(" ".join(f"{each.message} {each.hint}".strip() for each in wrong))


def any_of(texts: Iterable[str]) -> str:
    """Return texts of which one is meant, as the language that is spoken joins them.

    >>> any_of(["grams", "ounces"])
    'grams or ounces'
    """
    return format_list(tuple(texts), style="or", locale=language())


def marked(text: str) -> str:
    """Return a message with the mark of its language where it is not the page's (WCAG 2.2, 3.1.2), its pages as links.

    All messages but the desk's own words are in English. Pages are named in it as `homely` names them.

    >>> with speaking("fr"): marked("OH-1 is <closed>."), marked(say("room.shelf"))
    (Markup('<span lang="en">OH-1 is &lt;closed&gt;.</span>'), 'Rayon')
    >>> marked("OH-1 is closed.")
    'OH-1 is closed.'
    >>> marked(homely("See what listkit check says."))
    Markup('See what <a href="/today">Today</a> says.')
    """
    if not text or isinstance(text, (Said, Markup)):
        return text
    to_pages = _to_pages(text)
    return to_pages if language() == "en" else Markup('<span lang="en">{}</span>').format(to_pages)


_OF_ONE_LINE: Final = re.compile(r"\b[A-Z0-9]{1,8}(?:-[A-Z0-9]{1,8}){1,3}\b")


def whole(text: str) -> Markup:
    """Return a text with marks around its codes and days, so that none of them is parted at a line's end.

    >>> whole("OHS-1 & more, until 2026-12-24")
    Markup('<span class="unbroken">OHS-1</span> &amp; more, until <span class="unbroken">2026-12-24</span>')
    """
    return Markup(_OF_ONE_LINE.sub(r'<span class="unbroken">\g<0></span>', str(escape(text))))  # noqa: S704 (escaped)


_QUOTED: Final = re.compile(r'("[^"]*")')


def homely(text: str) -> str:
    """Return a text with words of ours as people say them; what stands in quotes is somebody's own.

    >>> homely('The variant of "slot" Jar')
    'The version of "slot" Jar'
    """
    if isinstance(text, (Said, Markup)):
        return text
    return "".join(part if part[:1] == '"' else _nouns().sub(_noun, part) for part in _QUOTED.split(text))


@cache
def _nouns() -> re.Pattern[str]:
    longest_first = sorted(nouns(), key=len, reverse=True)
    return re.compile(rf"(?<![\w/-])({'|'.join(map(_noun_pattern, longest_first))})(?![\w/-])")


def _noun_pattern(noun: str) -> str:
    """Return the pattern of a noun, in which "…" is one word and "……" all that follows."""
    return re.escape(noun).replace("……", ".*").replace("…", r"[\w./-]*\w")


def _noun(match: re.Match[str]) -> str:
    called = nouns().get(match[1])
    if called is None:
        called = next(said for noun, said in nouns().items() if re.fullmatch(_noun_pattern(noun), match[1]))
    return called.format_map({name: f"“{say(key)}”" for name, (key, _) in pages_named().items()})


def _to_pages(text: str) -> str:
    """Return a message in which each page that it names is a link to it; as it was where it names none."""
    shown = escaped = str(escape(text))
    spoken = "" if language() == "en" else f' lang="{language()}"'
    for key, address in pages_named().values():
        title = f"“{escape(say(key))}”"
        shown = shown.replace(title, f'<a href="{escape(address)}"{spoken}>{title[1:-1]}</a>')
    return text if shown == escaped else Markup(shown)  # noqa: S704 (all escaped)


def offer(name: str, function: Callable[..., object]) -> None:
    """Let templates call a function of a room by a name."""
    _environment().globals[name] = function


def render(template: str, **values: object) -> str:
    """Return a template of the desk filled with values, which are text and never markup."""
    return sendable(_environment().get_template(template).render(values))


_CARRIED: Final = "carried"
_typed_against: ContextVar[Mapping[str, str]] = ContextVar("typed_against")


def carry(request: Request, digests: Mapping[str, str]) -> None:
    """Let pages that answer a form name each file as the form did, by the hidden field that has its digest.

    What is shown again, with what was typed, was typed against the file as it was: were it sent back with the digest of
    another one, it would be written over that unseen.
    """
    setattr(request.state, _CARRIED, digests)


def _as_carried(name: str, digest: str) -> str:
    return _typed_against.get({}).get(name, digest)


def page(
    desk: Desk, request: Request, room: str, *, template: str = "", status: int = 200, **values: object
) -> Response:
    """Return a page of a room; its template has the room's name unless another is given.

    The folder is looked at unless the shop as it was `seen` for the page is among the values.

    `note` and `here`, a note and the page's own address, are the request's unless they are among the values;
    `at_field` is the field that has the focus, none unless the room says so. A script that asks for parts gets as JSON
    those that it has not, if the page has such parts.
    """
    _typed_against.set(getattr(request.state, _CARRIED, {}))
    given = values.pop("seen", None)
    seen = given if isinstance(given, Seen) else desk.state.look() if desk.state else None
    at = request.url.remove_query_params("note")
    asked = request.headers.get(PARTS_HEADER)
    shown = {
        "note": desk.noted(request.query_params.get("note", "")),
        "here": f"{at.path}?{at.query}" if at.query else at.path,
        "reading": seen.number if seen else 0,
        "at_field": "",
        "live": Parts((asked or "").split(",")),
        **values,
    }
    html = render(
        f"{template or room}.html",
        room=room,
        rooms=ROOMS if seen else (),
        shop_name=seen.opened.shop.settings.name if seen else "",
        form_token=desk.keys.form_token,
        token_field=FORM_TOKEN,
        spoken=language(),
        languages=languages() if request.method == "GET" else {},
        building=desk.builder.running,
        **shown,
    )
    parts: Any = shown["live"]
    if asked is None or not parts.names:
        return HTMLResponse(html, status)
    macros: Any = _environment().get_template("parts.html").module
    noted = macros.note(shown["note"], FORM_TOKEN, desk.keys.form_token, shown["here"])
    news = {"names": parts.names, "moved": parts.moved, "note": noted, "reading": shown["reading"]}
    return JSONResponse(news, status)


class Parts:
    """The parts of a page that a script puts in place one by one; `known` are the stamps of those that it has.

    `names` are the ids of all parts in their order, `moved` what it has not: an element, or where nothing but figures
    differ, its new stamp and what its figures are by now, each its value and what people read.
    """

    def __init__(self, known: Iterable[str]) -> None:
        self._known = frozenset(known)
        self._begun = {stamp.partition("-")[0] for stamp in self._known}
        self.names: list[str] = []
        self.moved: dict[str, str | tuple[str, list[tuple[str, str]]]] = {}

    def part(self, tag: str, name: str, attributes: Mapping[str, str], *, caller: Callable[[], str]) -> Markup:
        """Return an element that is put in place by itself, with its id and the stamp of all that is in it."""
        inner = sendable(caller())
        stated = "".join(f' {key}="{escape(value)}"' for key, value in attributes.items())
        figures = [(unescape(value), unescape(label)) for value, label in _FIGURE.findall(inner)]
        around = _stamp(f"{name} {stated} {_FIGURE.sub('', inner)}")
        stamp = f"{around}-{_stamp(repr(figures))}"
        html = f'<{tag} id="{escape(name)}" data-live="{stamp}"{stated}>{inner}</{tag}>'
        self.names.append(name)
        if stamp not in self._known:
            self.moved[name] = (stamp, figures) if around in self._begun else html
        return Markup(html)  # noqa: S704 (what is in it comes from a template, which has escaped it)


_FIGURE: Final = re.compile(r'<data value="([^"]*)"(?: data-figure="[^"]*")?>([^<]*)</data>')


def figure(name: str, text: object, label: object = "") -> Markup:
    """Return a figure, which moves by itself: `label` is how people read what a script finds in its value."""
    shown = escape(label if label != "" else text)
    named = f' data-figure="{escape(name)}"' if name else ""
    return Markup(f'<data value="{escape(text)}"{named}>{shown}</data>')  # noqa: S704 (all escaped)


def _stamp(text: str) -> str:
    return hashlib.blake2b(text.encode(), digest_size=8).hexdigest()


def went_well(desk: Desk, address: str, note: str = "", *, change: int = 0, when: str = "") -> Response:
    """Return the way to a page after a change, which shows a note on what was done and offers to take it back."""
    path, mark, at = address.partition("#")
    noted = f"{path}{'&' if '?' in path else '?'}note="
    return RedirectResponse(f"{noted}{desk.note(note, change, address, when)}{mark}{at}" if note else address, 303)


def page_of(request: Request, name: str, count: int, size: int) -> int:
    """Return which page of some rows is asked for, from 1, the last where there are fewer."""
    stated = request.query_params.get(name, "")
    number = int(stated) if stated.isdecimal() and len(stated) < 7 else 1
    return max(1, min(number, -(-count // size)))


def text_of(form: FormData, name: str) -> str:
    """Return a field of a form, its spaces joined; "" where it is missing or a file."""
    value = form.get(name)
    return " ".join(value.split()) if isinstance(value, str) else ""


def accent_css(desk: Desk) -> str:
    """Return the stylesheet with the shop's own colour, where it can be read on the ground of the page."""
    accent = desk.state.look().opened.shop.settings.accent if desk.state else ""
    if not accent:
        return ""
    rules = [f":root {{ --accent: {accent}; }}"] if contrast(accent, _LIGHT) >= _READABLE else []
    if contrast(accent, _DARK) >= _READABLE:
        rules.append(f"@media (prefers-color-scheme: dark) {{ :root {{ --accent: {accent}; }} }}")
    elif rules:
        rules.append("@media (prefers-color-scheme: dark) { :root { --accent: var(--ink); } }")
    return "\n".join(rules)


# Where things are on the desk


_PAGES_OF_SETS: Final = frozenset({"new", "proposals"})  # where a set of such a code would have its own


def as_part(code: str) -> str:
    """Return a code as one part of an address or of a field's name, as `name_of` has the parts of keys.

    >>> as_part("OHS/1"), code_of_part("OHS~11"), as_part("new"), code_of_part("~2new")
    ('OHS~11', 'OHS/1', '~2new', 'new')
    """
    mark = "~2" if code in _PAGES_OF_SETS else ""
    return mark + code.replace("~", "~0").replace("/", "~1")


def code_of_part(part: str) -> str:
    """Return the code that a part of an address or of a field's name stands for."""
    return part.removeprefix("~2").replace("~1", "/").replace("~0", "~")


def set_address(code: str, field_name: str = "") -> str:
    """Return the address of a set, or of one of its fields.

    >>> set_address("OHS-1", "photos"), set_address("A/B")
    ('/sets/OHS-1#photos', '/sets/A~1B')
    """
    return f"/sets/{quote(as_part(code), safe='')}" + (f"#{quote(field_name, safe='')}" if field_name else "")


def price_text(facts: SetFacts, shop: Shop) -> str:
    """Return a set's price as buyers read it, or the span of its prices."""
    language = shop.settings.language
    spans = dict.fromkeys(money_text(each.amount, each.currency, language) for each in (facts.cheapest, facts.dearest))
    return " – ".join(spans)
