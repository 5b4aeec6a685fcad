"""Codes and their old names: where a file may name a code, and which code an old one stands for now.

A code that was given another name goes on being understood wherever it is still written: in the shop's own files, in
forms that shops filled in, in what places give out, in the ledger.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import product
from math import prod
from typing import Any, Final, TypeVar, get_args

from pydantic.fields import FieldInfo

from listkit import bounds
from listkit.model.fields import CODE, ShopModel
from listkit.model.gift_set import GiftSet, Option, VariantNote, variant_code
from listkit.problem import KeyPath
from listkit.units.identifiers import with_other_codes

M = TypeVar("M", bound=ShopModel)
OLD_VARIANTS: Final = bounds.OLD_VARIANTS


@dataclass(frozen=True, slots=True)
class OldCodes:
    """The code that each old one stands for now. An old code is never the code of anything else."""

    now: Mapping[str, str]

    def __call__(self, code: str) -> str:
        """Return the code that `code` stands for: another where it is an old one.

        >>> OldCodes({"TT-L01": "TT-LB1"})("TT-L01")
        'TT-LB1'
        """
        return self.now.get(code, code)

    def __bool__(self) -> bool:
        return bool(self.now)

    def within(self, text: str) -> str:
        """Return a text with every old code in it, as a word of its own, replaced.

        >>> OldCodes({"TT-L01": "TT-LB1"}).within("Balm: TT-L01, not TT-L011")
        'Balm: TT-LB1, not TT-L011'
        """
        return with_other_codes(text, self.now)

    def of(self, code: str) -> tuple[str, ...]:
        """Return the old names of a code."""
        return tuple(old for old, new in self.now.items() if new == code)


NO_OLD_CODES = OldCodes({})


def code_places(model: ShopModel) -> Iterator[tuple[KeyPath, str]]:
    """Yield where a file names a code, and the code: ("contents", 0, "item"), "OH-B01".

    A key that is a code has the path of its value. `old_codes` are no such places.
    """
    for name, about in type(model).model_fields.items():
        yield from _places((about.alias or name,), _annotations(about), getattr(model, name))


def with_codes(model: M, now: Callable[[str], str]) -> M:
    """Return the model with every code in it replaced by `now(code)`; the same one where none is another."""
    changed = {}
    for name, about in type(model).model_fields.items():
        value = getattr(model, name)
        if (new := _replaced(_annotations(about), value, now)) is not value:
            changed[name] = new
    return model.model_copy(update=changed) if changed else model


def _annotations(about: FieldInfo) -> tuple[Any, ...]:
    return (about.annotation, *about.metadata)


def _named(annotations: Iterable[Any]) -> bool:
    """Whether a value of this type is a code, or holds some."""
    return any(each is CODE or _named(get_args(each)) for each in annotations)


def _places(path: KeyPath, annotations: tuple[Any, ...], value: object) -> Iterator[tuple[KeyPath, str]]:
    if isinstance(value, ShopModel):
        for inner, code in code_places(value):
            yield (*path, *inner), code
    elif isinstance(value, str):
        if value and _named(annotations):
            yield path, value
    elif isinstance(value, tuple):
        for at, part in enumerate(value):
            yield from _places((*path, at), annotations, part)
    elif isinstance(value, dict) and len(types := _key_and_value(annotations)) == 2:
        for key, part in value.items():
            if _named(types[:1]):
                yield (*path, key), key
            yield from _places((*path, key), types[1:], part)


def _replaced(annotations: tuple[Any, ...], value: Any, now: Callable[[str], str]) -> Any:  # noqa: ANN401 - any field
    if isinstance(value, ShopModel):
        return with_codes(value, now)
    if isinstance(value, str):
        return now(value) if value and _named(annotations) else value
    if isinstance(value, tuple):
        parts = tuple([_replaced(annotations, part, now) for part in value])
        return parts if any(new is not old for new, old in zip(parts, value, strict=True)) else value
    if isinstance(value, dict) and len(types := _key_and_value(annotations)) == 2:
        keys = {key: now(key) if _named(types[:1]) else key for key in value}
        table = {keys[key]: _replaced(types[1:], part, now) for key, part in value.items()}
        same = all(keys[key] is key and table[key] is part for key, part in value.items())
        return value if same else table
    return value


def _key_and_value(annotations: Iterable[Any]) -> tuple[Any, ...]:
    """Return the types of a dict's keys and values; () where the annotation has none."""
    return next((get_args(each) for each in annotations if getattr(each, "__origin__", None) is dict), ())


def variant_codes(gift_set: GiftSet) -> Iterator[str]:
    """Yield the code of every combination of options, those that are never sold together included."""
    for options, note in _combinations(gift_set):
        yield _code_of(gift_set, options, note)


def old_variant_count(gift_set: GiftSet, olds: Mapping[str, tuple[str, ...]]) -> int:
    """Return how many codes the variants have had, today's among them: each old part with every other."""
    parts = ((option.code_parts(olds.get(option.item, ())) for option in slot.choose) for slot in gift_set.slots)
    return (1 + len(gift_set.old_codes)) * prod(sum(map(len, slot)) for slot in parts)


def old_variant_codes(gift_set: GiftSet, olds: Mapping[str, tuple[str, ...]]) -> dict[str, str]:
    """Return the codes that variants had under old codes of their set and of what may be chosen, with today's.

    There are none where they would be more than variants may be, which is told.

    Args:
        gift_set: every item in it by today's code.
        olds: the old codes of items, by today's.

    >>> jar = {"slot": "Jar", "choose": ["OH-U01"]}
    >>> spring = {"code": "OHS-01", "old_codes": ["OHS-1"], "name": "Spring", "box": "S", "contents": [jar]}
    >>> old_variant_codes(GiftSet.model_validate(spring), {"OH-U01": ("OH-J01",)})
    {'OHS-01-J01': 'OHS-01-U01', 'OHS-1-U01': 'OHS-01-U01', 'OHS-1-J01': 'OHS-01-U01'}
    """
    known: dict[str, str] = {}
    if old_variant_count(gift_set, olds) > OLD_VARIANTS:
        return known
    stems = (gift_set.code, *gift_set.old_codes)
    for options, note in _combinations(gift_set):
        parts = [option.code_parts(olds.get(option.item, ())) for option in options]
        made = [variant_code(stem, chosen) for stem in stems for chosen in product(*parts)]
        new = _code_of(gift_set, options, note)
        known |= {old: new for old in (*made[1:], *(note.old_codes if note else ())) if old != new}
    return known


def _combinations(gift_set: GiftSet) -> Iterator[tuple[tuple[Option, ...], VariantNote | None]]:
    notes = {frozenset(note.options.items()): note for note in gift_set.variants}
    slots = [slot.slot for slot in gift_set.slots]
    for options in product(*(slot.choose for slot in gift_set.slots)):
        choice = zip(slots, (option.item for option in options), strict=True)
        yield options, notes.get(frozenset(choice))


def _code_of(gift_set: GiftSet, options: tuple[Option, ...], note: VariantNote | None) -> str:
    parts = tuple(option.code_part for option in options)
    return (note.code if note else None) or variant_code(gift_set.code, parts)
