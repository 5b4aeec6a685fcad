"""Finds the lines of problems that name only a file and a key, so that models carry no line numbers."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

from listkit.problem import Problem
from listkit.read.position import locate
from listkit.read.source import Source, read_source


def with_lines(root: Path, problems: Iterable[Problem]) -> Iterator[Problem]:
    """Yield the problems, each with the line of its key where its file has one; every file is opened once."""

    @cache
    def text_of(file: str) -> str:
        source = read_source(root, file)
        return source.text if isinstance(source, Source) else ""

    for problem in problems:
        place = problem.place
        if place.line or not place.key or not place.file.endswith(".toml"):
            yield problem
            continue
        line, _ = locate(text_of(place.file), place.key)
        yield replace(problem, place=replace(place, line=line))
