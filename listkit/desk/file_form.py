"""A TOML file of the shop on a page: its fields, what is wrong at each, and what a page sent back as edits.

One form holds all fields; what differs from the file becomes edits. Buttons named `do` change lists: `take crop/2`,
`move crop 2 1`, `add crop 0` with what was typed into the blank entry.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

from pydantic import BaseModel
from starlette.datastructures import FormData

from listkit.desk.changes import Outcome, Wrong
from listkit.desk.edits import Add, Edit, Move, Put, Target
from listkit.desk.field_values import Input
from listkit.desk.fields import Form, form, name_of, value_of
from listkit.desk.sent import number_in
from listkit.desk.wording import language
from listkit.edit.toml import value_at
from listkit.problem import FieldError, KeyPath, Level, Problem

Sent = Mapping[str, Sequence[str]]
"""What a page sent back, by the names of fields."""


@dataclass(frozen=True, slots=True)
class Typed:
    """What was sent and cannot be: the texts by the names of their fields, and what is wrong at each."""

    texts: Mapping[str, str] = field(default_factory=dict)
    wrong: Mapping[str, tuple[Wrong, ...]] = field(default_factory=dict)


NOTHING_TYPED: Final = Typed()


def form_of(model: type[BaseModel], content: bytes) -> Form | None:
    """Return the fields of a file; None where it is no TOML."""
    return _form_of(model, content, language())


@lru_cache(maxsize=4)  # what a change makes is what the page behind it shows, and what the next change begins with
def _form_of(model: type[BaseModel], content: bytes, _spoken: str) -> Form | None:
    try:
        document = value_at(content, ())
    except FieldError:
        return None
    return form(model, document) if isinstance(document, dict) else None


def sent_in(form_sent: FormData) -> dict[str, list[str]]:
    """Return the texts that a page sent, by the names of its fields."""
    sent: dict[str, list[str]] = {}
    for name, value in form_sent.multi_items():
        if isinstance(value, str):
            sent.setdefault(name, []).append(value)
    return sent


def texts_of(sent: Sent) -> dict[str, str]:
    """Return what was sent as the page shows it again."""
    return {name: "\n".join(values) for name, values in sent.items()}


def names_in(fields: Form | None) -> dict[KeyPath, str]:
    """Return the names of fields, and of entries of lists, by their keys."""
    names: dict[KeyPath, str] = {}
    for each in fields.every() if fields else ():
        names[each.key] = each.name
        names |= {(*each.key, at): name_of((*each.key, at)) for at in range(len(each.entries))}
    return names


def nearest(key: KeyPath, names: Mapping[KeyPath, str], default: str = "") -> str:
    """Return the name of the field that a key is of, or that is around it; `default` where there is none."""
    return next((names[key[:length]] for length in range(len(key), 0, -1) if key[:length] in names), default)


def asked_field(asked: str, fields: Form | None) -> str:
    """Return the name of the field that an address asks for by `at`: the field itself or, of an entry, its first one.

    Of something to choose it is what buyers read of it, which mostly is to mend; "" where there is no such field.
    """
    names = [each.name for each in fields.every() if each.kind not in (Input.TABLE, Input.TABLES)] if fields else []
    around = asked
    while around:
        inner = [name for name in names if name == around or name.startswith(f"{around}/")]
        if inner:
            return next((name for name in inner if name == f"{around}/says"), inner[0])
        around = around.rpartition("/")[0]
    return ""


def by_field(problems: Sequence[Problem], names: Mapping[KeyPath, str]) -> dict[str, list[Problem]]:
    """Return the problems of a file by the names of their fields, "" for those of none; what must be fixed first."""
    fields: dict[str, list[Problem]] = {}
    for problem in sorted(problems, key=lambda each: (each.level is not Level.MUST_FIX, each.place.line)):
        fields.setdefault(nearest(problem.place.key, names), []).append(problem)
    return fields


def wrong_by_field(outcome: Outcome, fields: Form) -> dict[str, tuple[Wrong, ...]]:
    """Return what is wrong by the names of fields, those of blank entries too."""
    names, at = names_in(fields), dict[str, tuple[Wrong, ...]]()
    names |= {inner.key: inner.name for each in fields.every() for blank in each.blanks for inner in blank.fields}
    for wrong in outcome.wrong:
        name = nearest(wrong.key, names)
        at[name] = (*at.get(name, ()), wrong)
    return at


def list_edits(do: str, target: Target, fields: Form, sent: Sent) -> Iterator[Edit]:
    """Yield the edit of a button that takes an entry out of a list, moves one or adds one; nothing where none was used.

    Raises:
        FieldError: what it speaks of is not there.
    """
    if not do:
        return
    what, _, rest = do.partition(" ")
    name, _, rest = rest.partition(" ")
    lists = {each.name: each for each in fields.every() if each.kind is Input.TABLES}
    around, _, at = name.rpartition("/")
    if what == "take" and around in lists and 0 <= (entry := number_in(at)) < len(lists[around].entries):
        yield Edit(target, Put((*lists[around].key, entry), None))
    elif (
        what == "move"
        and name in lists
        and len(places := [number_in(part) for part in rest.split()]) == 2
        and min(places) >= 0
    ):
        yield Edit(target, Move(lists[name].key, places[0], places[1]))
    elif what == "add" and name in lists and 0 <= (number := number_in(rest)) < len(lists[name].blanks):
        blank = lists[name].blanks[number].fields
        typed = (each for each in blank if "".join(sent.get(each.name, ())[-1:]) != each.usual)  # what holds anyway
        values = {str(each.key[-1]): value_of(each, sent.get(each.name, ())) for each in typed}
        yield Edit(target, Add(lists[name].key, {key: value for key, value in values.items() if value is not None}))
    else:
        raise FieldError("what was to be changed is not there any more.", "Load the page again.")
