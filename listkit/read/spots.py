"""Follows a fault's path through the models: the key as the file has it, its neighbours, how it is written.

Models carry the names of the file as aliases ([[season]]) and let pydantic tell kinds of entry apart by a
tag; the paths that pydantic gives are brought back here to what the owner wrote.
"""

import datetime
import types
from collections.abc import Mapping
from dataclasses import dataclass
from enum import EnumMeta
from typing import Annotated, Final, Literal, Union, get_args, get_origin

from pydantic import BaseModel, BeforeValidator, Discriminator, Tag, WithJsonSchema
from pydantic.fields import FieldInfo

from listkit.problem import KeyPath

_DAY: Final = "2027-02-28"
_BY_TYPE: Final = {"string": '"..."', "integer": "12", "number": "12", "boolean": "true", "array": "[...]"}
_KEY_ITSELF: Final = "[key]"  # pydantic's mark for a fault in a key and not in its value
_DICTS: Final = (dict, Mapping)


@dataclass(frozen=True, slots=True)
class Spot:
    """What stands at a path: the path without tags, the keys of the table around it, and its field."""

    loc: KeyPath
    keys: tuple[str, ...] = ()
    field: FieldInfo | None = None

    @property
    def name(self) -> str:
        """The key as the owner reads it: the last name in the path."""
        return next((part for part in reversed(self.loc) if isinstance(part, str)), "")

    @property
    def description(self) -> str:
        """What the key is for, as a clause: "the set's name"."""
        words = (self.field.description or "") if self.field else ""
        words = words.rstrip(".")
        return words if words[1:2].isupper() else words[:1].lower() + words[1:]

    @property
    def example(self) -> str:
        """The key as it may be written: name = "First Nectar", [[contents]]."""
        return _example(self.name, self.field) if self.field else ""


def follow(model: type[BaseModel], loc: KeyPath) -> Spot:
    """Return the spot that pydantic's `loc` names in `model`."""
    kind: object = model
    spot = Spot(())
    for part in loc:
        member = _tagged(kind, part)
        if member is not None or part == _KEY_ITSELF:
            kind = member
            continue
        kind = _bare(kind)
        keys: tuple[str, ...] = ()
        field: FieldInfo | None = None
        if isinstance(kind, type) and issubclass(kind, BaseModel):
            keys, field = known_keys(kind), field_of(kind, str(part))
            kind = field.annotation if field else None
        elif get_origin(kind) is tuple:
            kind, field = get_args(kind)[0], spot.field
        elif get_origin(kind) in _DICTS:
            kind, field = get_args(kind)[1], spot.field
        spot = Spot((*spot.loc, part), keys, field)
    return spot


def known_keys(model: type[BaseModel]) -> tuple[str, ...]:
    """Return the keys that the owner may write, in the model's order."""
    return tuple(field.alias or name for name, field in model.model_fields.items() if not _given(field))


def field_of(model: type[BaseModel], key: str) -> FieldInfo | None:
    """Return the field that `key` fills."""
    return next((field for name, field in model.model_fields.items() if key == (field.alias or name)), None)


def _given(field: FieldInfo) -> bool:
    extra = field.json_schema_extra
    return isinstance(extra, dict) and bool(extra.get("given"))


def _bare(kind: object) -> object:
    """Take off what stands around a type: Annotated[...] and "or nothing"."""
    while True:
        if get_origin(kind) is Annotated:
            kind = get_args(kind)[0]
        elif get_origin(kind) in (Union, types.UnionType):
            members = [member for member in get_args(kind) if member is not type(None)]
            if len(members) != 1:
                return kind
            kind = members[0]
        else:
            return kind


def _tagged(kind: object, part: str | int) -> object | None:
    """Return the member of a union that pydantic names by the tag `part`; None when it is no such union."""
    if get_origin(kind) is not Annotated or not any(isinstance(mark, Discriminator) for mark in get_args(kind)[1:]):
        return None
    for member in get_args(get_args(kind)[0]):
        if any(isinstance(mark, Tag) and mark.tag == part for mark in get_args(member)[1:]):
            return _bare(member)
    return None


def _example(key: str, field: FieldInfo) -> str:
    kind = _bare(field.annotation)
    if field.examples:
        return f'{key} = "{field.examples[0]}"'
    if get_origin(kind) is tuple:
        element = get_args(kind)[0]
        return f"[[{key}]]" if _is_table(element) else f"{key} = [{_value(element, ())}]"
    if get_origin(kind) in _DICTS:
        return f'{key} = {{ ... = "..." }}'
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return f"[{key}]"
    return f"{key} = {_value(field.annotation, tuple(field.metadata))}"


def _is_table(kind: object) -> bool:
    """Whether an element is a table of keys, or one of several kinds of them; not one that may also be a bare text."""
    if get_origin(kind) is Annotated:
        base, *marks = get_args(kind)
        return _is_table(base) and not any(isinstance(mark, BeforeValidator) for mark in marks)
    if get_origin(kind) in (Union, types.UnionType):
        return all(map(_is_table, get_args(kind)))
    return isinstance(kind, type) and issubclass(kind, BaseModel)


def _value(kind: object, marks: tuple[object, ...]) -> str:
    """Return a value of this kind as TOML writes it."""
    while get_origin(kind) is Annotated or kind is not _bare(kind):
        marks += get_args(kind)[1:] if get_origin(kind) is Annotated else ()
        kind = get_args(kind)[0] if get_origin(kind) is Annotated else _first(kind)
    schema = next((mark.json_schema for mark in marks if isinstance(mark, WithJsonSchema)), None) or {}
    if examples := schema.get("examples"):
        return f'"{examples[0]}"'
    if get_origin(kind) is Literal:
        return f'"{get_args(kind)[0]}"'
    if isinstance(kind, EnumMeta):
        return f'"{next(iter(kind)).value}"'
    if kind is datetime.date:
        return _DAY
    types_named = schema.get("type", "boolean" if kind is bool else "string")
    return _BY_TYPE[types_named if isinstance(types_named, str) else types_named[0]]


def _first(kind: object) -> object:
    return next(member for member in get_args(kind) if member is not type(None))
