"""The owner's TOML files as forms: every key a field in her words, and what she typed back as an edit.

The fields follow from the models: what kind of input, which choices, what is usual, what a field is for. Their labels
are in templates/desk/words/, in fields.en.toml and its like; a key without one is a mistake of ours and raises. A
field's `name` is what a page sends back; it is looked up among the fields of the file, so that no key path comes from
outside.
"""

import datetime
import re
import types
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from functools import lru_cache
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin

from pydantic import BaseModel, BeforeValidator, Discriminator, Tag, WithJsonSchema
from pydantic.fields import FieldInfo

from listkit.desk.countries import country_code
from listkit.desk.edits import Add, Edit, Put, Target
from listkit.desk.field_values import Input, line_of, list_value, typed_value, usual_text
from listkit.desk.wording import field_words
from listkit.edit.toml_text import TomlValue
from listkit.model.fields import CODE, Ending, Ratio, WholesaleRule
from listkit.model.labels import Face, Paper
from listkit.model.photo import FocusBox
from listkit.problem import KeyPath
from listkit.units.length import Length, Size
from listkit.units.money import Money
from listkit.units.weight import Divisor, Weight


@dataclass(frozen=True, slots=True)
class Blank:
    """An entry that a list of tables may be given: what kind of entry, and its fields, all empty."""

    kind: str
    fields: tuple["FormField", ...]


@dataclass(frozen=True, slots=True)
class FormField:
    """One key of a file as a page shows it.

    `value` is what the file says, as text; of lists, groups and pairs a line for each; "" where it says nothing, and
    then `usual` is what holds. `fields` are those of a table, `entries` those of each table of a list, `blanks` what
    may be added to it. `raw` is the value as the file has it, None where it has none.
    """

    key: KeyPath
    label: str
    help: str
    kind: Input
    of: Input = Input.TEXT
    choices: tuple[tuple[str, str], ...] = ()
    required: bool = False
    value: str = ""
    usual: str = ""
    example: str = ""
    picks: str = ""
    raw: TomlValue | None = None
    fields: tuple["FormField", ...] = ()
    entries: tuple[tuple["FormField", ...], ...] = ()
    blanks: tuple[Blank, ...] = ()

    @property
    def name(self) -> str:
        """What a page calls it by: the parts of its key with a slash between."""
        return name_of(self.key)


@dataclass(frozen=True, slots=True)
class Section:
    """Fields that stand together."""

    title: str
    fields: tuple[FormField, ...]


@dataclass(frozen=True, slots=True)
class Form:
    """A file as a page shows it; `strange` are keys of the file that no file has."""

    sections: tuple[Section, ...]
    strange: tuple[tuple[str, str], ...] = ()

    def every(self) -> Iterator[FormField]:
        """Yield each field, with those within tables."""
        for section in self.sections:
            yield from _every(section.fields)


PICKS: Final[Mapping[str, str]] = {
    "Fixed.item": "items", "Option.item": "items", "Slot.default": "options", "GiftSet.box": "boxes",
    "GiftSet.season": "seasons", "GiftSet.not_together": "options", "PhotoNote.file": "photos",
    "PhotoNote.shot": "shots", "PhotoNote.shows": "options", "VariantNote.photo": "photos",
    "VariantNote.options": "variants", "Reduction.channels": "channels", "ShopReduction.channels": "channels",
    "ShopReduction.sets": "sets", "Channel.sets": "sets", "Channel.leave_out": "lines", "Channel.photos_of": "channels",
    "Channel.zone": "zones", "Singles.items": "items", "ShopSingles.items": "items", "Silenced.items": "items",
    "Group.lines": "lines", "LineNote.code": "lines", "Wholesale.season": "seasons", "Cards.channel": "channels",
    "Shots.required": "shots", "Inserts.channel": "pages", "Settings.currency": "currencies",
    "Settings.country": "countries", "Channel.country": "countries", "Labels.origin": "countries",
    "Silenced.caution": "cautions",
}  # fmt: skip
"""What a page offers for a field, beside typing: the shop's items, boxes, photos ..."""
_LONG: Final = frozenset({"GiftSet.theme", "Settings.address", "PhotoNote.alt"})
_BY_CLASS: Final[Mapping[type, Input]] = {
    Money: Input.MONEY, Weight: Input.MEASURE, Length: Input.MEASURE, Size: Input.MEASURE, Divisor: Input.MEASURE,
    datetime.date: Input.DAY, bool: Input.YES_NO, FocusBox: Input.FOCUS, Ending: Input.TEXT, WholesaleRule: Input.TEXT,
    Ratio: Input.TEXT, Face: Input.MEASURE, Paper: Input.TEXT,
}  # fmt: skip
_BARE_SIZE: Final = re.compile(r"[0-9.,]+(?:\s*[xX×*]\s*[0-9.,]+){2}")


def form(model: type[BaseModel], document: Mapping[str, Any]) -> Form:
    """Return a file as a form.

    Args:
        model: what the file may say.
        document: what it says, as TOML reads; it need not be sound.
    """
    fields = {str(field.key[0]): field for field in _fields(model, document, ())}
    sections = tuple(
        Section(section["title"], tuple(fields[key] for key in section["keys"]))
        for section in field_words()["section"][model.__name__]
    )
    strange = tuple((key, line_of(value)) for key, value in document.items() if key not in fields)
    return Form(sections, strange)


def edits_of(target: Target, shown: Form, sent: Mapping[str, Sequence[str]]) -> list[Edit]:
    """Return the edits that make a file say what a page sent back; fields that it did not send stay.

    Args:
        target: the file.
        shown: its form, of the file as it is now.
        sent: what was sent, by the names of fields; a list may come as lines of one text or one by one.
    """
    edits = []
    for field in shown.every():
        if field.name in sent and field.kind not in (Input.TABLE, Input.TABLES):
            texts = sent[field.name]
            if field.picks == "countries":
                texts = [country_code(text) or text for text in texts]
            text = "\n".join(texts).replace("\r\n", "\n")
            if text not in (field.value, field.usual if field.raw is None else field.value):
                edits.append(Edit(target, Put(field.key, value_of(field, texts))))
    return _joined(target, shown, edits)


def added(target: Target, field: FormField, kind: str, sent: Mapping[str, Sequence[str]]) -> Edit:
    """Return the edit that puts one more entry behind the others of a list of tables.

    Args:
        target: the file.
        field: the list.
        kind: which of its blanks was filled in.
        sent: what was typed into the blank's fields; a list of entries that may be bare texts comes as lines.
    """
    entry: dict[str, Any] = {}
    blank = next(blank for blank in field.blanks if blank.kind == kind)
    for inner in _every(blank.fields):
        lines = [line.strip() for text in sent.get(inner.name, ()) for line in text.splitlines() if line.strip()]
        many = inner.kind is Input.TABLES
        value = (lines or None) if many else value_of(inner, sent.get(inner.name, ()))
        if value is not None and inner.kind is not Input.TABLE:
            *way, key = inner.key[len(field.key) + 1 :]
            table = entry
            for part in way:
                table = table.setdefault(str(part), {})
            table[str(key)] = value
    return Edit(target, Add(field.key, entry))


def value_of(field: FormField, sent: Sequence[str]) -> TomlValue | None:
    """Return what was typed into a field as the file is to have it; None for nothing.

    What cannot be understood stays as it was typed, so that the file's own reader says what is wrong with it.
    """
    texts = [text.replace("\r\n", "\n").replace("\r", "\n") for text in sent]
    if field.kind in (Input.LIST, Input.GROUPS, Input.PAIRS):
        lines = [line.strip() for text in texts for line in text.split("\n") if line.strip()]
        return list_value(field.kind, field.of, field.raw, lines)
    text = "\n".join(texts) if field.kind is Input.LONG_TEXT else " ".join(texts[-1:])
    if field.kind is Input.CHOICE and field.of is Input.TEXT and text in dict(field.choices):
        return text  # as it is: one of them is a tab
    if not text.strip():
        return None
    return typed_value(field.of if field.of is Input.NUMBER else field.kind, text.strip(), field.raw)


def with_unit(size: str, *, inches: bool) -> str:
    """Return three sides that were typed without their unit with that of the shop; any other text as it is.

    >>> with_unit("80 x 80 x 90", inches=False), with_unit("3 x 3 x 3.5", inches=True), with_unit("8 cm", inches=False)
    ('80 x 80 x 90 mm', '3 x 3 x 3.5 in', '8 cm')
    """
    return f"{size.strip()} {'in' if inches else 'mm'}" if _BARE_SIZE.fullmatch(size.strip()) else size


def sections_of(model: type[BaseModel]) -> tuple[tuple[str, tuple[str, ...], bool], ...]:
    """Return what stands together on a page of a model: title, keys, and whether they are seldom needed."""
    sections = field_words()["section"][model.__name__]
    return tuple((each["title"], tuple(each["keys"]), "seldom" in each) for each in sections)


# What a field is, from its model.


def _fields(model: type[BaseModel], there: object, path: KeyPath) -> tuple[FormField, ...]:
    """Return the fields of a table; `there` is what the file has in its place."""
    table = there if isinstance(there, Mapping) else {}
    fields = []
    for name, info in model.model_fields.items():
        extra = info.json_schema_extra
        if isinstance(extra, dict) and extra.get("given"):
            continue
        key = info.alias or name
        fields.append(_field(model, key, info, (*path, key), table.get(key)))
    return tuple(fields)


def _field(model: type[BaseModel], key: str, info: FieldInfo, path: KeyPath, raw: Any) -> FormField:  # noqa: ANN401
    place, words = f"{model.__name__}.{key}", field_words()
    bare, marks = _bared(info.annotation, tuple(info.metadata))
    kind, of, choices = _kind(bare, marks, place)
    if kind is Input.TABLE and isinstance(raw, str):
        kind = Input.TEXT  # a table that may be said in a word, as window = "any time", and is
    about = words["help"].get(model.__name__, {}).get(key) or (info.description or "").replace(
        "when left out", "when left empty"
    )
    fields: tuple[FormField, ...] = ()
    entries: tuple[tuple[FormField, ...], ...] = ()
    blanks: tuple[Blank, ...] = ()
    if kind is Input.TABLE:
        fields = _fields(bare, raw, path)
    elif kind is Input.TABLES:
        element = get_args(bare)[0]
        there = raw if isinstance(raw, list) else []
        entries = tuple(
            _fields(_shape(element, each), _as_table(element, each), (*path, at)) for at, each in enumerate(there)
        )
        blanks = tuple(Blank(tag, _fields(shape, {}, (*path, len(there)))) for tag, shape in _shapes(element))
    return FormField(
        key=path,
        label=words[model.__name__][key],
        help=about,
        kind=kind,
        of=of,
        choices=tuple((choice, words["choice"].get(choice, choice)) for choice in choices),
        required=info.is_required(),
        value="" if raw is None or kind in (Input.TABLE, Input.TABLES) else line_of(raw, kind),
        usual=usual_text(info.default, kind),
        example=_example(info, marks),
        picks=PICKS.get(place, ""),
        raw=raw,
        fields=fields,
        entries=entries,
        blanks=blanks,
    )


def _bared(kind: Any, marks: tuple[object, ...]) -> tuple[Any, tuple[object, ...]]:  # noqa: ANN401 - any annotation
    """Return a type without what is around it, Annotated[...] and "or nothing", and all marks that it had."""
    while True:
        if get_origin(kind) is Annotated:
            kind, *more = get_args(kind)
            marks += tuple(more)
        elif get_origin(kind) in (Union, types.UnionType):
            members = [member for member in get_args(kind) if member is not type(None)]
            if len(members) != 1:
                return kind, marks
            kind = members[0]
        else:
            return kind, marks


def _kind(kind: Any, marks: tuple[object, ...], place: str) -> tuple[Input, Input, tuple[str, ...]]:  # noqa: ANN401
    """Return what a type is filled in with, what each of a list is, and the choices there are."""
    if get_origin(kind) is tuple:
        if _shapes(get_args(kind)[0]):
            return Input.TABLES, Input.TEXT, ()
        of, _, named = _kind(*_bared(get_args(kind)[0], ()), place)
        return (Input.GROUPS, Input.CODE, ()) if of is Input.LIST else (Input.LIST, of, named)
    if get_origin(kind) is Literal:
        choices = get_args(kind)
        return Input.CHOICE, Input.NUMBER if isinstance(choices[0], int) else Input.TEXT, tuple(map(str, choices))
    if isinstance(kind, type) and issubclass(kind, Enum):
        return Input.CHOICE, Input.TEXT, tuple(str(member.value) for member in kind)
    if get_origin(kind) in (dict, Mapping):
        return Input.PAIRS, Input.FOCUS if _bared(get_args(kind)[1], ())[0] is FocusBox else Input.TEXT, ()
    return _plain_kind(kind, marks, place), Input.TEXT, ()


def _plain_kind(kind: Any, marks: tuple[object, ...], place: str) -> Input:  # noqa: ANN401 - any annotation
    """Return what one value is filled in with, or a whole table."""
    example = _example(None, marks)
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return Input.TABLE
    if kind in _BY_CLASS:
        return _BY_CLASS[kind]
    if kind in (int, Decimal):
        of_number = Input.MEASURE if re.search("[a-z]", example) else Input.NUMBER
        return Input.SHARE if example.endswith("%") else of_number
    of_text = Input.COLOUR if example.startswith("#") else Input.LONG_TEXT if place in _LONG else Input.TEXT
    return Input.CODE if any(mark is CODE for mark in marks) else of_text


def _shapes(element: Any) -> tuple[tuple[str, type[BaseModel]], ...]:  # noqa: ANN401 - any annotation
    """Return the models that an entry of a list may have, each with what tells it apart; () where it is no table."""
    bare, _ = _bared(element, ())
    if isinstance(bare, type) and issubclass(bare, BaseModel):
        return (("", bare),)
    if get_origin(bare) not in (Union, types.UnionType):
        return ()
    tagged = [(_mark(member, Tag), _bared(member, ())[0]) for member in get_args(bare)]
    return tuple((mark.tag, shape) for mark, shape in tagged if mark is not None)


def _shape(element: Any, there: object) -> type[BaseModel]:  # noqa: ANN401 - any annotation
    """Return the model that an entry of a list has."""
    shapes, chooser = dict(_shapes(element)), _mark(element, Discriminator)
    tag = chooser.discriminator(there) if chooser is not None and callable(chooser.discriminator) else None
    return shapes.get(str(tag)) or next(iter(shapes.values()))


def _as_table(element: Any, there: Any) -> Any:  # noqa: ANN401 - any annotation, any TOML
    """Return an entry as a table: one that may be a bare text is its first field."""
    before = _mark(element, BeforeValidator)
    function: Callable[[Any], Any] | None = before.func if before is not None else None
    return function(there) if function is not None and not isinstance(there, Mapping) else there


def _mark(kind: Any, of: type) -> Any:  # noqa: ANN401 - any annotation
    """Return the mark of a class that stands right behind a type, None where there is none."""
    marks = get_args(kind)[1:] if get_origin(kind) is Annotated else ()
    return next((mark for mark in marks if isinstance(mark, of)), None)


def _example(info: FieldInfo | None, marks: tuple[object, ...]) -> str:
    """Return how a value may look, "" where nothing says so."""
    if info is not None and info.examples and not isinstance(info.examples[0], (list, dict)):
        return line_of(info.examples[0])
    schemas = [mark.json_schema for mark in marks if isinstance(mark, WithJsonSchema)]
    examples = schemas[-1].get("examples", [""]) if schemas and schemas[-1] else [""]
    return str(examples[0])


# Edits that belong together.


def _joined(target: Target, shown: Form, edits: list[Edit]) -> list[Edit]:
    """Return edits with those within an entry that is a bare text made one, and tables left empty taken out."""
    bare: dict[KeyPath, dict[str, TomlValue | None]] = {}
    every, kept = {field.key: field for field in shown.every()}, []
    for edit in edits:
        around = edit.key[:-1]
        entries = every.get(around[:-1])
        raw = entries.raw[around[-1]] if entries and entries.kind is Input.TABLES else {}  # type: ignore[index]
        if isinstance(raw, str) and isinstance(edit.action, Put):
            first = entries.entries[int(around[-1])][0] if entries else None
            table = bare.setdefault(around, {str(first.key[-1]): raw} if first else {})
            table[str(edit.key[-1])] = edit.action.value
        else:
            kept.append(edit)
    for key, table in bare.items():
        said = {name: value for name, value in table.items() if value is not None}
        only = next(iter(said.values())) if len(said) == 1 and next(iter(table)) in said else said
        kept.append(Edit(target, Put(key, only)))
    return _without_empty(target, every, kept)


def _without_empty(target: Target, every: Mapping[KeyPath, FormField], edits: list[Edit]) -> list[Edit]:
    values = {edit.key: edit.action.value for edit in edits if isinstance(edit.action, Put)}
    tables = [field for field in every.values() if field.kind is Input.TABLE and field.raw is not None]
    for field in tables:
        inner = [each for each in _every(field.fields) if each.kind is not Input.TABLE]
        emptied = any(each.key in values for each in inner)  # one that says nothing was meant so
        if emptied and all(values.get(each.key, each.raw) is None for each in inner) and not field.required:
            edits = [edit for edit in edits if edit.key[: len(field.key)] != field.key]
            edits.append(Edit(target, Put(field.key, None)))
    return edits


def _every(fields: Sequence[FormField]) -> Iterator[FormField]:
    for field in fields:
        yield field
        yield from _every(field.fields)
        for entry in field.entries:
            yield from _every(entry)


@lru_cache(maxsize=8192)
def name_of(key: KeyPath) -> str:
    """Return what a page calls the field of a key by.

    >>> name_of(("contents", 0, "item")), name_of(("columns", "a/b"))
    ('contents/0/item', 'columns/a~1b')
    """
    return "/".join(str(part).replace("~", "~0").replace("/", "~1") for part in key)
