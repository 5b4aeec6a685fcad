"""Boxes, fill, cartons and the card: packaging.toml as forms, and which sets lie in each box."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final
from urllib.parse import quote

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from listkit.compute.catalog import Catalog, SetFacts
from listkit.desk import changes, saving
from listkit.desk.changes import Outcome
from listkit.desk.edits import Add, Edit, Put, Role, Target
from listkit.desk.field_values import Input
from listkit.desk.fields import Form, FormField, edits_of, form, name_of, value_of, with_unit
from listkit.desk.file_form import asked_field
from listkit.desk.page import Desk, in_full, page, say, set_address, text_of
from listkit.desk.sent import number_in
from listkit.desk.state import Seen
from listkit.edit.toml import value_at
from listkit.edit.toml_text import TomlValue
from listkit.model.packaging import Packaging
from listkit.model.shop import Shop
from listkit.present.gift_set import boxes_for
from listkit.problem import FieldError, KeyPath

TARGET: Final = Target(Role.PACKAGING)
ADDRESS: Final = "/shelf/boxes"
_OPEN: Final = "open box"
_TRIED_AT_ONCE: Final = 40  # sets; of more, what else goes into a box is looked for when she asks
Used = tuple[str, str, int | None]
"""A set in a box: its code, its name, how many per cent of the box its fullest variant fills."""
Faults = Mapping[str, Sequence[str]]
"""What is wrong, by the names of fields; "" for what is of none."""


@dataclass(frozen=True, slots=True)
class Pack:
    """A box, a carton for shops or the card: its fields, the sets in it, and a picture of one of these, open.

    `fits` are the codes and names of sets that lie in another box and would go into this one, None where that is not
    looked for.
    """

    anchor: str
    title: str
    fields: tuple[FormField, ...]
    is_box: bool = False
    used: tuple[Used, ...] = ()
    fits: tuple[tuple[str, str], ...] | None = None
    picture: str = ""
    picture_alt: str = ""

    @property
    def names(self) -> frozenset[str]:
        """The names of its fields, with those within."""
        return frozenset(each.name for each in _flat(self.fields))

    @property
    def facts(self) -> tuple[FormField, ...]:
        """What is said of it before it is opened: the fields of its own that are filled in, but for its code."""
        return tuple(each for each in self.fields if each.value and each.key[-1] != "code")


@dataclass(frozen=True, slots=True)
class New:
    """What may be added: its fields, all empty, and whether something was typed into them that could not be saved."""

    anchor: str
    title: str
    fields: tuple[FormField, ...]
    opened: bool


def show(
    desk: Desk, request: Request, *, typed: Mapping[str, str] | None = None, wrong: Faults | None = None
) -> Response:
    """Return the page; `typed` and `wrong` are what could not be saved, and why."""
    state, wrong = desk.shop_state, wrong or {}
    seen, file = state.look(), changes.see(state.folder, TARGET)
    fault: FieldError | None = None
    packs: tuple[Pack, ...] = ()
    blanks: tuple[New, ...] = ()
    try:
        fields = _form_of(file.content)
    except FieldError as unread:
        fault = unread
    else:
        tried = request.query_params.get("fits") == "yes" or len(seen.catalog.sets) <= _TRIED_AT_ONCE
        packs, blanks = tuple(packs_of(fields, seen, tried=tried)), tuple(_blanks(fields, wrong))
    asked = request.query_params.get("at", "")
    every = (*(pack.fields for pack in packs), *(new.fields for new in blanks))
    names = {each.name for fields_there in every for each in _flat(fields_there)}
    return page(
        desk,
        request,
        "shelf",
        template="boxes",
        file=file,
        target=TARGET,
        fault=fault,
        packs=packs,
        blanks=blanks,
        at_field=asked_field(asked, None if fault else fields),
        typed=typed or {},
        wrong=wrong,
        elsewhere=[text for name, texts in wrong.items() if name not in names for text in texts],
        status=422 if wrong else 200,
    )


def _form_of(content: bytes) -> Form:
    document = value_at(content, ())
    return form(Packaging, document if isinstance(document, dict) else {})


def packs_of(fields: Form, seen: Seen, *, tried: bool = False) -> Iterator[Pack]:
    """Yield the boxes of a file, its card, its cartons for shops; with `tried`, which other sets go into each box."""
    taken = [(facts, _boxes_that_take(facts, seen.catalog)) for facts in seen.catalog.sets if tried]
    by_key = {field.key[0]: field for section in fields.sections for field in section.fields}
    for at, entry in enumerate(by_key["box"].entries):
        code = _code_of(entry)
        sets = tuple(facts for facts in seen.catalog.sets if code in {box.code for box in facts.boxes})
        picture, alt = _picture(sets, code)
        yield Pack(
            anchor=f"box/{at}",
            title=say("boxes.box", code=code),
            fields=entry,
            is_box=True,
            used=tuple((facts.code, facts.name, _share(facts, code)) for facts in sets),
            fits=tuple(_names(sets, code, taken)) if tried else None,
            picture=picture,
            picture_alt=alt,
        )
    if by_key["card"].raw is not None:
        yield Pack("card", say("boxes.card"), by_key["card"].fields)
    for at, entry in enumerate(by_key["case"].entries):
        yield Pack(f"case/{at}", say("boxes.case", code=_code_of(entry)), entry)


def _is_named(shop: Shop, box: str) -> bool:
    """Whether a set is to lie in a box, sound or not; one that cannot be read may."""
    return any(each.box in (box, None) for each in shop.folders)


def _names(
    there: Sequence[SetFacts], code: str, taken: Sequence[tuple[SetFacts, frozenset[str]]]
) -> Iterator[tuple[str, str]]:
    """Yield codes and names of the sets that go into a box and are not in it."""
    yield from ((facts.code, facts.name) for facts, codes in taken if code in codes and facts not in there)


def _boxes_that_take(facts: SetFacts, catalog: Catalog) -> frozenset[str]:
    """Return the codes of the boxes that every variant of a set goes into, and that carry it."""
    verdicts = boxes_for(facts, facts.variants, catalog)
    return frozenset(each.box.code for each in verdicts if not (each.outside or each.undecided or each.too_heavy))


def _code_of(entry: Sequence[FormField]) -> str:
    return next((field.value for field in entry if field.key[-1] == "code"), "")


def _share(facts: SetFacts, code: str) -> int | None:
    """Return how many per cent of a box the fullest variant of a set fills, None where it is not known."""
    shares = [each.fill_share for each in facts.variants if each.box and each.box.code == code]
    known = [share for share in shares if share is not None]
    return round(max(known) * 100) if known else None


def _picture(sets: Sequence[SetFacts], code: str) -> tuple[str, str]:
    """Return the address of a picture of the open box of a set, and what to say of it; "" without one."""
    for facts in sets:
        for photo in facts.source.photos:
            if photo.shot == _OPEN:
                address = f"{set_address(facts.code)}/photos/{quote(photo.name, safe='')}?size=tile"
                return address, say("boxes.picture", name=facts.name, code=code)
    return "", ""


def _blanks(fields: Form, wrong: Faults) -> Iterator[New]:
    by_key = {field.key[0]: field for section in fields.sections for field in section.fields}
    offered = [
        ("box", say("boxes.add_box"), by_key["box"].blanks[0].fields),
        ("case", say("boxes.add_case"), by_key["case"].blanks[0].fields),
    ]
    if by_key["card"].raw is None:
        offered.append(("card", say("boxes.add_card"), by_key["card"].fields))
    for key, title, blank in offered:
        yield New(key, title, blank, any(each.name in wrong for each in _flat(blank)))


def _flat(fields: Sequence[FormField]) -> Iterator[FormField]:
    for field in fields:
        yield field
        yield from _flat(field.fields)


def change(desk: Desk, request: Request, sent: FormData) -> Response:
    """Save what differs from the file; add what was filled in, or take away what no set is in."""
    fields, seen = _form_of(changes.see(desk.shop_state.folder, TARGET).content), desk.shop_state.look()
    texts = {name: value for name, value in sent.multi_items() if isinstance(value, str)}
    inches = seen.opened.shop.settings.measures.customary
    texts |= {
        name: with_unit(text, inches=inches) for name, text in texts.items() if name.endswith(("inside", "outside"))
    }
    edits = edits_of(TARGET, fields, {name: (text,) for name, text in texts.items()})
    done, _, anchor = text_of(sent, "do").partition(" ")
    note = say("boxes.saved")
    if done == "take":
        pack = next((pack for pack in packs_of(fields, seen) if pack.anchor == anchor and not pack.used), None)
        if pack is None or (pack.is_box and _is_named(seen.opened.shop, _code_of(pack.fields))):
            raise FieldError("what was to be taken away is not there, or a set lies in it.", "Load the page again.")
        key: KeyPath = tuple(int(part) if number_in(part) >= 0 else part for part in anchor.split("/"))
        edits, note = [Edit(TARGET, Put(key, None))], say("boxes.taken")
    elif done == "add":
        new = next((each for each in _blanks(fields, {}) if each.anchor == anchor), None)
        if new is None:
            raise FieldError("it is there already.", "Load the page again.")
        value = _added(new.fields, texts)
        edits.append(Edit(TARGET, Put((anchor,), value) if anchor == "card" else Add((anchor,), value)))
        note = say("boxes.added")

    def refused(outcome: Outcome) -> Response:
        wrong: dict[str, list[str]] = {}
        for each in outcome.wrong:
            wrong.setdefault(name_of(each.key), []).append(in_full(each))
        return show(desk, request, typed=texts, wrong=wrong)

    saved = saving.Saved(ADDRESS, note if edits else "", wrong=refused, by_place=True)
    return saving.save(desk, request, sent, edits=edits, saved=saved)


def _added(fields: Sequence[FormField], texts: Mapping[str, str]) -> dict[str, TomlValue]:
    """Return the table that was filled in, without what was left empty or as usual."""
    table: dict[str, TomlValue] = {}
    for field in fields:
        if field.kind is Input.TABLE:
            inner = _added(field.fields, texts)
            if inner:
                table[str(field.key[-1])] = inner
        elif field.name in texts and texts[field.name] != field.usual:
            value = value_of(field, (texts[field.name],))
            if value is not None:
                table[str(field.key[-1])] = value
    return table
