"""Saving: from a form to `changes` and back to a page, the same for every room.

A form carries the digest of each file that its page showed, in a hidden field named by `shown_name`. Where a file is
another one by now, both values are shown and she chooses; where the past would lose something, she is asked first.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from markupsafe import Markup
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from listkit.desk import changes
from listkit.desk.changes import Came, Outcome
from listkit.desk.edits import Edit, Move, PutText, Role, Target
from listkit.desk.guard import FORM_TOKEN
from listkit.desk.page import (
    PARTS_HEADER,
    Desk,
    as_part,
    carry,
    code_of_part,
    linked,
    marked,
    offer,
    page,
    say,
    text_of,
    went_well,
)
from listkit.desk.problems import field_address, item_page, told
from listkit.desk.sent import number_in
from listkit.desk.tables import PutCell
from listkit.desk.wording import language
from listkit.listing.formats import list_text
from listkit.problem import Problem

_SHOWN: Final = "shown"
_AGREED: Final = "agreed"
_LOOKED_AT: Final = 3
"""Changed rows of which it is looked for at once what they keep back; of more at once Today says it."""


@dataclass(frozen=True, slots=True)
class Saved:
    """Where a change leads once it is made, and what the page there says of it; `what` is what the past calls it.

    `wrong` shows the page again with what is wrong; a page of its own does where that is left out. `shown` answers a
    script that asks for parts, by the number of the note, in place of the page that it leads to. `by_place` says that
    edits name entries of lists, and rows that have no code, by the places that they had on the page. `after` says what
    came of it once it is made.
    """

    address: str
    note: str
    what: str = ""
    wrong: Callable[[Outcome], Response] | None = None
    shown: Callable[[int], Response] | None = None
    by_place: bool = False
    after: Callable[[], Markup | str] | None = None


def shown_name(target: Target) -> str:
    """Return the name of the hidden field that carries a file's digest.

    >>> shown_name(Target(Role.SET, "OHS-1"))
    'shown/set/OHS-1/'
    """
    return f"{_SHOWN}/{target.role.value}/{as_part(target.code)}/{target.language}"


offer("shown_name", shown_name)


def shown_in(form: FormData) -> dict[Target, str]:
    """Return the digests of the files that a form's page showed."""
    shown = {}
    for name, value in form.multi_items():
        parts = name.split("/")
        if parts[0] == _SHOWN and len(parts) == 4 and parts[1] in list(Role) and isinstance(value, str):
            shown[Target(Role(parts[1]), code_of_part(parts[2]), parts[3])] = value
    return shown


def shown_fields(form: FormData) -> dict[str, str]:
    """Return the digests of the files that a form's page showed, by the hidden fields that carry them."""
    return {
        name: value for name, value in form.multi_items() if name.startswith(f"{_SHOWN}/") and isinstance(value, str)
    }


def sent_again(form: FormData) -> tuple[tuple[str, str], ...]:
    """Return what a page sends again that asks first: all of a form but its token and digests."""
    return tuple(
        (name, value)
        for name, value in form.multi_items()
        if isinstance(value, str) and name not in (FORM_TOKEN, _AGREED) and not name.startswith(f"{_SHOWN}/")
    )


def agreed(form: FormData) -> bool:
    """Whether she agreed that the past loses something."""
    return text_of(form, _AGREED) == "yes"


def save(desk: Desk, request: Request, form: FormData, *, edits: Sequence[Edit], saved: Saved) -> Response:
    """Make edits of files as the form's page showed them, and return the page that follows.

    Its note says which sets on sale a changed row of the items keeps back that it did not keep back before.
    """
    kind, full = changes.Kind(desk.now(), saved.what, agreed(form)), desk.shop_state.full()
    outcome = changes.apply(desk.shop_state.folder, edits, shown_in(form), kind)
    if outcome.came is Came.DONE and outcome.number:
        of_items = (edit.action for edit in edits if edit.target.role is Role.ITEMS)
        rows = dict.fromkeys(action.row for action in of_items if isinstance(action, PutCell))
        before = full.problems if full is not None else ()
        held: list[Markup | str] = [
            text for row in tuple(rows)[:_LOOKED_AT] if (text := _held_back(desk, str(row), before))
        ]
        held += [saved.after()] if saved.after is not None else []
        saved = replace(saved, note=Markup(" ").join((saved.note, *held))) if held else saved
    return answer(desk, request, form, outcome, saved=saved)


def _held_back(desk: Desk, code: str, before: Iterable[Problem]) -> Markup | None:
    """Return the sentence that says which finished sets wait for a fault of an item that was not there before."""
    seen = desk.shop_state.look()
    sets = tuple(each for each in seen.opened.shop.folders if code in each.items and not each.draft)
    if not sets:
        return None
    there = {(each.code, each.message) for each in before if each.place.row == code}
    new = (each for each in desk.shop_state.faults_of_item(seen, code) if (each.code, each.message) not in there)
    fault = next(new, None)
    if fault is None:
        return None
    names = list_text(tuple(dict.fromkeys(each.name or each.folder for each in sets)), language())
    address = field_address(item_page("row", code), fault.place.key)
    return linked("held_back", address, count=len(sets), names=names) + " " + marked(told(fault))


def answer(desk: Desk, request: Request, form: FormData, outcome: Outcome, *, saved: Saved) -> Response:
    """Return the page that follows a change: where it leads, what is wrong, or what is to be chosen first."""
    if outcome.came is not Came.REFUSED:  # it was held against the files as they are now
        carry(request, {})
    if outcome.came is Came.DONE and saved.shown is not None and PARTS_HEADER in request.headers:
        return saved.shown(desk.note(saved.note, outcome.number, saved.address, outcome.when))
    if outcome.came is Came.DONE:
        return went_well(desk, saved.address, saved.note, change=outcome.number, when=outcome.when)
    if outcome.came is Came.REFUSED and saved.wrong is not None:
        return saved.wrong(outcome)
    shown: Mapping[Target, str] = {
        **shown_in(form),
        **{moved.edit.target: moved.digest for moved in outcome.moved if moved.edit is not None},
    }
    return page(
        desk,
        request,
        "",
        template="not_saved",
        came=outcome.came.value,
        wrong=outcome.wrong,
        moved=[(each, _wanted(each.edit)) for each in outcome.moved],
        forgets=outcome.forgets,
        misplaced=saved.by_place and any(each.edit and _in_list(each.edit) for each in outcome.moved),
        sent=sent_again(form),
        shown=[(shown_name(target), digest) for target, digest in shown.items()],
        action=request.url.path,
        back=saved.address,
        status=409,
    )


def _in_list(edit: Edit) -> bool:
    """Whether an edit is of an entry of a list, or of a row by its line: another one in a file that has moved."""
    return any(isinstance(part, int) for part in edit.key) or isinstance(edit.action, Move)


def _wanted(edit: Edit | None) -> object:
    """Return the value that an edit would have put, for the page; None where it has none."""
    action = edit.action if edit is not None else None
    if isinstance(action, PutText):
        return action.text
    return getattr(action, "value", getattr(action, "text", None))


def way_back(form: FormData) -> str:
    """Return the address of the page that a form was sent from as it says itself, if it is one of the desk."""
    address = text_of(form, "here")
    return address if address.startswith("/") and not address.startswith(("//", "/\\")) else "/"


def take_back(desk: Desk, request: Request, form: FormData) -> Response:
    """Take a change back, and show the page that it was asked from."""
    number = number_in(text_of(form, "change"))
    kind = changes.Kind(desk.now(), agreed=agreed(form))
    outcome = changes.take_back(desk.shop_state.folder, number, kind, text_of(form, "when"))
    saved = Saved(way_back(form), say("back.done"))
    return answer(desk, request, form, outcome, saved=saved)
