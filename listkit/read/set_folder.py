"""Reads one set folder: set.toml, stories and photos, each told and kept on its own."""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from listkit.model.gift_set import GiftSet
from listkit.model.shop import Photo, Story
from listkit.problem import Problem
from listkit.read.folder import SetFiles
from listkit.read.markdown_file import read_stories
from listkit.read.photo_memory import PhotoMemory
from listkit.read.photos import read_photos
from listkit.read.source import TOML_LIMIT, Source, read_source
from listkit.read.toml_file import problem_of, read_toml

_CODE: Final = re.compile(r"^\s*code\s*=\s*[\"']([^\"'\n]+)[\"']", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class SetRead:
    """What a set folder says; `gift_set` is None when set.toml cannot be read, and `code` what it probably is."""

    folder: str
    source: Source
    code: str
    gift_set: GiftSet | None
    stories: tuple[Story, ...]
    photos: tuple[Photo, ...]


def read_set(root: Path, files: SetFiles, memory: PhotoMemory, currency: str) -> tuple[SetRead, list[Problem]]:
    """Return the set in one folder and all its problems."""
    source, gift_set, problems = _set_toml(root, files.file, currency)
    stories, told = read_stories(root, files)
    problems += told
    photos, told, faults = read_photos(root, files, gift_set.photos if gift_set else (), memory)
    problems += told + [problem_of(source, fault) for fault in faults]
    match = _CODE.search(source.text)
    code = gift_set.code if gift_set else match[1] if match else ""
    return SetRead(files.folder, source, code, gift_set, stories, photos), problems


def _set_toml(root: Path, file: str, currency: str) -> tuple[Source, GiftSet | None, list[Problem]]:
    if not file:
        return Source(file, ""), None, []
    source = read_source(root, file, limit=TOML_LIMIT)
    if isinstance(source, Problem):
        return Source(file, ""), None, [source]
    gift_set, problems = read_toml(source, GiftSet, currency=currency)
    return source, gift_set, problems
