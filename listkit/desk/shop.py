"""Your shop: shop.toml as a form, every key of it; what follows from prices and boxes is seen before they are saved.

A table of the file is folded until it is asked for. `do` is a button's word, as in `file_form`, and two more: `begin
labels` writes down that there are labels, `end labels` that there are none. A season that gets another name gets it in
the sets, terms and translations that name it, and in its picture's file.
"""

import datetime
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import Final
from urllib.parse import quote, urlencode

from slugify import slugify
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from listkit.desk import changes, saving
from listkit.desk.changes import Outcome, Wrong
from listkit.desk.edits import Edit, Files, Put, Role, Target, look
from listkit.desk.field_values import Input
from listkit.desk.fields import Form, FormField, edits_of
from listkit.desk.file_form import (
    NOTHING_TYPED,
    Sent,
    Typed,
    by_field,
    form_of,
    list_edits,
    names_in,
    nearest,
    sent_in,
    texts_of,
    wrong_by_field,
)  # fmt: skip
from listkit.desk.follows import Look, follows_page, follows_settings, in_plain, labels_after, tight_words
from listkit.desk.page import SHOP_PAGE, Desk, page, say, shot_word, text_of
from listkit.desk.sent import number_in
from listkit.desk.sets import folder_of
from listkit.desk.state import Seen, known_problems
from listkit.desk.wording import field_words
from listkit.edit.past_lines import digest_of
from listkit.edit.starter import example_figures, without_remarks
from listkit.edit.toml import value_at
from listkit.edit.toml_text import TomlValue
from listkit.listing.translate import read_language
from listkit.model.settings import Settings
from listkit.model.shop import Shop
from listkit.paths import path_fault
from listkit.problem import FieldError, Level, Place
from listkit.read.folder import PACKAGING, SHOP
from listkit.read.photos import OTHER, SHOTS
from listkit.read.source import read_bytes
from listkit.shipped import shipped_templates
from listkit.units.money import MINOR_DIGITS
from listkit.units.spoken import date_text

TARGET: Final = Target(Role.SHOP)
_SEASONS: Final = "season"
_ACCEPTED: Final = "accepted"
_AT_CHOICE: Final = ("labels", "cards", "singles", "allotment")
"""Tables that mean something by being there at all."""
_ELSEWHERE: Final = (
    ("boxes", "/shelf/boxes"), ("postage", "/shop/table/postage"), ("ingredients", "/shop/table/ingredients"),
    ("terms", "/shops/terms"), ("measure", "/print/measure"),
)  # fmt: skip
"""Pages on which what is the whole shop's stands too."""
_WITH_FIGURES: Final = (SHOP, PACKAGING)
_MOST_TICKS: Final = 60
_TICKED: Final = "ticked"
"""The hidden field that names a group of boxes: of one in which none is ticked nothing else is sent."""
_FACTS: Final = 4


@dataclass(frozen=True, slots=True)
class Entry:
    """An entry of a list, folded: what to call it, what else it says, and the sets that need it."""

    title: str
    facts: tuple[str, ...]
    sets: tuple[tuple[str, str], ...] = ()


def show(desk: Desk, request: Request, *, typed: Typed = NOTHING_TYPED) -> Response:
    """Return the page; `at` in the address is a field to go to, `set` the code of a set that she came from.

    `accept` and `of` are a remark that is as she wants it, and what it is said of: their form is filled in.
    """
    state, asked = desk.shop_state, request.query_params
    seen, file = state.look(), changes.see(state.folder, TARGET)
    fields = form_of(Settings, file.content)
    if "at" in asked and fields:
        return RedirectResponse(_address(fields, asked["at"], asked.get("set", "")), 303)
    accepts = "accept" in asked and not typed.texts
    if accepts and fields:
        number = len(next(each for each in fields.every() if each.name == _ACCEPTED).entries)
        filled = {"check": asked["accept"], "at": asked.get("of", "")}
        typed = Typed({f"{_ACCEPTED}/{number}/{name}": text for name, text in filled.items()})
    problems = [each for each in known_problems(seen, state.full()) if each.place.file == SHOP]
    at = by_field([in_plain(each, seen.catalog) for each in problems], names_in(fields))
    must = {name for name, there in at.items() if there[0].level is Level.MUST_FIX}
    return page(
        desk,
        request,
        "shop",
        file=file,
        target=TARGET,
        fields=fields,
        typed=typed.texts,
        wrong=typed.wrong,
        at=at,
        open_at=asked.get("open", ""),
        accepts=accepts,
        opened=_around((*typed.wrong, *must, asked.get("open", ""))),
        marked=_around(at),
        came_from=folder_of(seen, asked.get("set", "")),
        entries=_entries(fields, seen) if fields else {},
        facts={each.name: _facts(each, seen.opened.shop) for each in fields.every()} if fields else {},
        at_choice=_AT_CHOICE,
        elsewhere=[(address, say(f"shop.at.{word}"), say(f"shop.why.{word}")) for word, address in _ELSEWHERE],
        offers=_offers(seen.opened.shop),
        ticks=_ticks(fields, seen.opened.shop, typed) if fields else {},
        status=422 if typed.wrong else 200,
    )


def _around(names: Iterable[str]) -> frozenset[str]:
    """Return names of fields with those of the tables and entries around them.

    >>> sorted(_around(["season/0/name"]))
    ['season', 'season/0', 'season/0/name']
    """
    parts = (name.split("/") for name in names if name)
    return frozenset("/".join(each[:length]) for each in parts for length in range(1, len(each) + 1))


def _address(fields: Form, name: str, code: str) -> str:
    """Return the address of the page at a field, opened where that is; `code` is of the set that she came from."""
    key = tuple(int(part) if number_in(part) >= 0 else part for part in name.split("/"))
    at = nearest(key, names_in(fields))
    kinds = {each.name: each.kind for each in fields.every()}
    top = at.partition("/")[0]
    if top in _AT_CHOICE and any(each.name == top and each.raw is None for each in fields.every()):
        at = top  # its fields are shown once there is any
    is_part = kinds.get(at, Input.TABLE) in (Input.TABLE, Input.TABLES)
    query = urlencode({word: value for word, value in (("open", at), ("set", code)) if value}, safe="/")
    mark = f"#{'g' if is_part else 'f'}/{quote(at)}" if at else ""
    return SHOP_PAGE + (f"?{query}" if query else "") + mark


def _entries(fields: Form, seen: Seen) -> dict[str, tuple[Entry, ...]]:
    """Return what each entry of each list is called, by the list's name."""
    shop = seen.opened.shop
    named = {each.folder: (each.code, each.name or each.folder) for each in shop.folders}
    of_season: dict[str, list[tuple[str, str]]] = {}
    for each in shop.sets:
        of_season.setdefault(each.gift_set.season, []).append(named[each.folder])
    entries = {}
    for field in fields.every():
        if field.kind is Input.TABLES:
            entries[field.name] = tuple(
                Entry(title, tuple(rest), tuple(of_season.get(title, ())) if field.name == _SEASONS else ())
                for title, *rest in (list(_says(entry, shop)) or [field.label] for entry in field.entries)
            )
    return entries


def _facts(field: FormField, shop: Shop) -> tuple[str, ...]:
    """Return what a folded table says, in short."""
    stated = [each for each in field.fields if each.value and each.kind is not Input.LONG_TEXT]
    return tuple(f"{each.label}: {', '.join(_says((each,), shop))}" for each in stated[:_FACTS])


def _says(fields: Sequence[FormField], shop: Shop) -> Iterator[str]:
    """Yield what fields say as people read it."""
    for field in fields:
        if field.kind is Input.DAY and isinstance(field.raw, datetime.date):
            yield date_text(field.raw, shop.settings.language)
        elif field.value:
            yield dict(field.choices).get(field.value, ", ".join(field.value.split("\n")))


def _offers(shop: Shop) -> dict[str, tuple[tuple[str, str], ...]]:
    """Return what is offered for fields of which one is chosen."""
    channels = tuple((channel.key, channel.name) for channel in shop.channels)
    language, _ = read_language(shop, shop.settings.language, Place(SHOP))
    sentences = language.cautions.sentences if language else ()
    return {
        "currencies": tuple((each, each) for each in sorted(MINOR_DIGITS)),
        "channels": (("", say("shop.any_place")), *channels),
        "pages": (("", say("shop.first_place")), *channels),
        "cautions": (("", ""), *((key, str(sentence)) for key, sentence in sentences)),
    }


# Lists of which each value is a box to tick


def _ticks(fields: Form, shop: Shop, typed: Typed) -> dict[str, tuple[tuple[str, str, bool], ...]]:
    """Return the boxes of each list that is filled in by ticking, by its name: value, label, whether it is ticked."""
    offered = {
        "channels": tuple((channel.key, channel.name) for channel in shop.channels),
        "sets": tuple((each.gift_set.code, each.gift_set.name) for each in shop.sets),
        "items": tuple((item.code, item.name) for item in shop.items),
        "shots": tuple((shot, shot_word(shot)) for shot in (*SHOTS, OTHER)),
    }
    boxes = {}
    blanks = (inner for each in fields.every() for blank in each.blanks for inner in blank.fields)
    for field in (*fields.every(), *blanks):
        pairs = offered.get(field.picks, ())
        if field.kind is Input.LIST and 0 < len(pairs) <= _MOST_TICKS:
            chosen = typed.texts.get(field.name, field.value).split("\n")
            strange = ((value, value) for value in chosen if value and value not in dict(pairs))
            boxes[field.name] = tuple((value, label, value in chosen) for value, label in (*pairs, *strange))
    return boxes


def _as_ticked(sent: Sent, fields: Form) -> dict[str, list[str]]:
    """Return what was sent, of boxes as the file is to have it: in its own order where the same are ticked."""
    result = {name: list(values) for name, values in sent.items()}
    now = {each.name: each.value.split("\n") for each in fields.every()}
    for name in sent.get(_TICKED, ()):
        values = [value for value in sent.get(name, ()) if value]
        stated = now.get(name, [])
        result[name] = (stated if set(stated) == set(values) else values) or [""]
    return result


# What she changes


def change(desk: Desk, request: Request, form_sent: FormData) -> Response:
    """Save what differs from the file, and what a button did; where prices follow from it, show these first."""
    state = desk.shop_state
    file = changes.see(state.folder, TARGET)
    fields = form_of(Settings, file.content)
    if fields is None:
        raise FieldError(say("shop.unread", file=SHOP), "")
    sent, do = _as_ticked(sent_in(form_sent), fields), text_of(form_sent, "do")
    name = do.partition(" ")[2].partition(" ")[0]
    seen = state.look()
    edits = edits_of(TARGET, fields, sent)
    begun = tuple(each for each in _begun(fields, sent) if each != do)
    try:
        for each in (do, *begun):
            edits += _done(each, fields, sent, seen)
    except FieldError as fault:
        wrong = Wrong(None, (), fault.message, fault.hint)
        return show(desk, request, typed=Typed(texts_of(sent), {name.partition("/")[0]: (wrong,)}))

    def refused(outcome: Outcome) -> Response:
        return show(desk, request, typed=Typed(texts_of(sent), wrong_by_field(outcome, fields)))

    at = text_of(form_sent, "at")
    back = _address(fields, name.partition("/")[0] if do else at, text_of(form_sent, "set"))
    is_same = saving.shown_in(form_sent).get(TARGET) == file.digest
    if text_of(form_sent, "sure") != "yes" and is_same:
        found = follows_settings(seen, state.folder, edits)
        if found is not None and found.differs:
            called, lines = seen.opened.shop.settings.name, tuple(_lines(edits, fields))
            return follows_page(desk, request, form_sent, Look("shop", called, lines, found, back))
    note = say("one.saved") if edits else say("one.same")
    for each in (do, *begun):
        if each.startswith(f"add {_SEASONS} "):
            number = len(next(each for each in fields.every() if each.name == _SEASONS).entries)
            note = say("shop.season_made", name="".join(sent.get(f"{_SEASONS}/{number}/name", ())))
    note = f"{note} {tight_words(seen.catalog, labels_after(file.content, edits))}".rstrip()
    saved = saving.Saved(back, note, wrong=refused, by_place=True)
    return _saved(desk, request, form_sent, edits, saved)


def _lines(edits: Sequence[Edit], fields: Form) -> Iterator[tuple[str, str, str]]:
    """Yield what edits change: the label of each field, what it says now and what it would say."""
    by_key = {each.key: each for each in fields.every()}
    for edit in edits:
        field = by_key.get(edit.key)
        if field is not None and isinstance(edit.action, Put):
            value = edit.action.value
            then = "" if value is None else ", ".join(map(str, value)) if isinstance(value, list) else str(value)
            now = ", ".join(field.value.split("\n")) or field.usual
            yield field.label, dict(field.choices).get(now, now), dict(field.choices).get(then, then) or field.usual


def _begun(fields: Form, sent: Sent) -> Iterator[str]:
    """Yield the words of the buttons for entries that were typed and whose own button was not pressed."""
    for each in fields.every():
        for number, blank in enumerate(each.blanks):
            texts = (("".join(sent.get(inner.name, ())), inner.usual) for inner in blank.fields)
            if any(text.strip() and text != usual for text, usual in texts):
                yield f"add {each.name} {number}"


def _done(do: str, fields: Form, sent: Sent, seen: Seen) -> Iterator[Edit]:
    """Yield the edits of a button.

    Raises:
        FieldError: what it speaks of is not there, or sets need it.
    """
    what, _, name = do.partition(" ")
    if what == "begin" and name in _AT_CHOICE:
        yield Edit(TARGET, Put((name,), {}))
    elif (what == "end" and name in _AT_CHOICE) or (what == "drop" and name in dict(fields.strange)):
        yield Edit(TARGET, Put((name,), None))
    elif what == "take" and name.startswith(f"{_SEASONS}/"):
        entries = _entries(fields, seen)[_SEASONS]
        at = number_in(name.partition("/")[2])
        taken = entries[at] if 0 <= at < len(entries) else None
        if taken is not None and (sets := ", ".join(_sets_of(seen.opened.shop, taken.title))):
            raise FieldError(say("shop.season_needed", name=taken.title, sets=sets), say("shop.season_needed_hint"))
        yield from list_edits(do, TARGET, fields, sent)
    else:
        yield from list_edits(do, TARGET, fields, sent)


def _saved(desk: Desk, request: Request, form_sent: FormData, edits: Sequence[Edit], saved: saving.Saved) -> Response:
    """Make edits, and in other files what follows from a season's new name."""
    folder, shop = desk.shop_state.folder, desk.shop_state.look().opened.shop
    files = _ReadOnce(look(folder))
    names = dict(_new_names(edits, files.said(TARGET, _SEASONS)))
    follow = [edit for old, new in names.items() for edit in _renaming(files, shop, old, new)]
    shown = {edit.target: files.see(edit.target).digest for edit in follow}
    kind = changes.Kind(desk.now(), saved.what, saving.agreed(form_sent))
    outcome = changes.apply(
        folder,
        [*edits, *follow],
        {**shown, **saving.shown_in(form_sent)},
        kind,
        whole=_pictures(shop, names),
    )
    return saving.answer(desk, request, form_sent, outcome, saved=saved)


def _new_names(edits: Sequence[Edit], stated: TomlValue | None) -> Iterator[tuple[str, str]]:
    """Yield the seasons that edits give another name; `stated` are those of the file."""
    for edit in edits:
        match edit.key, edit.action:
            case (("season", int(at), "name"), Put(value=str(new))) if isinstance(stated, list) and at < len(stated):
                entry = stated[at]
                old = entry.get("name") if isinstance(entry, dict) else None
                if isinstance(old, str) and old and new:
                    yield old, new


class _ReadOnce:
    """Files that are read once each, so that what is made of one goes with the digest of the same bytes."""

    def __init__(self, files: Files) -> None:
        self._files = files
        self._read: dict[Target, changes.Seen] = {}

    def see(self, target: Target) -> changes.Seen:
        """Return a file; raises FieldError where it cannot be read."""
        if target not in self._read:
            self._read[target] = changes.see(self._files.root, target, self._files)
        return self._read[target]

    def said(self, target: Target, *key: str) -> TomlValue | None:
        """Return what a file says at a key; None where it says nothing or cannot be read."""
        try:
            return value_at(self.see(target).content, key)
        except FieldError:
            return None


def _sets_of(shop: Shop, season: str) -> Iterator[str]:
    """Return what the sets of a season are called, sound or not."""
    return (each.name or each.folder for each in shop.folders if each.season == season)


def _renaming(files: _ReadOnce, shop: Shop, old: str, new: str) -> Iterator[Edit]:
    """Yield the edits of other files that name a season."""
    for each in shop.folders:
        target = Target(Role.SET, each.folder)
        if not each.is_single and files.said(target, _SEASONS) == old:
            yield Edit(target, Put((_SEASONS,), new))
    if files.said(Target(Role.WHOLESALE), _SEASONS) == old:
        yield Edit(Target(Role.WHOLESALE), Put((_SEASONS,), new))
    for language, _ in shop.translations:
        target = Target(Role.LANGUAGE, language)
        if (words := files.said(target, "seasons", old)) is not None:
            yield Edit(target, Put(("seasons", old), None))
            yield Edit(target, Put(("seasons", new), words))


def _pictures(shop: Shop, names: Mapping[str, str]) -> dict[str, bytes | None]:
    """Return the picture of each season that gets another name, under that name."""
    files: dict[str, bytes | None] = {}
    for season, photo in shop.season_photos:
        content = read_bytes(shop.root, photo.file) if season in names else b""
        if isinstance(content, bytes) and content:
            path = PurePosixPath(photo.file)
            name = f"{slugify(names[season]) or names[season]}{path.suffix}"
            if "/" not in name and not path_fault(name):  # else no picture can be called so
                files |= {photo.file: None, str(path.with_name(name)): content}
    return files


# Figures that came with the shop


@dataclass(frozen=True, slots=True)
class Example:
    """A figure that is still the starter's: what it is called, its value, and the address of its field."""

    label: str
    value: str
    address: str


_OF_TABLE: Final = {"prices": "Prices", "stock": "Stock", "box": "GiftBox"}


def examples(desk: Desk) -> tuple[Example, ...]:
    """Return the figures of the shop that nobody has changed since they came with it."""
    words, shown = field_words(), []
    for figure in (
        each for file in _WITH_FIGURES for each in example_figures(shipped_templates(), file, _text(desk, file))
    ):
        table, key = figure.key
        address = f"{SHOP_PAGE}?at={table}/{key}" if figure.file == SHOP else _ELSEWHERE[0][1]
        if table in _OF_TABLE:
            shown.append(Example(words[_OF_TABLE[table]][key], figure.value, address))
    return tuple(shown)


def keep_examples(desk: Desk, request: Request, form_sent: FormData) -> Response:
    """Take the starter's figures as the owner's: the remarks that mark them are taken out of the files."""
    texts = {file: _text(desk, file) for file in _WITH_FIGURES}
    after = {file: without_remarks(shipped_templates(), file, text).encode() for file, text in texts.items() if text}
    kind = changes.Kind(desk.now(), say("shop.examples_kept"), saving.agreed(form_sent))
    read = {file: digest_of(texts[file].encode()) for file in after}
    outcome = changes.put_files(desk.shop_state.folder, after, kind, read=read)
    return saving.answer(desk, request, form_sent, outcome, saved=saving.Saved("/today", say("shop.examples_kept")))


def _text(desk: Desk, file: str) -> str:
    """Return a file as text with its own line ends; "" where it cannot be read."""
    content = read_bytes(desk.shop_state.folder, file)
    try:
        return content.decode() if isinstance(content, bytes) else ""
    except UnicodeDecodeError:
        return ""
