"""Templates: wording and layouts by path, the owner's where she has one, else ours; and what is read of them early."""

import tomllib
from collections.abc import Iterable
from functools import cache, lru_cache
from pathlib import Path
from typing import Final

from listkit import bounds
from listkit.bounded_toml import parse_bounded
from listkit.model.naming import NAME_FIRST, Naming
from listkit.model.shop import Templates
from listkit.problem import Place, Problem
from listkit.read.folder import TEMPLATES
from listkit.read.source import Source, read_source, turned_problem
from listkit.shipped import shipped_templates

_BYTES: Final = (".ttf", ".otf", ".woff2", ".png", ".jpg", ".jpeg", ".svgz", ".pyc")
_OF_THE_LEARNER: Final = "headings"  # words of what is read, and of nothing that is written


def read_templates(root: Path, files: Iterable[str]) -> tuple[Templates, list[Problem]]:
    """Return all templates by path, sorted, and the problems of the owner's; `files` are hers, under templates/.

    Hers beat ours of the same path. Only texts are read: pictures and fonts are for those who copy or embed them.
    """
    texts, owners, replaced = dict(own_templates()), set[str](), dict[str, str]()
    problems: list[Problem] = []
    left = bounds.TEMPLATES_TOGETHER
    for file in files:
        if file.lower().endswith(_BYTES):
            continue
        if left < 0:
            message = (
                "the templates before it are larger together than any shop's; it and those behind it are left out."
            )
            problems.append(Problem(Place(file), "syntax", message, "Take out what is no template."))
            break
        source = read_source(root, file, limit=bounds.TEMPLATE_FILE)
        if isinstance(source, Source) and (turned := turned_problem(source)):
            problems.append(turned)
        elif isinstance(source, Source):
            path = file.removeprefix(f"{TEMPLATES}/")
            replaced |= {path: texts[path]} if path in texts else {}
            texts[path] = source.text
            owners.add(path)
            left -= len(source.text)
        else:
            problems.append(source)
    return Templates(tuple(sorted(texts.items())), frozenset(owners), tuple(replaced.items())), problems


@cache
def own_templates() -> tuple[tuple[str, str], ...]:
    """Return our templates as path and text."""
    folder = shipped_templates()
    return tuple(
        (path.relative_to(folder).as_posix(), path.read_text(encoding="utf-8"))
        for path in sorted(folder.rglob("*"))
        if path.is_file()
        and path.suffix not in _BYTES
        and not path.name.startswith(".")
        and path.parent.name != _OF_THE_LEARNER
    )


def naming_in(templates: Templates, language: str) -> Naming:
    """Return how a language calls a piece, as its words have it; what is wrong with these is told where texts are made.

    A file of one country stands over that of its language.
    """
    there = dict(templates.texts)
    paths = dict.fromkeys(f"words/{tag}.toml" for tag in (language.partition("-")[0], language))
    return _naming(tuple(there[path] for path in paths if path in there))


@lru_cache(maxsize=64)
def _naming(texts: tuple[str, ...]) -> Naming:
    stated: dict[str, str] = {}
    for text in texts:
        try:
            titles = parse_bounded(text).get("titles")
        except tomllib.TOMLDecodeError:
            continue
        if isinstance(titles, dict):
            stated |= {key: value for key, value in titles.items() if isinstance(value, str)}
    return Naming(stated.get("alone", NAME_FIRST.pattern), stated.get("shared", NAME_FIRST.shared))
