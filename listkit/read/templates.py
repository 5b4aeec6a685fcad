"""Loads wording and layouts: ours, and the owner's, whose files beat ours of the same path.

Texts only: pictures and fonts among them are for those who copy or embed them.
"""

from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Final

from listkit.model.shop import Templates
from listkit.problem import Problem
from listkit.read.folder import TEMPLATES
from listkit.read.source import Source, read_source
from listkit.shipped import shipped_templates

_BYTES: Final = (".ttf", ".otf", ".woff2", ".png", ".jpg", ".jpeg", ".svgz", ".pyc")
_LIMIT: Final = 1_000_000


def read_templates(root: Path, files: Iterable[str]) -> tuple[Templates, list[Problem]]:
    """Return all templates by path, sorted, and the problems of the owner's; `files` are hers, under templates/."""
    texts = dict(own_templates())
    problems: list[Problem] = []
    for file in files:
        if file.lower().endswith(_BYTES):
            continue
        source = read_source(root, file, limit=_LIMIT)
        if isinstance(source, Source):
            texts[file.removeprefix(f"{TEMPLATES}/")] = source.text
        else:
            problems.append(source)
    return Templates(tuple(sorted(texts.items()))), problems


@cache
def own_templates() -> tuple[tuple[str, str], ...]:
    """Return our templates as path and text."""
    folder = shipped_templates()
    return tuple(
        (path.relative_to(folder).as_posix(), path.read_text(encoding="utf-8"))
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.suffix not in _BYTES and not path.name.startswith(".")
    )
