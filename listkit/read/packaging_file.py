"""Reads packaging.toml, whole or in part: one broken box does not take the others with it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from listkit.model.packaging import Packaging
from listkit.model.shop import NO_PACKAGING
from listkit.problem import Problem
from listkit.read.faults import Fault
from listkit.read.source import TOML_LIMIT, Source, read_source
from listkit.read.toml_file import Document, parse_toml, problem_of, validated, without


@dataclass(frozen=True, slots=True)
class PackagingRead:
    """The packaging, as far as it could be read; `broken` boxes by code, with their first problem.

    `unread` is the problem that hides which boxes there are, None when they are all known.
    """

    source: Source
    packaging: Packaging = NO_PACKAGING
    broken: Mapping[str, Problem] = field(default_factory=dict)
    unread: Problem | None = None


def read_packaging(root: Path, file: str, currency: str) -> tuple[PackagingRead, list[Problem]]:
    """Return the packaging and its problems; none of either when `file` is ""."""
    if not file:
        return PackagingRead(Source(file, "")), []
    source = read_source(root, file, limit=TOML_LIMIT)
    if isinstance(source, Problem):
        return PackagingRead(Source(file, ""), unread=source), [source]
    document, problems = parse_toml(source)
    if document is None:
        return PackagingRead(source, unread=problems[0]), problems
    packaging, faults = validated(document, Packaging, currency=currency)
    if packaging is not None:
        return PackagingRead(source, packaging), []
    told = [problem_of(source, fault) for fault in faults]
    sound, _ = validated(without(document, faults), Packaging, currency=currency)
    broken = _broken(document, faults, told)
    unread = told[0] if sound is None else broken.pop("", None)
    return PackagingRead(source, sound or NO_PACKAGING, broken, unread), told


def _broken(document: Document, faults: list[Fault], told: list[Problem]) -> dict[str, Problem]:
    """Return the first problem of each broken box by its code; "" for one whose code is not known."""
    broken: dict[str, Problem] = {}
    for fault, problem in zip(faults, told, strict=True):
        if fault.loc[:1] == ("box",):
            at = fault.loc[1] if len(fault.loc) > 1 else None
            box = document["box"][at] if isinstance(at, int) else None
            code = box.get("code") if isinstance(box, dict) else None
            broken.setdefault(code if isinstance(code, str) else "", problem)
    return broken
