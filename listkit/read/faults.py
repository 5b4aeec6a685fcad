"""Translates what pydantic says of a document into the owner's words, free of files and lines.

Every fault is a code of CODES, a message that names the value found, and a hint that says what to
write. pydantic's own phrases are never shown. Models carry the names of the file as aliases ([[season]]) and let
pydantic distinguish kinds of entry by a tag; `follow` brings the paths that pydantic gives back to what the owner
wrote.
"""

import datetime
import json
import re
import tomllib
import types
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import EnumMeta
from functools import cache, lru_cache
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin

from pydantic import BaseModel, BeforeValidator, Discriminator, Tag, ValidationError, WithJsonSchema
from pydantic.fields import FieldInfo

from listkit.bounded_toml import parse_bounded
from listkit.problem import FieldError, KeyPath, one_line, quoted
from listkit.read.source import Fault
from listkit.read.wording import listed, nearest, write_instead

_DAY: Final = "2027-02-28"
_BY_TYPE: Final = {"string": '"..."', "integer": "12", "number": "12", "boolean": "true"}
_KEY_ITSELF: Final = "[key]"  # pydantic's mark for a fault in a key and not in its value
_DICTS: Final = (dict, Mapping)
_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")


@dataclass(frozen=True, slots=True)
class Spot:
    """A path in a document: without tags, with the keys of the table around it, and its field."""

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
        """The key as a file may have it, in TOML: name = "First Nectar", [[contents]]; "" where it is none of ours."""
        return _example(tuple(part for part in self.loc if isinstance(part, str)), self.field) if self.field else ""


@lru_cache(maxsize=4096)  # of a table, each row has the same
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


@cache
def known_keys(model: type[BaseModel]) -> tuple[str, ...]:
    """Return the keys that the owner may write, in the model's order."""

    def given(field: FieldInfo) -> bool:
        extra = field.json_schema_extra
        return isinstance(extra, dict) and bool(extra.get("given"))

    return tuple(field.alias or name for name, field in model.model_fields.items() if not given(field))


def field_of(model: type[BaseModel], key: str) -> FieldInfo | None:
    """Return the field that `key` fills."""
    return next((field for name, field in model.model_fields.items() if key == (field.alias or name)), None)


def repeats(model: type[BaseModel], heading: str) -> bool:
    """Whether the table of a heading may stand several times: "contents", "file.column"."""
    field = follow(model, tuple(part.strip() for part in heading.split("."))).field
    kind = _bare(field.annotation) if field else None
    return get_origin(kind) is tuple and _is_table(get_args(kind)[0])


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


def _example(path: tuple[str, ...], field: FieldInfo) -> str:
    """Return a key, by the names that lead to it, with a value that its field takes; a table by its heading."""
    kind, key, heading = _bare(field.annotation), toml_key(path[-1]), ".".join(map(toml_key, path))
    if field.examples:
        return f"{key} = {toml_text(field.examples[0])}"
    if get_origin(kind) is tuple:
        element = get_args(kind)[0]
        return f"[[{heading}]]" if _is_table(element) else f"{key} = [{_value(element, ())}]"
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return f"[{heading}]"
    return f"{key} = {_value(field.annotation, tuple(field.metadata))}"


def example_of(field: FieldInfo) -> str:
    """Return a value that a field takes, as TOML writes it; "" of a table."""
    kind = _bare(field.annotation)
    if field.examples:
        return toml_text(field.examples[0])
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return ""
    if get_origin(kind) is tuple:
        element = get_args(kind)[0]
        return "" if _is_table(element) else f"[{_value(element, ())}]"
    return _value(field.annotation, tuple(field.metadata))


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
        members = get_args(kind)
        kind = next(member for member in members if get_origin(kind) is Annotated or member is not type(None))
    schema = next((mark.json_schema for mark in marks if isinstance(mark, WithJsonSchema)), None) or {}
    if examples := schema.get("examples"):
        return toml_text(examples[0])
    if get_origin(kind) is Literal:
        return toml_text(get_args(kind)[0])
    if isinstance(kind, EnumMeta):
        return toml_text(next(iter(kind)).value)
    if kind is datetime.date:
        return _DAY
    types_named = schema.get("type", "boolean" if kind is bool else "string")
    return _BY_TYPE[types_named if isinstance(types_named, str) else types_named[0]]


_TAB: Final = r"\t"  # as a TOML file has it
_MOST: Final = 200  # faults told of one document
Words = tuple[str, str]
"""Message and hint."""


def faults_of(model: type[BaseModel], error: ValidationError) -> list[Fault]:
    """Return every fault of the document, in the order of the model.

    A list is called empty by pydantic when nothing in it is sound; then only the faults of its elements count. A key
    that is nearly another one missing beside it is one fault, the slip that it is.
    """
    errors = [about for about in error.errors(include_url=False) if about["type"] != "too_short" or not about["input"]]
    every = [_fault(model, about) for about in errors[:_MOST]]
    slips = {(fault.loc[:-1], fault.hint) for fault in every if fault.code == "unknown-key"}
    faults = [
        fault
        for fault in every
        if fault.code != "missing-key" or (fault.loc[:-1], f"Write {quoted(fault.name)}.") not in slips
    ]
    if len(errors) > _MOST:
        faults.append(Fault((), "bad-value", f"{len(errors) - _MOST} more problems are in it.", "Mend these first."))
    return faults


def unknown_key(model: type[BaseModel], loc: KeyPath, value: object = None) -> Fault:
    """Return the fault of a key that the table has not; what it says may be a table itself."""
    spot = follow(model, loc)
    key = str(loc[-1])
    hint = write_instead(key, spot.keys)
    if not hint and len(loc) > 1 and (near := meant_at_top(model, key, value)):
        where = f"{quoted(near)} above the first line in [brackets]"
        if isinstance(value, Mapping):
            where = f"[{near}]"
        elif isinstance(value, list) and value and isinstance(value[0], Mapping):
            where = f"[[{near}]]"
        hint = f"Write {where}: it belongs to the whole file."
    if not hint and spot.keys:
        hint = f"Keys here are {listed(spot.keys, 'and')}."
    return Fault(spot.loc, "unknown-key", f"there is no key {quoted(key)}.", hint)


def meant_at_top(model: type[BaseModel], key: str, value: object) -> str:
    """Return the key of the whole file that is meant by one within a table; "" where none near takes such a value."""
    near = nearest(key, known_keys(model))
    field = field_of(model, near) if near else None
    if field is None:
        return ""
    inner = value[0] if isinstance(value, list) and value else value
    takes_tables = example_of(field) == "" or get_origin(_bare(field.annotation)) in _DICTS
    return near if isinstance(inner, Mapping) is takes_tables else ""


def _fault(model: type[BaseModel], details: Any) -> Fault:  # noqa: ANN401 - pydantic's ErrorDetails, a TypedDict
    kind, loc = str(details["type"]), details["loc"]
    if kind == "extra_forbidden":
        return unknown_key(model, loc, details["input"])
    spot = follow(model, loc)
    if kind == "missing":
        hint = f"Add {spot.example}: {spot.description}." if spot.description else f"Add {spot.example}."
        return Fault(spot.loc, "missing-key", f"{quoted(spot.name)} is missing.", hint, spot.name)
    message, hint = _WORDS.get(kind, _unusable)(spot, details)
    return Fault(spot.loc, "bad-value", one_line(message), one_line(hint), spot.name)


def _own_words(spot: Spot, details: Mapping[str, Any]) -> Words:
    """Return a field type's own words; they quote the value as it came, but what is no text goes by its kind."""
    error, value = details["ctx"]["error"], details["input"]
    if not isinstance(error, FieldError):
        return _unusable(spot, details)
    if isinstance(value, str):
        return error.message, error.hint
    return error.message.replace(quoted(str(value)), shown(value)), error.hint


def _unusable(spot: Spot, details: Mapping[str, Any]) -> Words:
    return f"{shown(details['input'])} cannot be used here.", f"Write it as in {spot.example}." if spot.example else ""


def _choices(spot: Spot, details: Mapping[str, Any]) -> Words:
    found = details["input"]
    field = spot.field
    choices = choices_of(field.annotation) if field else ()
    message = f"{shown(found)} is not one of the choices."
    words = [choice for choice in choices if isinstance(choice, str)]
    near = write_instead(found, words) if isinstance(found, str) else ""
    shown_as = (shown(choice).replace("␉", _TAB) for choice in choices)
    return message, near or f"Write {listed(shown_as)}."


def choices_of(kind: object) -> tuple[str | int, ...]:
    """Return the words or numbers of a Literal or an enumeration, wherever they stand within the type.

    >>> choices_of(tuple[Literal[1, 2], ...])
    (1, 2)
    """
    if get_origin(kind) is Literal:
        return get_args(kind)
    if isinstance(kind, EnumMeta):
        return tuple(map(str, kind.__members__.values()))
    return tuple(choice for part in get_args(kind) for choice in choices_of(part))


def _text(_spot: Spot, details: Mapping[str, Any]) -> Words:
    return f"{shown(details['input'])} is not a text.", "Write it in quotes."


def _true_or_false(_spot: Spot, details: Mapping[str, Any]) -> Words:
    return f"{shown(details['input'])} is neither true nor false.", "Write true or false, without quotes."


def _list(spot: Spot, details: Mapping[str, Any]) -> Words:
    value = details["input"]
    if spot.example.startswith("[[") and isinstance(value, dict):
        return "it may stand several times.", f"Write {spot.example} in two pairs of brackets."
    if isinstance(value, str) and not spot.example.startswith("["):
        parts = [part.strip() for part in value.split(",")]
        listing = value if _in_quotes(value, list) else toml_text([part for part in parts if part])
        return f"{shown(value)} is one text and no list.", f"Write {toml_key(spot.name)} = {listing}."
    return f"{shown(details['input'])} is not a list.", f"Write it as in {spot.example}."


def _table(spot: Spot, details: Mapping[str, Any]) -> Words:
    value = details["input"]
    hint = f"Write it as in {spot.example}." if spot.example else ""
    if isinstance(value, str) and value.strip().startswith("{"):
        if _in_quotes(value, dict):
            hint = f"Write {toml_key(spot.name)} = {value.strip()}."
        return f"{shown(value)} is in quotes, and so it is a text.", f"Take these quotes off. {hint}".strip()
    if isinstance(value, list) and spot.example.startswith("["):
        return "it may stand only once.", f"Write {spot.example} in one pair of brackets."
    if spot.example.startswith("["):
        hint = f"Write {spot.example} on a line of its own, and its keys below."
    return f"{shown(details['input'])} is not a table of keys.", hint


def _in_quotes(value: str, kind: type[list[Any]] | type[dict[str, Any]]) -> bool:
    """Whether a text is a list or a table as TOML writes it."""
    try:
        return "\n" not in value and isinstance(parse_bounded(f"x = {value}")["x"], kind)
    except tomllib.TOMLDecodeError:
        return False


def _empty(spot: Spot, _details: Mapping[str, Any]) -> Words:
    return "it is empty.", f"Write at least one: {spot.description}."


_WORDS: Final[dict[str, Callable[[Spot, Mapping[str, Any]], Words]]] = {
    "value_error": _own_words,
    "literal_error": _choices,
    "enum": _choices,
    "string_type": _text,
    "string_unicode": _text,
    "bool_type": _true_or_false,
    "bool_parsing": _true_or_false,
    "tuple_type": _list,
    "too_short": _empty,
    "dict_type": _table,
    "model_type": _table,
    "model_attributes_type": _table,
    "mapping_type": _table,
}


def shown(value: object) -> str:
    """Return a value of a document as a message names it."""
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, (list, tuple)):
        return "a list"
    return one_line(str(value)) if value is not None else "nothing"


def toml_key(name: str) -> str:
    """Return a key as TOML writes it, in quotes where it needs them."""
    return name if _BARE_KEY.fullmatch(name) else toml_text(name)


def toml_text(value: object) -> str:
    """Return a value as TOML writes it.

    >>> toml_text({"&": ["and", True, 0.5]})
    '{ "&" = ["and", true, 0.5] }'
    """
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{toml_key(key)} = {toml_text(each)}' for key, each in value.items())} }}"
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(map(toml_text, value))}]"
    if isinstance(value, datetime.date):
        return value.isoformat()
    return json.dumps(value, ensure_ascii=False)
