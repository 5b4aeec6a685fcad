"""Sections of sentences by language, from a folder of templates: frozen dataclasses of texts with places in braces.

A language of one country is read over its base; there is no other fallback. What is wrong is told as problems, and
then there are no words at all.
"""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import field, fields
from functools import lru_cache
from typing import Any, Final

from listkit.bounded_toml import parse_bounded
from listkit.listing.words import missing, not_toml, paths_of
from listkit.model.shop import Templates
from listkit.problem import Place, Problem

Kinds = tuple[tuple[str, type[Any]], ...]
"""The name of each section, and the dataclass that it fills."""
Sections = Mapping[str, Any]
_PLACE: Final = re.compile(r"\{(\w+)\}")


def takes(*places: str) -> Any:  # noqa: ANN401 (as dataclasses.field itself)
    """Return the field of a sentence with these places."""
    return field(metadata={"takes": places})


def read_sections(
    templates: Templates, folder: str, language: str, kinds: Kinds
) -> tuple[Sections | None, tuple[Problem, ...]]:
    """Return the sections of a language (BCP 47) by name, or None and what is wrong with them."""
    known = dict(templates.texts)
    texts = tuple((path, known[path]) for path in paths_of(folder, language) if path in known)
    return _parse(texts, kinds) if texts else (None, (missing(folder, language),))


@lru_cache(maxsize=32)
def _parse(texts: tuple[tuple[str, str], ...], kinds: Kinds) -> tuple[Sections | None, tuple[Problem, ...]]:
    raw: dict[str, dict[str, object]] = {name: {} for name, _ in kinds}
    for path, text in texts:
        try:
            found = parse_bounded(text)
        except tomllib.TOMLDecodeError as fault:
            return None, (not_toml(path, fault),)
        for name, table in found.items():
            if name in raw and isinstance(table, dict):
                raw[name] |= table
    place = Place(f"templates/{texts[-1][0]}")
    problems = tuple(
        Problem(place, code, message, hint)
        for name, kind in kinds
        for one in fields(kind)
        for code, message, hint in _faults(f"{name}.{one.name}", raw[name].get(one.name), one.metadata.get("takes", ()))
    )
    if problems:
        return None, problems
    return {name: kind(**{one.name: raw[name][one.name] for one in fields(kind)}) for name, kind in kinds}, ()


def _faults(key: str, value: object, places: tuple[str, ...]) -> tuple[tuple[str, str, str], ...]:
    """Return code, message and hint of what is wrong with one sentence."""
    if value is None:
        return (("language-missing", f'there is no "{key}".', f'Write {key.rpartition(".")[2]} = "...".'),)
    if not isinstance(value, str):
        return (("template-fault", f'"{key}" is not a text.', "Write it in quotes."),)
    if strange := sorted(set(_PLACE.findall(value)) - set(places)):
        known = ", ".join(f"{{{name}}}" for name in places) or "none"
        return (("template-fault", f'"{key}" has a place {{{strange[0]}}}.', f"Known here: {known}."),)
    return ()
