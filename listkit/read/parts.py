"""Reads one set folder: set.toml, stories and photos, each told and kept on its own."""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from itertools import pairwise
from pathlib import Path, PurePosixPath
from typing import Final

from pydantic import TypeAdapter, ValidationError

from listkit.model.channel import Channel
from listkit.model.fields import NO_CURRENCY, Language
from listkit.model.gift_set import GiftSet
from listkit.model.item import IngredientRow, Item
from listkit.model.packaging import Packaging, Rate
from listkit.model.settings import Settings
from listkit.model.shop import NO_PACKAGING, Photo, Story
from listkit.model.translation import Translation
from listkit.problem import Place, Problem, must_fix
from listkit.read.folder import SetFiles, named_file
from listkit.read.photos import OTHER, SHOTS, PhotoMemory, read_photos, unknown_shot
from listkit.read.source import TEXT_LIMIT, TOML_LIMIT, Fault, Source, read_bytes, read_source
from listkit.read.table_file import Form, Table, fold, our_field, read_table, without_unit
from listkit.read.toml_file import Document, parse_toml, problem_of, read_toml, validated, without
from listkit.read.wording import listed, nearest, one_line, quoted, write_instead
from listkit.units.money import MINOR_DIGITS

# Reads the channel files: one a channel, its key the file's stem, which also names its folder of output.

_KEY: Final = re.compile(r"[a-z0-9]+(?:[_-][a-z0-9]+)*")
_TAKEN: Final = ("wholesale", "print")  # folders of output that belong to no channel


def read_channels(root: Path, files: Iterable[str], currency: str) -> tuple[tuple[Channel, ...], list[Problem]]:
    """Return the channels in the order of their files."""
    channels: list[Channel] = []
    problems: list[Problem] = []
    for file in files:
        source = read_source(root, file, limit=TOML_LIMIT)
        if isinstance(source, Problem):
            problems.append(source)
            continue
        key = PurePosixPath(file).stem
        channel, told = read_toml(source, Channel, given={"key": key}, currency=currency)
        if not _KEY.fullmatch(key) or key in _TAKEN:
            hint = 'Name the file with small letters, digits and _, as in "web_shop.toml".'
            told.append(Problem(Place(file), "bad-value", f"{quoted(key)} cannot be a channel's key.", hint))
        elif channel:
            channels.append(channel)
        problems += told
    return tuple(channels), problems


# Reads a set's stories: Markdown in UTF-8, one file a language; placeholders stay as they stand.

_LANGUAGE: TypeAdapter[str] = TypeAdapter(Language)
_LIMIT = 1_000_000


def read_stories(root: Path, files: SetFiles) -> tuple[tuple[Story, ...], list[Problem]]:
    """Return the stories, the shop's own language first; language "" is the shop's own."""
    stories: list[Story] = []
    problems: list[Problem] = []
    for file, language in files.stories:
        source = read_source(root, file, limit=_LIMIT)
        if isinstance(source, Problem):
            problems.append(source)
        elif language and not is_language(language):
            hint = 'Name it as in "story.fr.md" or "story.en-GB.md".'
            problems.append(Problem(Place(file), "bad-value", f"{quoted(language)} is not a language.", hint))
        else:
            stories.append(Story(file, language, source.text))
    return tuple(sorted(stories, key=lambda story: story.language)), problems


def is_language(text: str) -> bool:
    """Whether `text` names a language as our files do: "fr", "fr-CA"."""
    try:
        _LANGUAGE.validate_python(text)
    except ValidationError:
        return False
    return True


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


# Reads languages/*.toml: what the shop calls its goods in other languages; the file's stem names the language.

Translations = tuple[tuple[str, Translation], ...]


def read_translations(root: Path, files: Iterable[str], currency: str) -> tuple[Translations, list[Problem]]:
    """Return language and translation of each file, in the order of the files."""
    found: list[tuple[str, Translation]] = []
    problems: list[Problem] = []
    for file in files:
        language = PurePosixPath(file).stem
        source = read_source(root, file, limit=TOML_LIMIT)
        if isinstance(source, Problem):
            problems.append(source)
        elif not is_language(language):
            hint = 'Name the file as in "fr.toml" or "fr-CA.toml".'
            problems.append(Problem(Place(file), "bad-value", f"{quoted(language)} is not a language.", hint))
        else:
            translation, told = read_toml(source, Translation, currency=currency)
            problems += told
            if translation:
                found.append((language, translation))
    return tuple(found), problems


# Reads packaging.toml, whole or in part: one broken box does not take the others with it.


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


# Reads shop.toml, whole or in part: the other files need its currency and seasons, whatever is wrong in it.

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


# Reads rates.csv and holds the steps of each service against each other: no gap, no overlap, none twice.
#
# A service whose steps do not follow each other is left out, since nobody can say what it charges.

_A_GRAM: Final = Decimal(1)  # cards that write "251 g" for "over 250 g" mean the same
Step = tuple[int, Rate]
Services = dict[tuple[str, str], list[Step]]
"""The steps of each service and zone."""


def read_rates(root: Path, file: str, currency: str) -> tuple[tuple[Rate, ...], list[Problem]]:
    """Return the rates that can be gone by, and what is wrong with any; none of either when `file` is ""."""
    if not file:
        return (), []
    content = read_bytes(root, file, limit=TEXT_LIMIT)
    if isinstance(content, Problem):
        return (), [content]
    table, problems = read_table(file, content, Form(Rate, {}, currency))
    steps_of: Services = {}
    for line, rate in zip(table.row_lines, table.rows, strict=True):
        steps_of.setdefault((rate.service, rate.zone), []).append((line, rate))
    whole = not must_fix(problems)  # a step that could not be read leaves a gap that is none
    sound: list[Rate] = []
    for steps in steps_of.values():
        steps.sort(key=lambda step: (step[1].up_to, step[0]))
        faults, gaps = list(_faults(table, steps)), list(_gaps(table, steps, steps_of))
        problems += [*faults, *(gaps if whole else ()), *_cheaper(table, steps)]
        sound += [] if faults or gaps else [rate for _, rate in steps]
    return tuple(sound), problems


def _faults(table: Table[Rate], steps: list[Step]) -> Iterator[Problem]:
    for line, rate in steps:
        if rate.over is not None and rate.over >= rate.up_to:
            message = f"{_named(rate)}: over {rate.over.text} is not below up to {rate.up_to.text}."
            yield Problem(_place(table, line, "over"), "rate-steps", message, "Write the smaller weight under over.")
    for (before, lower), (line, rate) in pairwise(steps):
        if lower.up_to == rate.up_to:
            message = f"{_named(rate)}: up to {rate.up_to.text} stands in line {before} and again in line {line}."
            yield Problem(_place(table, line, "up_to"), "rate-steps", message, "Take one of the two out.")
        elif rate.over is not None and rate.over < lower.up_to:
            message = f"{_named(rate)}: over {rate.over.text} overlaps with up to {lower.up_to.text}."
            yield Problem(_place(table, line, "over"), "rate-steps", message, _begin(lower))


def _gaps(table: Table[Rate], steps: list[Step], all_steps: Services) -> Iterator[Problem]:
    for (_, lower), (line, rate) in pairwise(steps):
        if rate.over is not None and rate.over.grams > lower.up_to.grams + _A_GRAM:
            message = f"{_named(rate)}: nothing is said of {lower.up_to.text} to {rate.over.text}."
            hint = _filled_by(lower, rate, all_steps) or f"{_begin(lower)[:-1]}, or add a step."
            yield Problem(_place(table, line, "over"), "rate-steps", message, hint)


def _filled_by(lower: Rate, rate: Rate, all_steps: Services) -> str:
    """Return the hint that a service of nearly the same name has the missing step, "" where none has."""
    others = [service for service, zone in all_steps if zone == rate.zone and service != rate.service]
    near = nearest(rate.service, others)
    lines = [line for line, one in all_steps.get((near, rate.zone), ()) if lower.up_to < one.up_to <= rate.up_to]
    return f"Is {quoted(near)} in line {lines[0]} the same service? Write its name the same." if lines else ""


def _cheaper(table: Table[Rate], steps: list[Step]) -> Iterator[Problem]:
    for (_, lower), (line, rate) in pairwise(steps):
        if rate.price < lower.price:
            message = (
                f"{_named(rate)}: up to {rate.up_to.text} costs {rate.price}, "
                f"less than {lower.price} up to {lower.up_to.text}."
            )
            yield Problem(_place(table, line, "price"), "rate-cheaper", message, "Compare it with the rate card.")


def _begin(lower: Rate) -> str:
    return f"Write {lower.up_to.text}, where the step below ends."


def _place(table: Table[Rate], line: int, name: str) -> Place:
    columns = table.headings.columns if table.headings else ()
    heading = next((column.heading for column in columns if column.field == name), "")
    return Place(table.file, line, column=heading, key=(name,))


def _named(rate: Rate) -> str:
    return quoted(f"{rate.service}, {rate.zone}" if rate.zone else rate.service)


# Reads ingredients.csv: the percentages of items and raw materials, and what they come to.
#
# A row whose item is neither an item nor a raw material that another row names is left out and told, and so is
# more than 100 % of anything.

Rows = tuple[IngredientRow, ...]


def read_ingredients(root: Path, file: str, codes: frozenset[str] | None) -> tuple[Rows, list[Problem]]:
    """Return the rows that can be gone by, and what is wrong with any; none of either when `file` is "".

    Args:
        root: the shop folder.
        file: the file's name in it.
        codes: every item's, None where the items could not be read to their end and nothing is unknown.
    """
    if not file:
        return (), []
    content = read_bytes(root, file, limit=TEXT_LIMIT)
    if isinstance(content, Problem):
        return (), [content]
    table, problems = read_table(file, content, Form(IngredientRow, {}))
    named = {_folded(row.ingredient) for row in table.rows}
    sound, told = [], set()
    for line, row in zip(table.row_lines, table.rows, strict=True):
        if codes is None or row.item in codes or _folded(row.item) in named:
            sound.append(row)
        elif row.item not in told:
            told.add(row.item)
            problems.append(_unknown(table, line, row.item, codes))
    return tuple(sound), [*problems, *_too_much(table)]


def _unknown(table: Table[IngredientRow], line: int, name: str, codes: frozenset[str]) -> Problem:
    hint = write_instead(name, codes) or "Write an item's code, or the raw material as its ingredient is written."
    message = f"{quoted(name)} is neither an item nor an ingredient of one."
    return Problem(_row_place(table, line, "item"), "unknown-code", message, hint)


def _too_much(table: Table[IngredientRow]) -> Iterator[Problem]:
    """Tell of each item and raw material once, at the row that makes it more than the whole."""
    sums: dict[str, Decimal] = {}
    over: dict[str, int] = {}
    for line, row in zip(table.row_lines, table.rows, strict=True):
        key = _folded(row.item)
        sums[key] = sums.get(key, Decimal(0)) + row.percent
        if sums[key] > 1:
            over.setdefault(key, line)
    names = {_folded(row.item): row.item for row in reversed(table.rows)}
    for key, line in over.items():
        message = f"all that is in {quoted(names[key])} comes to {(sums[key] * 100).normalize():f} %."
        yield Problem(
            _row_place(table, line, "percent"), "percent-over", message, "Mend the percentages: 100 % is all."
        )


def _row_place(table: Table[IngredientRow], line: int, name: str) -> Place:
    columns = table.headings.columns if table.headings else ()
    heading = next((column.heading for column in columns if column.field == name), "")
    return Place(table.file, line, column=heading, key=(name,))


def _folded(text: str) -> str:
    return " ".join(text.casefold().split())
