"""One set: every key of its file as a field, figures and drawing beside, its stories, how each place will show it.

One form holds all fields. A page without scripts sends all of it, and what differs from the file becomes edits; a
script sends a single field at a time and puts the page that follows in place. Buttons named `do` change lists:
`take contents/2`, `move contents 2 1`, `add reduction 0`, `put contents/2/choose OH-B01`, `slot contents OH-B01`;
`apart contents/2/choose` gives options whose codes end alike endings of their own; `drop seasn` takes out a key that
no set has.
"""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from markupsafe import Markup
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from listkit.compute.catalog import SetFacts
from listkit.compute.seasons import Phase
from listkit.desk import changes, saving
from listkit.desk.changes import Outcome, Wrong
from listkit.desk.edits import Add, Edit, Files, Put, Role, Target, look
from listkit.desk.field_values import Input
from listkit.desk.fields import Form, FormField, edits_of, name_of, value_of
from listkit.desk.file_form import Typed, asked_field, form_of, list_edits, names_in, nearest, sent_in, texts_of
from listkit.desk.follows import Look, follows_box, follows_page
from listkit.desk.guard import FRAME_POLICY
from listkit.desk.page import Desk, linked, page, price_text, say, set_address, shot_word, text_of, word
from listkit.desk.places import place_address
from listkit.desk.problems import with_names
from listkit.desk.sent import number_in
from listkit.desk.set_view import (
    MOST_ITEMS,
    bare_place,
    endings_apart,
    fields_of_variants,
    in_box,
    item_cards,
    matching,
    set_view,
)
from listkit.desk.sets import folder_of, least_kept, problems_of, stock_text
from listkit.desk.state import Seen
from listkit.desk.stories import STORY, stories_of, story_edits
from listkit.desk.wording import language
from listkit.edit.toml_text import TomlValue
from listkit.listing.formats import list_text
from listkit.listing.listings import Listing
from listkit.listing.offers import taken
from listkit.model.channel import Channel
from listkit.model.fields import SetStatus
from listkit.model.gift_set import GiftSet
from listkit.model.shop import FolderRead, Shop
from listkit.pipeline import Checked
from listkit.present.gift_set import set_drawings
from listkit.problem import FieldError, KeyPath, Level, Problem
from listkit.units.spoken import money_text
from listkit.units.weight import Weight

_BOX: Final = ("box",)
_APART: Final = ("code", "old_codes", "contents", "variant", "photos")
"""Fields that have a place of their own on the page."""
_DRAWN: Final = 1  # drawings at first; the others are opened


def show(desk: Desk, request: Request, *, typed: Typed | None = None) -> Response:
    """Return one set: its fields with what is wrong at each, its figures, and how each place will show it."""
    known = _known(desk, request.path_params["code"], typed or Typed())
    if known is None:
        return page(desk, request, "sets", template="nothing", status=404)
    fields, facts, checked, shop = known.fields, known.facts, known.checked, known.seen.opened.shop
    asked = request.query_params.get("at", "")
    return page(
        desk,
        request,
        "sets",
        template="one_set",
        status=422 if known.typed.wrong else 200,
        seen=known.seen,
        **known.head(),
        apart=_APART,
        at_field=asked if asked.partition("/")[0] == STORY else asked_field(asked, fields),
        typed=known.typed.texts,
        view=set_view(facts, checked, fields) if facts and checked and fields else None,
        cards=item_cards(shop),
        offers=_offers(facts, shop),
        photos=facts.source.photos if facts else (),
        listings=[(each, _stamp(each)) for each in checked.listings] if checked else [],
        drawn=_DRAWN,
        money=lambda text: money_text(Decimal(text), shop.settings.currency, shop.settings.language),
        grams=lambda grams: shop.settings.measures.weight(Weight(Decimal(str(grams))), rounded=True),
        sides=lambda sides: shop.settings.measures.sides([Decimal(str(side)) for side in sides], rounded=True),
    )


def _show_head(desk: Desk, request: Request, note: int) -> Response:
    """Return what is always in sight of a set after a change, for a script that asks for the rest behind it."""
    code = request.path_params["code"]
    known = _known(desk, code, Typed())
    if known is None:
        return page(desk, request, "sets", template="nothing", status=404)
    noted, address = desk.noted(str(note)), set_address(code)
    head = known.head()
    return page(desk, request, "sets", template="one_set_head", seen=known.seen, note=noted, here=address, **head)


@dataclass(frozen=True, slots=True)
class _Known:
    """All that is known of a set for its page."""

    seen: Seen
    files: Files
    read: FolderRead
    file: changes.Seen
    fields: Form | None
    facts: SetFacts | None
    checked: Checked | None
    problems: tuple[Problem, ...]
    fresh: bool
    typed: Typed

    def head(self) -> dict[str, Any]:
        """Return what the top of the page shows, and what each field says."""
        every = {each.name: each for each in self.fields.every()} if self.fields else {}
        shop = self.checked.shop if self.checked else self.seen.opened.shop  # of fewer items, which is quicker
        names = {item.code: shop.naming.of(item) for item in shop.items} if self.problems else {}
        return {
            "read": self.read,
            "target_code": self.file.target.code,
            "fields": self.fields,
            "facts": self.facts,
            "fresh": self.fresh,
            "every": every,
            "wrong": self.typed.wrong,
            "at": _by_name([with_names(each, names) for each in self.problems], names_in(self.fields)),
            "to_mend": _counted(self.problems),
            "head": _head(self.facts, self.seen) if self.facts else None,
            "inside": in_box(self.facts, self.seen.catalog) if self.facts else None,
            "stories": tuple(stories_of(self.file.target.code, self.files, self.facts, shop)),
            "shown": [(self.file.target, self.file.digest)],
            "statuses": [(each.value, say(f"status.{each.name.lower()}")) for each in _next_statuses(self.fields)],
        }


def _known(desk: Desk, code: str, typed: Typed) -> _Known | None:
    """Return what is known of a set by its code, None where there is no such folder."""
    state = desk.shop_state
    seen = state.look()
    read = folder_of(seen, code)
    if read is None:
        return None
    files = look(state.folder, seen.folders())
    file, checked = _file_of(files, read, code), state.view(seen, code)
    problems, fresh = problems_of(desk, seen, read, checked)
    return _Known(
        seen=seen,
        files=files,
        read=read,
        file=file,
        fields=form_of(GiftSet, file.content),
        facts=seen.facts(code),
        checked=checked,
        problems=problems,
        fresh=fresh,
        typed=typed,
    )


def _file_of(files: Files, read: FolderRead, code: str) -> changes.Seen:
    """Return a set's file by its code; by its folder where that is no TOML or another set has the code too."""
    try:
        return changes.see(files.root, Target(Role.SET, code), files)
    except FieldError:
        return changes.see(files.root, Target(Role.SET, read.folder), files)


def _by_name(problems: Sequence[Problem], names: Mapping[KeyPath, str]) -> dict[str, list[Problem]]:
    """Return the problems of a set by the names of their fields, what must be fixed first."""
    fields: dict[str, list[Problem]] = {}
    for problem in sorted(problems, key=lambda each: (each.level is not Level.MUST_FIX, each.place.line)):
        fields.setdefault(_field_at(problem, names), []).append(problem)
    return fields


def _field_at(problem: Problem, names: Mapping[KeyPath, str]) -> str:
    file = problem.place.file.rpartition("/")[2]
    if "/photos/" in problem.place.file or problem.place.key[:1] == ("photos",):
        return "photos"
    if file.endswith(".md"):
        return name_of((STORY, *file.split(".")[1:-1]))
    return nearest(problem.place.key, names, "set")


def _counted(problems: Sequence[Problem]) -> tuple[int, int]:
    """Return how many must be fixed, and how many are to be looked at."""
    must = sum(each.level is Level.MUST_FIX for each in problems)
    return must, len(problems) - must


def _head(facts: SetFacts, seen: Seen) -> dict[str, str]:
    """Return what is always in sight of a set: price, stock, what is kept, status."""
    amount, place = least_kept(facts, seen)
    return {
        "price": price_text(facts, seen.opened.shop),
        "stock": stock_text(facts.can_make),
        "kept": f"{amount} ({place})" if amount else "",
        "status": facts.source.gift_set.status.value,
    }


def _next_statuses(fields: Form | None) -> tuple[SetStatus, ...]:
    """Return what a set may become, the likeliest first; nothing where its file cannot be read."""
    now = next((each.value or each.usual for each in fields.every() if each.key == ("status",)), "") if fields else ""
    return tuple(each for each in SetStatus if now and each.value != now)


def _offers(facts: SetFacts | None, shop: Shop) -> dict[str, tuple[tuple[str, str], ...]]:
    """Return what is offered for fields that name something of the shop, with what to call each."""
    measures, photos = shop.settings.measures, facts.source.photos if facts else ()
    boxes = ((box.code, f"{box.code} · {measures.sides(box.inside.sides)}") for box in shop.packaging.boxes)
    return {
        "seasons": (("", say("one.all_year")), *((each.name, each.name) for each in shop.settings.seasons)),
        "boxes": (("smallest", say("one.smallest")), ("none", say("one.none")), *boxes),
        "photos": (
            ("", say("one.made_picture")),
            *((each.name, shot_word(each.shot) if each.shot else each.name) for each in photos),
        ),
    }


def _stamp(listing: Listing) -> str:
    """Return what differs where a listing looks otherwise."""
    parts = listing.title, listing.description, listing.keywords, [photo.photo.file for photo in listing.photos]
    return hashlib.sha256(repr(parts).encode()).hexdigest()[:12]


# What she changes


def change(desk: Desk, request: Request, form_sent: FormData) -> Response:
    """Save what differs from the files, and what a button did to a list; what cannot be stays on the page."""
    state, code = desk.shop_state, request.path_params["code"]
    target, seen = Target(Role.SET, code), state.look()
    files = look(state.folder, seen.folders())
    file = changes.see(state.folder, target, files)
    fields = form_of(GiftSet, file.content)
    if fields is None:
        raise FieldError(say("shop.unread", file=file.path), "")
    sent = sent_in(form_sent)
    new = _note_edits(target, fields, seen.facts(code), sent)
    edits = [*edits_of(target, fields, sent), *new.values(), *story_edits(files, code, sent)]
    texts = texts_of(sent)
    do = text_of(form_sent, "do")
    anchor = do.partition(" ")[2].partition(" ")[0].partition("/")[0] if do else text_of(form_sent, "at")
    if not anchor and len(edits) == 1:
        anchor = next((f"f/{each.name}" for each in fields.every() if each.key == edits[0].key), "")
    try:
        edits += _done(do, target, fields, sent)
    except FieldError as fault:
        wrong = Wrong(None, (), fault.message, fault.hint)
        around = nearest((anchor,), {each.key: each.name for each in fields.every()}, "set")
        return show(desk, request, typed=Typed(texts, {around: (wrong,)}))

    def refused(outcome: Outcome) -> Response:
        begun = [name for name in new if name.count("/") == 1]
        return show(desk, request, typed=Typed(texts, _wrong_at(outcome, fields, begun)))

    first = _what_follows(desk, request, form_sent, seen=seen, file=file, box=_box_in(edits))
    if first is not None:
        return first
    saved = saving.Saved(
        set_address(code, anchor),
        say("one.saved") if edits else say("one.same"),
        wrong=refused,
        shown=None if do else lambda note: _show_head(desk, request, note),
        by_place=True,
    )
    return saving.save(desk, request, form_sent, edits=edits, saved=saved)


def _box_in(edits: Sequence[Edit]) -> str:
    """Return the box that edits choose, "" where they choose none."""
    chosen = (edit.action.value for edit in edits if edit.key == _BOX and isinstance(edit.action, Put))
    return next((box for box in chosen if isinstance(box, str)), "")


def _what_follows(
    desk: Desk, request: Request, form_sent: FormData, *, seen: Seen, file: changes.Seen, box: str
) -> Response | None:
    """Return the page that says what another box does to prices; None where it was seen, or nothing comes of it.

    A draft has no price that anybody sees.
    """
    code = file.target.code
    facts, is_same = seen.facts(code), saving.shown_in(form_sent).get(file.target) == file.digest
    boxes = dict(_offers(facts, seen.opened.shop)["boxes"])
    if facts is None or facts.source.gift_set.status is SetStatus.DRAFT or box not in boxes:
        return None
    if not is_same or text_of(form_sent, "sure") == "yes":
        return None
    found, now = follows_box(seen, code, box), facts.source.gift_set.box
    if not found.differs:
        return None
    lines = ((say("one.box"), boxes.get(now, now), boxes[box]),)
    look_at = Look("sets", facts.name, lines, found, set_address(code, "box"))
    return follows_page(desk, request, form_sent, look_at)


def _note_edits(
    target: Target, fields: Form, facts: SetFacts | None, sent: Mapping[str, Sequence[str]]
) -> dict[str, Edit]:
    """Return edits that begin a note on a variant or, where there is one by now, change it; by a field's name."""
    edits: dict[str, Edit] = {}
    if not any(name.startswith("variant/") for name in sent):
        return edits
    for variant, row in zip(facts.variants, fields_of_variants(facts, fields), strict=False) if facts else ():
        place, options = bare_place(variant), {choice.slot: choice.item.code for choice in variant.choices}
        begun: dict[str, TomlValue] = {}
        for key, each in row.items():
            name = name_of(("variant", place, key))
            value = value_of(each, sent[name]) if name in sent else None
            if value is not None and each.key[1] == place:
                begun[key] = value
            elif value is not None:
                edits[name] = Edit(target, Put(each.key, value))
        if begun:
            edits[name_of(("variant", place))] = Edit(target, Add(("variant",), {"options": {**options}, **begun}))
    return edits


def _done(do: str, target: Target, fields: Form, sent: Mapping[str, Sequence[str]]) -> Iterator[Edit]:
    """Yield the edits of a button; raises FieldError where what it speaks of is not there."""
    if not do:
        return
    what, _, rest = do.partition(" ")
    if what == "drop" and rest in dict(fields.strange):
        yield Edit(target, Put((rest,), None))
        return
    name, _, rest = rest.partition(" ")
    lists = {each.name: each for each in fields.every() if each.kind is Input.TABLES}
    around, _, at = name.rpartition("/")
    if what == "take" and around in lists and 0 <= (entry := number_in(at)) < len(lists[around].entries):
        yield from _taken(target, fields, lists[around], entry)
    elif what == "put" and name in lists and rest:
        yield Edit(target, Add(lists[name].key, {"item": rest} if name == "contents" else rest))
    elif what == "apart" and name in lists and lists[name].key[-1] == "choose":
        yield from edits_of(target, fields, {name_of(key): [part] for key, part in endings_apart(lists[name])})
    elif what == "slot" and name == "contents" and rest:
        slot = " ".join(" ".join(sent.get("slot", ())).split())
        if not slot:
            raise FieldError(say("one.slot_missing"), "")
        yield Edit(target, Add(("contents",), {"slot": slot, "choose": [rest]}))
    else:
        yield from list_edits(do, target, fields, sent)


def _taken(target: Target, fields: Form, of: FormField, at: int) -> Iterator[Edit]:
    """Yield the edits that take an entry out; an option that was shown first is shown first no longer."""
    if of.key[-1:] == ("choose",):
        first = next((each for each in fields.every() if each.key == (*of.key[:-1], "default")), None)
        code = next((each.value for each in of.entries[at] if each.key[-1] == "item"), "")
        if first is not None and first.value == code:
            yield Edit(target, Put(first.key, None))
    yield Edit(target, Put((*of.key, at), None))


def _wrong_at(outcome: Outcome, fields: Form, new: Sequence[str]) -> dict[str, tuple[Wrong, ...]]:
    """Return what is wrong by the names of fields; of notes just begun, by those of the fields they began with."""
    names, at = names_in(fields), dict[str, tuple[Wrong, ...]]()
    for each in fields.every():
        shown = each.blanks if each.key[0] not in _APART else ()
        names |= {inner.key: inner.name for blank in shown for inner in blank.fields}
    notes = sum(1 for key in names if len(key) == 2 and key[0] == "variant")
    for wrong in outcome.wrong:
        name = nearest(wrong.key, names, "set")
        if wrong.edit is not None and wrong.edit.target.role is Role.STORY:
            name = name_of((STORY, wrong.edit.target.language)) if wrong.edit.target.language else STORY
        elif len(wrong.key) > 2 and wrong.key[0] == "variant" and isinstance(wrong.key[1], int):
            begun = wrong.key[1] - notes
            name = f"{new[begun]}/{wrong.key[2]}" if 0 <= begun < len(new) else name
        at[name] = (*at.get(name, ()), wrong)
    return at


def change_status(desk: Desk, request: Request, form_sent: FormData) -> Response:
    """Put a set on sale, close it, or make it a draft again."""
    code, status = request.path_params["code"], text_of(form_sent, "status")
    edit = Edit(Target(Role.SET, code), Put(("status",), status))
    sold = status in (SetStatus.ON_SALE, SetStatus.LAST_CHANCE)
    after = (lambda: shown_by(desk, code)) if sold else None
    saved = saving.Saved(set_address(code), say("one.now", status=word(status)), after=after)
    return saving.save(desk, request, form_sent, edits=[edit], saved=saved)


def shown_by(desk: Desk, code: str) -> Markup | str:
    """Return which places show a set that is on sale, and of each other one why it does not."""
    seen = desk.shop_state.look()
    facts, checked, channels = seen.facts(code), desk.shop_state.view(seen, code), seen.opened.shop.channels
    if not channels:
        return linked("shown_by.no_place", "/places/new")
    faults = checked is None or any(each.level is Level.MUST_FIX and not each.draft for each in checked.problems)
    if facts is None or checked is None or faults:
        return linked("shown_by.held", set_address(code))
    told, showing = list[Markup | str](), tuple(each.name for each in channels if checked.listings_of(each.key))
    if showing:
        told.append(say("shown_by.places", places=list_text(showing, language())))
    phases = {each.channel: each.phase for each in checked.listings.left_out}
    for channel in channels:
        if not checked.listings_of(channel.key):
            why = _why_not(channel, facts, phases.get(channel.key))
            told.append(linked(f"shown_by.{why}", place_address(channel.key), place=channel.name))
    return Markup(" ").join((*told, linked("shown_by.then", "/places") if showing else ""))


def _why_not(channel: Channel, facts: SetFacts, phase: Phase | None) -> str:
    """Return why a place does not show a sound set: its own choice, the season, or nothing that it could sell."""
    if not taken(channel, facts, tuple((each, None) for each in facts.variants)):
        return "not_taken"
    if phase in (Phase.NOT_YET, Phase.OVER):
        return "not_yet" if phase is Phase.NOT_YET else "over"
    return "sold_out"


# Items to put in, and the box


def show_items(desk: Desk, request: Request) -> Response:
    """Return the items that a search finds, each with a button that puts it into the set."""
    state, code = desk.shop_state, request.path_params["code"]
    seen = state.look()
    read = folder_of(seen, code)
    if read is None:
        return page(desk, request, "sets", template="nothing", status=404)
    asked, at = request.query_params.get("q", ""), request.query_params.get("at", "contents")
    target = Target(Role.SET, code)
    hits = matching(tuple(item_cards(seen.opened.shop).values()), asked)
    return page(
        desk,
        request,
        "sets",
        template="items",
        read=read,
        target_code=code,
        shown=[(target, changes.see(state.folder, target).digest)],
        asked=asked,
        at=at,
        cards=hits[:MOST_ITEMS],
        more=max(0, len(hits) - MOST_ITEMS),
    )


def show_box(desk: Desk, request: Request) -> Response:
    """Return the drawing of a variant in its box."""
    state, params = desk.shop_state, request.path_params
    seen = state.look()
    facts, checked = seen.facts(params["code"]), state.view(seen, params["code"])
    variants = tuple(each for each in facts.variants if each.code == params["variant"]) if facts else ()
    drawings = set_drawings(facts, variants, checked.catalog)[0] if facts and checked and variants else ()
    if not drawings:
        return page(desk, request, "sets", template="nothing", status=404)
    headers = {"content-security-policy": FRAME_POLICY, "cache-control": "private, max-age=600"}
    return Response(drawings[0][1].encode(), 200, headers, "image/svg+xml")
