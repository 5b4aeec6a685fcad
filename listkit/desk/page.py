"""What every room is made of: the desk itself, templates and words, a page from a view model, the address of a field.

The templates are the desk's own, with everything escaped; they are not the bounded language of the owner's templates.
What a page says is in templates/desk/words/, by dotted key; a word that is missing is a mistake of ours and raises.
"""

import datetime
import threading
import tomllib
from collections import deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote

import jinja2
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from listkit.actions.own_sheet import SheetRead
from listkit.compute.catalog import SetFacts
from listkit.desk.building import Builder
from listkit.desk.guard import FORM_TOKEN, Keys
from listkit.desk.state import ShopState
from listkit.listing.formats import MEASURES, money_text
from listkit.model.shop import Shop
from listkit.problem import Level, Problem
from listkit.shipped import shipped_templates
from listkit.units.colour import contrast

ROOMS: Final = ("today", "sets", "shelf", "shops", "print")
"""The rooms at the left edge, in their order; each has its word, its address /<room> and its template."""
_MOST_NOTES: Final = 50
_LANGUAGE: Final = "en"
_LIGHT, _DARK = "#fbfbf9", "#191a1c"  # the grounds of desk.css
_READABLE: Final = 4.5  # WCAG 2.2, 1.4.3


Today = Callable[[], datetime.date]
"""Gives the day that counts as today."""
Clock = Callable[[], datetime.datetime]
"""Gives the time with its zone, for the past of files."""


@dataclass(frozen=True, slots=True)
class Note:
    """A sentence for the next page; `change` is the number of a change that can be taken back, 0 for none."""

    number: int
    text: str
    change: int = 0


_NO_NOTE: Final = Note(0, "")


@dataclass(slots=True)
class Desk:
    """One desk: the folder it was opened for, the shop once there is one, and what goes on beside the pages.

    `close` ends it, `closing` is True from then on. `sheet` is the owner's own while she decides what its columns are.
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
    _notes: deque[Note] = field(default_factory=lambda: deque(maxlen=_MOST_NOTES))
    _lock: threading.Lock = field(default_factory=threading.Lock)

    @property
    def shop_state(self) -> ShopState:
        """The shop's state, on pages that there are only with a shop."""
        assert self.state is not None, "app.py shows these pages only where there is a shop"
        return self.state

    def open_shop(self, folder: Path) -> None:
        """Serve the shop in a folder from now on."""
        self.folder = folder
        self.state = ShopState(folder, folder / "out", self.today)
        self.sheet = None

    def note(self, text: str, change: int = 0) -> int:
        """Keep a sentence for the next page; return the number by which it is asked for."""
        with self._lock:
            number = self._notes[-1].number + 1 if self._notes else 1
            self._notes.append(Note(number, text, change))
            return number

    def noted(self, number: str) -> Note:
        """Return the note of a number; an empty one where there is none."""
        return next((note for note in self._notes if str(note.number) == number), _NO_NOTE)


# Templates and words


@cache
def words() -> Mapping[str, Any]:
    """Return all words of the pages, by dotted key in tables."""
    file = shipped_templates() / "desk" / "words" / f"{_LANGUAGE}.toml"
    return tomllib.loads(file.read_text(encoding="utf-8"))


def say(key: str, **values: object) -> str:
    """Return the words of a dotted key with values put in; of a count's two forms the one for `count`.

    Raises:
        KeyError: there are no such words, or a value is missing.

    >>> say("count.sets", count=1), say("count.sets", count=3)
    ('1 set', '3 sets')
    """
    entry: Any = words()
    for part in key.split("."):
        entry = entry[part]
    if isinstance(entry, dict):
        entry = entry["single" if values["count"] == 1 else "several"]
    return str(entry).format_map(values)


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
    environment.globals["set_address"] = set_address
    environment.globals["sized"] = lambda text, measure: MEASURES[measure](text)
    return environment


def sentence(text: str) -> str:
    """Return a message that begins a line of its own, as one that followed its file does not.

    >>> sentence("the season begins."), sentence("OH-1 is closed.")
    ('The season begins.', 'OH-1 is closed.')
    """
    return text[:1].upper() + text[1:]


def offer(name: str, function: Callable[..., object]) -> None:
    """Let templates call a function of a room by a name."""
    _environment().globals[name] = function


def render(template: str, **values: object) -> str:
    """Return a template of the desk filled with values, which are text and never markup."""
    return _environment().get_template(template).render(values)


def page(
    desk: Desk, request: Request, room: str, *, template: str = "", status: int = 200, **values: object
) -> Response:
    """Return a page of a room; its template has the room's name unless another is given."""
    seen = desk.state.look() if desk.state else None
    here = request.url.remove_query_params("note")
    html = render(
        f"{template or room}.html",
        room=room,
        rooms=ROOMS if seen else (),
        shop_name=seen.opened.shop.settings.name if seen else "",
        form_token=desk.keys.form_token,
        token_field=FORM_TOKEN,
        note=desk.noted(request.query_params.get("note", "")),
        reading=seen.number if seen else 0,
        building=desk.builder.running,
        here=f"{here.path}?{here.query}" if here.query else here.path,
        **values,
    )
    return HTMLResponse(html, status)


def went_well(desk: Desk, address: str, note: str = "", *, change: int = 0) -> Response:
    """Return the way to a page after a change, which shows a note on what was done and offers to take it back."""
    path, mark, field_name = address.partition("#")
    noted = f"{path}{'&' if '?' in path else '?'}note="
    return RedirectResponse(f"{noted}{desk.note(note, change)}{mark}{field_name}" if note else address, 303)


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


def set_address(code: str, field_name: str = "") -> str:
    """Return the address of a set, or of one of its fields.

    >>> set_address("OHS-1", "photos"), set_address("A/B")
    ('/sets/OHS-1#photos', '/sets/A%2FB')
    """
    return f"/sets/{quote(code, safe='')}" + (f"#{quote(field_name, safe='')}" if field_name else "")


def field_of(problem: Problem) -> str:
    """Return the field of a set that a problem is of: the first part of its key, or what its file is."""
    file, key = problem.place.file, problem.place.key
    if "/photos/" in file:
        return "photos"
    if file.endswith(".md"):
        return "story"
    return str(key[0]) if key else "set"


@dataclass(frozen=True, slots=True)
class Group:
    """Problems of one set, or of one file: what to call it, the set's code or "", the problems with their addresses."""

    title: str
    code: str
    problems: tuple[tuple[Problem, str], ...]


def grouped(problems: tuple[Problem, ...], shop: Shop) -> tuple[Group, ...]:
    """Group problems by the set they are of, else by their file; the worst group first, sets before files."""
    folders = {each.folder: each for each in shop.folders}
    groups: dict[tuple[str, str], list[tuple[Problem, str]]] = {}
    for problem in problems:
        parts = problem.place.file.split("/")
        read = folders.get(parts[1]) if parts[0] == "sets" and len(parts) > 2 else None
        if read is not None and read.code:
            key, address = (read.name or read.code, read.code), set_address(read.code, field_of(problem))
        elif read is not None:
            key, address = (f"sets/{read.folder}", ""), ""
        else:
            key, address = (problem.place.file, ""), ""
        groups.setdefault(key, []).append((problem, address))
    ordered = sorted(groups.items(), key=lambda each: (-_weight(each[1]), not each[0][1], each[0]))
    return tuple(Group(title, code, tuple(sorted(of, key=_turn))) for (title, code), of in ordered)


def _weight(problems: list[tuple[Problem, str]]) -> int:
    return sum(problem.level is Level.MUST_FIX for problem, _ in problems)


def _turn(each: tuple[Problem, str]) -> tuple[bool, str, int]:
    problem, _ = each
    return problem.level is not Level.MUST_FIX, problem.place.file, problem.place.line


def price_text(facts: SetFacts, shop: Shop) -> str:
    """Return a set's price as buyers read it, or the span of its prices."""
    language = shop.settings.language
    spans = dict.fromkeys(money_text(each.amount, each.currency, language) for each in (facts.cheapest, facts.dearest))
    return " – ".join(spans)
