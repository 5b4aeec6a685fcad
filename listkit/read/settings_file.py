"""Reads shop.toml, whole or in part: the other files need its currency and seasons, whatever is wrong in it."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from listkit.model.fields import NO_CURRENCY
from listkit.model.item import Item
from listkit.model.settings import Settings
from listkit.problem import Problem
from listkit.read.faults import Fault
from listkit.read.folder import named_file
from listkit.read.headings import fold, our_field, without_unit
from listkit.read.photos import OTHER, SHOTS, unknown_shot
from listkit.read.source import TOML_LIMIT, Source, read_source
from listkit.read.table_file import Table
from listkit.read.toml_file import Document, parse_toml, problem_of, validated, without
from listkit.read.wording import listed, one_line, quoted, write_instead
from listkit.units.money import MINOR_DIGITS

_CURRENCY: Final = re.compile(r"^\s*currency\s*=\s*[\"']?([A-Z]{3})\b", re.MULTILINE)
_UNKNOWN_COUNTRY: Final = "ZZ"  # the country that is none in CLDR
_ALL: Final = frozenset({"items", "season"})


@dataclass(frozen=True, slots=True)
class SettingsRead:
    """The settings, as far as they could be read.

    `lost` names the parts of which nothing is known: "items" (where the table is), "season".
    """

    source: Source
    settings: Settings
    lost: frozenset[str] = frozenset()


def read_settings(root: Path, file: str) -> tuple[SettingsRead, list[Problem]]:
    """Return the settings with stand-ins for what cannot be read; `file` is "" when there is none (told elsewhere)."""
    source = read_source(root, file, limit=TOML_LIMIT) if file else Source(file, "")
    if isinstance(source, Problem):
        return SettingsRead(Source(file, ""), _in_part({}, ""), _ALL), [source]
    document, problems = parse_toml(source) if file else (None, [])
    if document is None:
        return SettingsRead(source, _in_part({}, source.text), _ALL), problems
    settings, faults = validated(document, Settings, currency=_currency(document, ""))
    lost = frozenset(str(fault.loc[0]) for fault in faults if fault.loc) & _ALL
    told = [problem_of(source, fault) for fault in faults]
    return SettingsRead(source, settings or _in_part(without(document, faults), source.text), lost), told


def settle_settings(root: Path, read: SettingsRead) -> tuple[Settings, list[Problem]]:
    """Return the settings without names that stand for nothing: unknown shots and headings, a lost logo."""
    settings = read.settings
    faults = [*_seasons(settings), *_headings(settings)]
    for at, shot in enumerate(settings.shots.required):
        if shot not in (*SHOTS, OTHER):
            faults.append(unknown_shot(("shots", "required", at), shot))
    if settings.logo:
        logo = named_file(root, settings.logo)
        if isinstance(logo, Fault):
            faults.append(replace(logo, loc=("logo",)))
        settings = settings.model_copy(update={"logo": logo if isinstance(logo, str) else ""})
    return settings, [problem_of(read.source, fault) for fault in faults]


def _seasons(settings: Settings) -> Iterator[Fault]:
    names: set[str] = set()
    for at, season in enumerate(settings.seasons):
        if season.name in names:
            message = f"two seasons are called {quoted(season.name)}."
            yield Fault(("season", at, "name"), "code-twice", message, "Give each its own name.")
        names.add(season.name)


def _headings(settings: Settings) -> Iterator[Fault]:
    """The owner's headings must stand for fields of ours, or for nothing: "" leaves a column alone."""
    for heading, name in settings.items.columns.items():
        if name and not our_field(name, tuple(Item.model_fields)):
            hint = write_instead(name, Item.model_fields) or f"Columns are {listed(Item.model_fields, 'and')}."
            loc = ("items", "columns", heading)
            yield Fault(loc, "bad-value", f"we have no column {quoted(name)}.", hint, heading)


def lost_headings(read: SettingsRead, table: Table[Item]) -> list[Problem]:
    """Return the problems of headings that shop.toml translates and the items table has not."""
    if table.headings is None:
        return []
    headings = [" ".join(cell.text.split()) for cell in table.headings.row.cells if cell.text]
    there = {fold(name) for heading in headings for name in (heading, without_unit(heading))}
    faults: list[Fault] = []
    for heading in read.settings.items.columns:
        if fold(heading) not in there:
            hint = write_instead(heading, headings) or f"Its headings are {listed(headings, 'and')}."
            message = f"{table.file} has no heading {quoted(heading)}."
            faults.append(Fault(("items", "columns", heading), "bad-value", message, one_line(hint)))
    return [problem_of(read.source, fault) for fault in faults]


def _currency(document: Document, text: str) -> str:
    stated = document.get("currency")
    if stated is None and (match := _CURRENCY.search(text)):
        stated = match[1]
    return stated if isinstance(stated, str) and stated in MINOR_DIGITS else NO_CURRENCY


def _in_part(document: Document, text: str) -> Settings:
    """Return settings from what is sound, with stand-ins for the keys that no shop can be without."""
    currency = _currency(document, text)
    needed: Document = {"name": "-", "country": _UNKNOWN_COUNTRY}
    settings, _ = validated({**needed, **document, "currency": currency}, Settings, currency=currency)
    return settings or Settings.model_validate({**needed, "currency": currency}, context={"currency": currency})
