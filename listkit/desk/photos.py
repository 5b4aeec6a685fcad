"""Photos of a set: is anything cut off? Each picture with its focus box and every crop, its words, the order of all.

A picture is called by its file name, looked up among those of the set; what is said of it is an entry of the set's
[[photos]]. Pictures without an entry come behind those with one, so that what is said of one of them for the first
time gives an entry to those before it too, and the order stays. Shares of the picture are per cents on the page.
"""

import base64
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal, InvalidOperation
from functools import cache
from pathlib import Path
from typing import Any, Final

from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from listkit.desk import changes, fields, saving
from listkit.desk.changes import Came, Outcome
from listkit.desk.edits import Add, Edit, Move, Put, Role, Target, look
from listkit.desk.page import Desk, in_full, page, say, set_address, text_of
from listkit.desk.photo_view import (
    PHOTOS,
    SIDES,
    Typed,
    WantedCrop,
    crops_of,
    entries_of,
    index_of,
    is_of_all,
    made_alts,
    offered_in,
    shown_crop,
    verdict,
    views_of,
)
from listkit.desk.pictures import drawn_crops, shown_photo, tag_of
from listkit.desk.sent import number_in
from listkit.desk.set_files import add_photos, take_photo
from listkit.desk.sets import folder_of, problems_of
from listkit.desk.state import Seen
from listkit.desk.wording import language
from listkit.edit.toml_text import TomlValue
from listkit.model.gift_set import GiftSet
from listkit.model.photo import FocusBox
from listkit.model.shop import Photo
from listkit.problem import FieldError
from listkit.read.photos import OTHER, SHOTS

_THOUSANDTH: Final = Decimal("0.001")
_FINEST: Final = Decimal("0.00000001")  # of a side; pictures have up to 80 million pixels
_HUNDRED: Final = Decimal(100)


# What the page shows


def show(
    desk: Desk, request: Request, *, typed: Typed | None = None, left_out: Sequence[tuple[str, str]] = ()
) -> Response:
    """Return the page; `left_out` are files that were dropped on it and cannot be taken, with why."""
    state, code, typed = desk.shop_state, request.path_params["code"], typed or Typed()
    target = Target(Role.SET, code)
    file = _file_of(state.folder, target)  # before the look: what is shown is never older than the digest
    seen = state.look()
    read = folder_of(seen, code)
    if read is None:
        return page(desk, request, "sets", template="nothing", status=404)
    facts, checked = seen.facts(code), state.view(seen, code)
    there = problems_of(desk, seen, read, checked)[0]
    entries = entries_of(file.content) if file else ()
    views = tuple(views_of(facts, crops_of(seen, checked), entries, problems=there, typed=typed)) if facts else ()
    made = made_alts(checked)
    views = tuple(replace(view, made_alt=made.get(view.photo.file, "")) for view in views)
    shown = {view.photo.name for view in views}
    return page(
        desk,
        request,
        "sets",
        template="photos",
        status=422 if typed.wrong or left_out else 200,
        read=read,
        code=code,
        target=target,
        digest=file.digest if file else "",
        views=views,
        lost=[
            (name, [each for each in there if each.place.file.endswith(f"/photos/{name}")])
            for name in _names(state.folder, code)
            if facts and name not in shown
        ],
        computed=facts is not None,
        general=[each for each in there if is_of_all(each)],
        at_name=_asked_name(request.query_params.get("at", ""), entries),
        waiting=bool(seen.opened.waiting),
        labels=_labels(),
        shots=(*SHOTS, OTHER),
        offered=tuple(offered_in(facts, seen.opened.shop.naming)) if facts else (),
        left_out=left_out,
    )


def _asked_name(asked: str, entries: Sequence[Mapping[str, Any]]) -> str:
    """Return the picture that an address asks for: by its name, or by which entry of the set's file it has."""
    _, _, number = asked.partition("photos/")
    at = number_in(number.partition("/")[0])
    if 0 <= at < len(entries):
        return str(entries[at].get("file", ""))
    return asked


def _file_of(folder: Path, target: Target) -> changes.Seen | None:
    """Return the set's file, None where it cannot be read."""
    try:
        return changes.see(folder, target)
    except FieldError:
        return None


def _names(folder: Path, code: str) -> tuple[str, ...]:
    """Return the names of all files among the set's pictures."""
    try:
        return tuple(file.rpartition("/")[2] for file in look(folder).folder(code).photos)
    except FieldError:
        return ()


def _labels() -> Mapping[str, str]:
    """Return what each key of an entry is called, as on every page of the desk."""
    return {str(each.key[-1]): each.label for each in _blank(language())}


@cache
def _blank(tag: str) -> tuple[fields.FormField, ...]:
    """Return the fields of an entry, all empty, in the language that is spoken: `tag`, to be kept by."""
    every = (each for section in fields.form(GiftSet, {}).sections for each in section.fields)
    return next(each.blanks[0].fields for each in every if each.key == PHOTOS)


# Crops, drawn


def show_crop(desk: Desk, request: Request) -> Response:
    """Return one crop of a picture as the set's file has its focus box."""
    state, params = desk.shop_state, request.path_params
    seen = state.look()
    photo, wanted = _asked(desk, seen, request)
    number = params["number"]
    if photo is None or not number < len(wanted):
        return page(desk, request, "sets", template="nothing", status=404)
    crop = wanted[number].crop
    tag = tag_of(seen, photo, crop)
    return shown_photo(request, tag, lambda: drawn_crops(state.folder, photo, [crop])[0][1])


def draw_crops(desk: Desk, request: Request) -> Response:
    """Return all crops of a picture about a focus box that is being moved, drawn and in words; nothing is kept."""
    seen = desk.shop_state.look()
    photo, wanted = _asked(desk, seen, request)
    try:
        sides = [Decimal(part) for part in request.query_params.get("focus", "").split(",")]
    except InvalidOperation:
        sides = []
    sound = len(sides) == len(SIDES) and all(side.is_finite() and 0 <= side <= 1 for side in sides)
    if photo is None or not sound or sides[0] >= sides[2] or sides[1] >= sides[3]:
        return JSONResponse({}, 422)
    photo = replace(photo, focus=FocusBox(sides[0], sides[1], sides[2], sides[3]))
    try:
        drawn = drawn_crops(desk.shop_state.folder, photo, [each.crop for each in wanted])
    except FieldError as fault:
        return JSONResponse({"verdict": in_full(fault)}, 409)
    shown = [shown_crop(photo, each, cut) for each, (cut, _) in zip(wanted, drawn, strict=True)]
    crops = [
        {"state": crop.state, "says": crop.says, "jpeg": base64.b64encode(content).decode()}
        for crop, (_, content) in zip(shown, drawn, strict=True)
    ]
    return JSONResponse({"verdict": verdict(shown), "crops": crops})


def _asked(desk: Desk, seen: Seen, request: Request) -> tuple[Photo | None, tuple[WantedCrop, ...]]:
    """Return the picture that an address names, and the crops of its set."""
    code, name = request.path_params["code"], request.path_params["name"]
    facts = seen.facts(code)
    photos = facts.source.photos if facts and not facts.is_single else ()
    photo = next((each for each in photos if each.name == name), None)
    return photo, crops_of(seen, desk.shop_state.view(seen, code)) if photo else ()


# Changes


def save(desk: Desk, request: Request, form: FormData) -> Response:
    """Write what was sent of one picture: its focus box, what it shows, its words."""
    code, name = request.path_params["code"], _name(form)
    target, names = Target(Role.SET, code), _shown_names(desk, code)
    file = _file_of(desk.shop_state.folder, target)
    if name not in names or file is None:
        return page(desk, request, "sets", template="nothing", status=404)
    texts = {
        key: [each for each in form.getlist(key) if isinstance(each, str)] for key in (*SIDES, "shot", "alt", "shows")
    }

    def again(wrong: Mapping[str, str]) -> Response:
        return show(desk, request, typed=Typed(name, texts, wrong))

    entries = entries_of(file.content)
    at = index_of(entries, name)
    entry = entries[at] if at is not None else {}
    try:
        values = {"focus": _focus(texts, entry.get("focus")), **_values(texts, entry)}
    except FieldError as fault:
        return again({"focus": in_full(fault)})
    edits = edits_of(target, entries, names, name=name, values=values)
    saved = saving.Saved(
        f"{photos_address(code)}#p-{names.index(name) + 1}",
        say("photos.saved", name=name),
        say("photos.saved", name=name),
        wrong=lambda outcome: again(dict(_wrong(outcome))),
    )
    return saving.save(desk, request, form, edits=edits, saved=saved)


def _wrong(outcome: Outcome) -> Iterator[tuple[str, str]]:
    for each in outcome.wrong:
        key = next((str(part) for part in reversed(each.key) if part in ("focus", "shot", "alt", "shows")), "")
        yield key, f"{each.message} {say('photos.focus_again') if key == 'focus' else each.hint}"


def _name(form: FormData) -> str:
    name = form.get("file")
    return name if isinstance(name, str) else ""


def _shown_names(desk: Desk, code: str) -> list[str]:
    facts = desk.shop_state.look().facts(code)
    return [photo.name for photo in facts.source.photos] if facts and not facts.is_single else []


def _focus(texts: Mapping[str, Sequence[str]], there: object) -> TomlValue | None:
    """Return the focus box that was sent in per cents, as the file has it where nothing differs; None for none.

    Raises:
        FieldError: it is no box.
    """
    sent = [" ".join(texts[side]).strip().replace(",", ".") for side in SIDES]
    if not any(sent):
        return None
    try:
        shares = [Decimal(text) / _HUNDRED for text in sent]
    except InvalidOperation:
        raise FieldError(say("photos.focus_lacks"), say("photos.focus_again")) from None
    if not all(share.is_finite() and 0 <= share <= 1 for share in shares):
        raise FieldError(say("photos.focus_outside"), say("photos.focus_again"))
    if shares[0] >= shares[2] or shares[1] >= shares[3]:
        raise FieldError(say("photos.focus_turned"), say("photos.focus_again"))
    if isinstance(there, list) and there == shares:
        return there
    return list(map(_shown_side, shares))


def _shown_side(share: Decimal) -> Decimal:
    """Return a side of a focus box as it is written: in thousandths or finer, with no end of noughts."""
    rounded, finest = share.quantize(_THOUSANDTH), share.quantize(_FINEST)
    if share == rounded:
        return rounded
    return share if share == finest else finest


def _values(texts: Mapping[str, Sequence[str]], entry: Mapping[str, Any]) -> dict[str, TomlValue | None]:
    """Return the other values that were sent; codes that were there before stay in their order."""
    blank = {str(each.key[-1]): each for each in _blank(language())}
    before = entry.get("shows", ())
    stays = [code for code in (before if isinstance(before, list) else ()) if code in texts["shows"]]
    shows = [*stays, *(code for code in texts["shows"] if code not in stays)]
    shot, alt = (fields.value_of(blank[key], texts[key]) for key in ("shot", "alt"))
    return {"shot": shot, "alt": alt, "shows": list(shows) or None}


def edits_of(
    target: Target,
    entries: Sequence[Mapping[str, Any]],
    names: Sequence[str],
    *,
    name: str,
    values: Mapping[str, TomlValue | None],
) -> list[Edit]:
    """Return the edits that make a set's file say these values of a picture; None takes a key out.

    Args:
        target: the file.
        entries: those of its pictures.
        names: the pictures as they are shown.
        name: the picture's.
        values: by the keys of an entry.
    """
    at = index_of(entries, name)
    if at is not None:
        there = entries[at]
        return [
            Edit(target, Put((*PHOTOS, at, key), value))
            for key, value in values.items()
            if value != there.get(key) and not (value is None and key not in there)
        ]
    stated = {key: value for key, value in values.items() if value is not None}
    if not stated:
        return []
    before = [each for each in names[: names.index(name)] if index_of(entries, each) is None]
    adds = [Edit(target, Add(PHOTOS, {"file": each})) for each in before]
    return [*adds, Edit(target, Add(PHOTOS, {"file": name, **stated}))]


def move(desk: Desk, request: Request, form: FormData) -> Response:
    """Put a picture in another place among those of its set."""
    code, name, to = request.path_params["code"], _name(form), number_in(text_of(form, "to"))
    target, names = Target(Role.SET, code), _shown_names(desk, code)
    file = _file_of(desk.shop_state.folder, target)
    if name not in names or file is None or not 0 <= to < len(names):
        return page(desk, request, "sets", template="nothing", status=404)
    edits = moves_of(target, entries_of(file.content), names, name=name, to=to)
    said = say("photos.moved", name=name, number=to + 1)
    saved = saving.Saved(f"{photos_address(code)}#o-{to + 1}", said, said)
    return saving.save(desk, request, form, edits=edits, saved=saved)


def moves_of(
    target: Target, entries: Sequence[Mapping[str, Any]], names: Sequence[str], *, name: str, to: int
) -> list[Edit]:
    """Return the edits after which a picture is the one at `to`; entries of files that are not shown stay apart."""
    order = [each for each in names if each != name]
    order.insert(to, name)
    listed = [index_of(entries, each) is not None for each in order]
    length = max((at for at, has in enumerate(listed, 1) if has), default=0)
    while order[length:] != sorted(order[length:]):  # behind the entries pictures come by their names
        length += 1
    edits: list[Edit] = []
    there = [str(each.get("file", "")) for each in entries]
    for each in sorted((each for each in order[:length] if index_of(entries, each) is None), key=names.index):
        edits.append(Edit(target, Add(PHOTOS, {"file": each})))
        there.append(each)
    for at in (to, *range(length)) if to < length else range(length):  # mostly the first is enough
        first = {unicodedata.normalize("NFC", file): at for at, file in reversed([*enumerate(there)])}
        now = [first.get(unicodedata.normalize("NFC", shown), 0) for shown in order[:length]]
        begin, end = now[at], sorted(now)[at]
        if begin != end:
            edits.append(Edit(target, Move(PHOTOS, begin, end)))
            there.insert(end, there.pop(begin))
    return edits


def add(desk: Desk, request: Request, form: FormData) -> Response:
    """Put the pictures that were dropped on the page into the set's folder."""
    code = request.path_params["code"]
    sent = [each for each in form.getlist("pictures") if isinstance(each, UploadFile) and each.filename]
    if not sent:
        return show(desk, request, left_out=[("", say("photos.none_chosen"))])
    pictures = [(each.filename or "", each.file.read()) for each in sent]
    kind = changes.Kind(desk.now(), say("photos.added", count=len(pictures), name=code), saving.agreed(form))
    outcome, names = add_photos(desk.shop_state.folder, code, pictures, kind)
    left_out = [(pictures[int(each.key[1])][0] if len(each.key) > 1 else "", in_full(each)) for each in outcome.wrong]
    if outcome.came is Came.REFUSED:
        return show(desk, request, left_out=left_out)
    said = [say("photos.added", count=len(names), name=code)]
    said += [say("photos.not_taken", name=name, why=why) for name, why in left_out]
    saved = saving.Saved(photos_address(code), " ".join(said))
    return saving.answer(desk, request, form, outcome, saved=saved)


def take(desk: Desk, request: Request, form: FormData) -> Response:
    """Take a picture out of the set, with what is said of it."""
    code, name = request.path_params["code"], _name(form)
    shown = saving.shown_in(form).get(Target(Role.SET, code), "")
    kind = changes.Kind(desk.now(), agreed=saving.agreed(form))
    outcome = take_photo(desk.shop_state.folder, code, name, shown, kind)
    return saving.answer(
        desk, request, form, outcome, saved=saving.Saved(photos_address(code), say("photos.taken", name=name))
    )


def photos_address(code: str) -> str:
    """Return the address of the page.

    >>> photos_address("OHS-1")
    '/sets/OHS-1/photos'
    """
    return f"{set_address(code)}/photos"
