"""Places: where it is sold. What each has to be sent, and one place: every key of its file, what it takes by ticking.

What is still to be published is never stored: it follows from the shop and the ledger, as `listkit changes` has it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final
from urllib.parse import quote

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from listkit.actions.changes import ChannelChanges
from listkit.desk import changes, saving
from listkit.desk.changes import Outcome, Wrong
from listkit.desk.edits import Add, Edit, Put, Role, Target
from listkit.desk.fields import Form, FormField, edits_of
from listkit.desk.file_form import (
    NOTHING_TYPED,
    Sent,
    Typed,
    by_field,
    form_of,
    list_edits,
    names_in,
    sent_in,
    texts_of,
    wrong_by_field,
)
from listkit.desk.page import Desk, in_full, offer, page, say, text_of
from listkit.desk.state import Full, Seen, known_problems
from listkit.desk.today import MovedLine, made_file, moved_of
from listkit.desk.wording import sendable
from listkit.edit.toml_text import TomlValue
from listkit.ledger.moments import local_time
from listkit.ledger.store import LEDGER, parsed, records, standing
from listkit.listing.rows import row_offers
from listkit.model.channel import USUAL_BLOCKS, Channel
from listkit.model.shop import Shop
from listkit.pipeline import WHOLESALE, Checked
from listkit.problem import FieldError, Level, Problem
from listkit.write.proof import NAME as PROOF

_FIRST_LOOK: Final = 0.25  # seconds that a page waits for the whole check
_PATIENCE: Final = 30.0  # seconds that is waited for it where nothing can be done without
_TICKED: Final = "ticked"
"""The hidden field that names a group of boxes: of one in which none is ticked nothing else is sent."""
_ITEMS: Final = "singles/items"
_HOW: Final = "singles/how"
_TURNS: Final = {"up": -1, "down": 1}
_NEEDED: Final = ("sets", "blocks")
"""Fields of boxes of which a file cannot say that none is ticked: where it says nothing, it takes all."""
_NONE: Final = "-"
_NEW_CROP: Final = "crop"
_SQUARE: Final[Mapping[str, TomlValue]] = {"name": "square", "ratio": "1:1", "width": 1200}
"""The cut that is offered where photos are ticked and none is described; most places take a square one."""
APART: Final = frozenset({"column", "crop", "file", "singles"})
"""Fields that have a place of their own on the page, or a page of their own."""


def place_address(key: str, part: str = "") -> str:
    """Return the address of a place, or of a page of it.

    >>> place_address("web_shop", "feed")
    '/place/web_shop/feed'
    """
    return f"/place/{quote(key, safe='')}" + (f"/{part}" if part else "")


offer("place_address", place_address)


@dataclass(frozen=True, slots=True)
class PlaceLine:
    """A place among the others: what it gets, how many rows it shows, what moved there, how much is wrong."""

    key: str
    name: str
    gets: str
    rows: int | None
    to_mend: int
    to_look: int
    moved: MovedLine | None
    published: str


def known(desk: Desk, wait: float = _FIRST_LOOK) -> tuple[Seen, Full | None, bool]:
    """Return the shop, the last whole check, and whether that is of the shop as it is."""
    seen = desk.shop_state.look()
    full = desk.shop_state.full(wait=wait)
    return seen, full, full is not None and full.number == seen.number


def checked_now(desk: Desk) -> Checked:
    """Return the shop as it is, checked; what needs it waits for it.

    Raises:
        FieldError: it takes too long, or the check came to grief.
    """
    _, full, fresh = known(desk, _PATIENCE)
    if full is None or not fresh:
        raise FieldError("the shop is still being looked through.", "Try again in a moment.")
    if full.checked is None:
        raise FieldError(f"the shop could not be looked through: {full.fault}")
    return full.checked


def channel_of(seen: Seen, key: str) -> Channel | None:
    """Return a place's channel, None where its file cannot be read or there is none."""
    return next((channel for channel in seen.opened.shop.channels if channel.key == key), None)


def problems_at(full: Full | None, seen: Seen, key: str) -> tuple[Problem, ...]:
    """Return what is known to be wrong in a place's file."""
    return tuple(problem for problem in known_problems(seen, full) if problem.place.file == f"channels/{key}.toml")


# All places


def show(desk: Desk, request: Request) -> Response:
    """Return all places, with what is still to be published on each."""
    seen, full, fresh = known(desk)
    return page(
        desk,
        request,
        "places",
        places=tuple(lines_of(desk, seen, full)),
        has_proof=made_file(desk, f"{PROOF}.html") is not None,
        fresh=fresh,
        fault=full.moved_fault or full.fault if full else "",
        stopped=full is not None and full.stopped,
    )


def lines_of(desk: Desk, seen: Seen, full: Full | None) -> Iterator[PlaceLine]:
    """Yield the places: those whose files can be read, those whose files cannot, and the shops that buy."""
    shop, moved = seen.opened.shop, {each.key: each for each in full.changes} if full else {}
    checked = full.checked if full else None
    names = {channel.key: channel.name for channel in shop.channels}
    files = place_files(desk)
    for key in (*dict.fromkeys((*names, *files)), *((WHOLESALE,) if shop.wholesale is not None else ())):
        channel = channel_of(seen, key)
        problems = problems_at(full, seen, key)
        must = sum(each.level is Level.MUST_FIX for each in problems)
        yield PlaceLine(
            key=key,
            name=names.get(key) or (say("places.shops") if key == WHOLESALE else key),
            gets=", ".join(gets_of(channel)) if channel else "",
            rows=rows_of(checked, channel) if channel else None,
            to_mend=must,
            to_look=len(problems) - must,
            moved=moved_of(moved[key]) if key in moved else None,
            published=published_on(moved.get(key)),
        )


def place_files(desk: Desk) -> tuple[str, ...]:
    """Return the keys of all places that have a file, by their names; one that is no UTF-8 has no address.

    Hidden files are none, as what a Mac leaves beside each file on a stick.
    """
    folder = desk.shop_state.folder / "channels"
    files = (path for path in folder.glob("[!.]*.toml") if path.is_file()) if folder.is_dir() else ()
    return tuple(sorted(file.stem for file in files if sendable(file.stem) == file.stem))


def gets_of(channel: Channel) -> tuple[str, ...]:
    """Return what a place gets, in words."""
    return tuple(map(output_words, channel.make))


def output_words(output: str) -> str:
    """Return what people call an output of a place."""
    return say(f"places.gets.{output.replace(' ', '_')}")


def rows_of(checked: Checked | None, channel: Channel) -> int | None:
    """Return how many rows the table of a place has; None while that is not known."""
    if checked is None:
        return None
    listings = checked.listings_of(channel.key)
    return sum(len(row_offers(listing, channel.row_kind)) for listing in listings)


def published_on(place: ChannelChanges | None) -> str:
    """Return when a place was last published, with the note of then; "" where it never was."""
    if place is None or place.record is None:
        return ""
    return local_time(place.record.at) + (f" ({place.record.note})" if place.record.note else "")


# One place


@dataclass(frozen=True, slots=True)
class Tick:
    """A box to tick."""

    value: str
    label: str
    is_ticked: bool


@dataclass(frozen=True, slots=True)
class Ticks:
    """A field of which each value is a box; `ordered` ones have an order that buttons change."""

    field: FormField
    groups: tuple[tuple[str, tuple[Tick, ...]], ...]
    hint: str
    is_ordered: bool = False


def show_place(desk: Desk, request: Request, *, typed: Typed = NOTHING_TYPED) -> Response:
    """Return one place: what is to be done there, and every key of its file but its columns."""
    key = request.path_params["key"]
    if key not in place_files(desk):
        if note := request.query_params.get("note", ""):  # its making was taken back
            return RedirectResponse(f"/places?note={quote(note)}", 303)
        return page(desk, request, "places", template="nothing", status=404)
    target = Target(Role.CHANNEL, key)
    file = changes.see(desk.shop_state.folder, target)  # before the look: what is shown is never older than the digest
    seen, full, fresh = known(desk)
    fields = form_of(Channel, file.content)
    said = by_field(problems_at(full, seen, key), names_in(fields))
    line = next(line for line in lines_of(desk, seen, full) if line.key == key)
    return page(
        desk,
        request,
        "places",
        template="place",
        place=line,
        file=file,
        fields=fields,
        every={each.name: each for each in fields.every()} if fields else {},
        ticks=ticks_of(fields, seen.opened.shop, typed) if fields else {},
        uncut=_is_uncut(fields, typed) if fields else False,
        singles=typed.texts.get(_HOW) or (singles_of(fields) if fields else ""),
        apart=APART,
        typed=typed.texts,
        wrong=typed.wrong,
        at=said,
        opened={name.partition("/")[0] for name in (*typed.wrong, *said)},
        fresh=fresh,
        shown=[(target, file.digest)],
        offers=_offers(seen.opened.shop, key),
        status=422 if typed.wrong else 200,
    )


def _is_uncut(fields: Form, typed: Typed) -> bool:
    """Whether photos are ticked and nothing says how they are cut, so that none would be made."""
    every = {each.name: each for each in fields.every()}
    ticked = _lines(typed.texts.get("make", every["make"].value))
    return "photos" in ticked and not every["crop"].entries and not every["photos_of"].value


def _offers(shop: Shop, key: str) -> dict[str, tuple[tuple[str, str], ...]]:
    """Return what is offered for fields that name something of the shop."""
    zones = dict.fromkeys(rate.zone for rate in shop.rates if rate.zone)
    return {
        "channels": (
            ("", say("place.pictures_of_its_own")),
            *((channel.key, channel.name) for channel in shop.channels if channel.key != key),
        ),
        "zones": (("", say("place.no_zone")), *((zone, zone) for zone in zones)),
    }


def ticks_of(fields: Form, shop: Shop, typed: Typed) -> dict[str, Ticks]:
    """Return the fields that are filled in by ticking, by the first part of their keys."""
    every = {each.name: each for each in fields.every()}
    sets = tuple((one.gift_set.code, one.gift_set.name) for one in shop.sets)
    items = tuple((item.code, shop.naming.of(item)) for item in shop.items)
    blocks = tuple(every["blocks"].choices)
    usual = tuple(USUAL_BLOCKS)
    offered: tuple[tuple[str, tuple[tuple[str, tuple[tuple[str, str], ...]], ...], tuple[str, ...]], ...] = (
        ("make", (("", tuple((output, output_words(output)) for output, _ in every["make"].choices)),), ()),
        ("sets", (("", sets),), tuple(code for code, _ in sets)),
        ("leave_out", ((say("place.whole_sets"), sets), (say("place.whatever_holds"), items)), ()),
        ("blocks", (("", blocks),), usual),
        ("if_long", (("", blocks),), ()),
        (_ITEMS, (("", items),), ()),
    )
    ticks = {}
    for name, groups, when_empty in offered:
        field = every[name]
        chosen = _lines(typed.texts.get(name, field.value)) or when_empty
        is_ordered = name in ("blocks", "if_long")
        ticks[name] = Ticks(field, tuple(_groups(groups, chosen, is_ordered)), say(f"place.ticks.{name}"), is_ordered)
    return ticks


def _groups(
    groups: Sequence[tuple[str, Sequence[tuple[str, str]]]], chosen: Sequence[str], is_ordered: bool
) -> Iterator[tuple[str, tuple[Tick, ...]]]:
    """Yield boxes under their titles; what is chosen and nobody offers has a box too. Ordered ones begin with these."""
    offered = {value for _, pairs in groups for value, _ in pairs}
    strange = tuple((value, value) for value in chosen if value not in offered)
    for at, (title, pairs) in enumerate(groups):
        labels = dict((*pairs, *(strange if at == len(groups) - 1 else ())))
        order = tuple(dict.fromkeys((*chosen, *labels))) if is_ordered else tuple(labels)
        yield title, tuple(Tick(value, labels[value], value in chosen) for value in order if value in labels)


def _lines(text: str) -> tuple[str, ...]:
    return tuple(line for line in text.splitlines() if line)


def singles_of(fields: Form) -> str:
    """Return which items a place lists alone: those of the "shop", "all", "none", or "chosen" ones."""
    raw = next(each.raw for each in fields.every() if each.name == "singles")
    items = raw.get("items") if isinstance(raw, Mapping) else None
    if not isinstance(raw, Mapping):
        return "shop"
    return "all" if items is None else "chosen" if items else "none"


def fields_to_change(desk: Desk, target: Target) -> Form:
    """Return the fields of a place's file as it is now.

    Raises:
        FieldError: it is no TOML, so nothing can be changed in it here.
    """
    file = changes.see(desk.shop_state.folder, target)
    fields = form_of(Channel, file.content)
    if fields is None:
        raise FieldError(say("shop.unread", file=file.path), "")
    return fields


def change(desk: Desk, request: Request, form_sent: FormData) -> Response:
    """Save what differs from a place's file, and what a button did to a list; what cannot be stays on the page."""
    key, target = request.path_params["key"], Target(Role.CHANNEL, request.path_params["key"])
    fields = fields_to_change(desk, target)
    sent = sent_in(form_sent)
    do = text_of(form_sent, "do")
    ticked, singles = _as_ticked(sent, fields, do), tuple(_singles_edit(target, fields, sent))
    texts = {**texts_of(sent), **texts_of(ticked)}
    if bare := [name for name in _NEEDED if ticked.get(name) == [_NONE]]:
        wrong = {name: (Wrong(None, (name,), say(f"place.none.{name}"), say(f"place.tick.{name}")),) for name in bare}
        return show_place(desk, request, typed=Typed(texts | dict.fromkeys(bare, ""), wrong))
    edits = [*edits_of(target, fields, {name: value for name, value in ticked.items() if name != _ITEMS}), *singles]
    if do == _NEW_CROP:
        edits.append(Edit(target, Add((_NEW_CROP,), dict(_SQUARE))))
    elif do.partition(" ")[0] not in _TURNS:
        edits += list_edits(do, target, fields, sent)
    named = _NEW_CROP if do == _NEW_CROP else do.partition(" ")[2].partition(" ")[0].partition("/")[0]
    anchor = named if do else text_of(form_sent, "at")

    def refused(outcome: Outcome) -> Response:
        return show_place(desk, request, typed=Typed(texts, wrong_by_field(outcome, fields)))

    note = say("one.saved") if edits else say("one.same")
    saved = saving.Saved(
        place_address(key) + (f"#{quote(anchor, safe='')}" if anchor else ""), note, wrong=refused, by_place=True
    )
    return saving.save(desk, request, form_sent, edits=edits, saved=saved)


def _as_ticked(sent: Sent, fields: Form, do: str) -> dict[str, list[str]]:
    """Return what was sent, of boxes as the file is to have it: what holds anyway is left out, an order moved."""
    every = {each.name: each for each in fields.every()}
    result = {name: list(values) for name, values in sent.items()}
    for name in sent.get(_TICKED, ()):
        if name not in every:
            continue
        values = [value for text in sent.get(name, ()) for value in text.split() or [text] if text]
        values = list(sent.get(name, ())) if every[name].choices else values
        now = _lines(every[name].value)
        result[name] = _moved(values, do, name) if name in ("blocks", "if_long") else _kept(values, now)
        if name == "blocks" and tuple(result[name]) == USUAL_BLOCKS and not now:
            result[name] = [""]
        if name == "sets" and set(sent.get("every_set", ())) <= set(values) != set(now):
            result[name] = [""]  # all of them, also those that come
        result[name] = result[name] if values else [_NONE if name in _NEEDED else ""]
    return result


def _kept(values: list[str], now: Sequence[str]) -> list[str]:
    """Return values in the order that the file has them in, where they are the same."""
    values = list(dict.fromkeys(value for value in values if value))
    return list(now) if set(values) == set(now) else values


def _moved(values: list[str], do: str, name: str) -> list[str]:
    """Return values in their order after a button `up blocks story` or `down blocks story`."""
    what, _, rest = do.partition(" ")
    of, _, value = rest.partition(" ")
    if what in _TURNS and of == name and value in values:
        at = values.index(value)
        to = min(max(at + _TURNS[what], 0), len(values) - 1)
        values.insert(to, values.pop(at))
    return values


def _singles_edit(target: Target, fields: Form, sent: Sent) -> Iterator[Edit]:
    """Yield the edit that makes a place list the items alone that were chosen; nothing where it does already."""
    how, ticked = "".join(sent.get(_HOW, ("",))[-1:]), [code for code in sent.get(_ITEMS, ()) if code]
    values: dict[str, TomlValue | None] = {"shop": None, "all": {}, "none": {"items": []}, "chosen": {"items": ticked}}
    if how not in values:
        return
    now = next((_lines(each.value) for each in fields.every() if each.name == _ITEMS), ())
    if how != singles_of(fields) or (how == "chosen" and set(now) != set(ticked)):
        yield Edit(target, Put(("singles",), values[how]))


# Taken away


def show_delete(desk: Desk, request: Request) -> Response:
    """Ask whether a place is to be taken away, with what was published there, and what else names it."""
    key = request.path_params["key"]
    if key not in place_files(desk):
        return page(desk, request, "places", template="nothing", status=404)
    target = Target(Role.CHANNEL, key)
    file = changes.see(desk.shop_state.folder, target)  # before the look: what is shown is never older than the digest
    seen = desk.shop_state.look()
    channel, ledger = channel_of(seen, key), seen.opened.shop.root / LEDGER
    last, rows, fault = None, dict[str, str](), ""
    try:
        last = next(reversed(records(ledger, key)), None)
        rows = standing(ledger, key, "rows") if last is not None else {}
    except FieldError as unread:
        fault = in_full(unread)
    return page(
        desk,
        request,
        "places",
        template="delete_place",
        key=key,
        name=channel.name if channel is not None else key,
        target=target,
        file=file,
        published=local_time(last.at) if last is not None else "",
        rows=tuple((code, str(facts.get("name", ""))) for code, facts in parsed(rows).items()),
        named_by=tuple(_named_by(seen.opened.shop, key)),
        fault=fault,
    )


def _named_by(shop: Shop, key: str) -> Iterator[str]:
    """Yield what of the shop names a place, and so would have to be changed."""
    for channel in shop.channels:
        if channel.photos_of == key:
            yield say("away.names.photos", name=channel.name)
    of_sets = (reduction for each in shop.sets for reduction in each.gift_set.reductions)
    for reduction in (*shop.settings.reductions, *of_sets):
        if key in reduction.channels:
            yield say("away.names.reduction", name=reduction.name)
    if shop.settings.cards is not None and shop.settings.cards.channel == key:
        yield say("away.names.card")


def delete(desk: Desk, request: Request, form_sent: FormData) -> Response:
    """Take a place's file away; the past keeps it, and the ledger what was published there."""
    key, target = request.path_params["key"], Target(Role.CHANNEL, request.path_params["key"])
    channel = channel_of(desk.shop_state.look(), key)
    done = say("away.done", name=channel.name if channel is not None else key)
    kind = changes.Kind(desk.now(), agreed=saving.agreed(form_sent))
    shown = saving.shown_in(form_sent).get(target, "")
    outcome = changes.delete_file(desk.shop_state.folder, target, shown, kind)
    return saving.answer(desk, request, form_sent, outcome, saved=saving.Saved("/places", done))
