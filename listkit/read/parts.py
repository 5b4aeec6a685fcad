"""Reads the files of a shop that are its own parts: settings, packaging, channels, languages, and folders of sets.

A folder whose files in TOML hold more together than any shop's is not read at all (`unread_folder`).

shop.toml and packaging.toml are read whole or in part: other files need the shop's currency and seasons whatever is
wrong beside them, and one broken box does not take the others with it.
"""

import os
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import takewhile
from math import prod
from pathlib import Path, PurePosixPath
from typing import Final

from pydantic import TypeAdapter, ValidationError

from listkit import bounds
from listkit.bounded_toml import values_in
from listkit.model.channel import Channel
from listkit.model.fields import Language, SetStatus
from listkit.model.gift_set import GiftSet
from listkit.model.item import Item
from listkit.model.packaging import Packaging
from listkit.model.settings import Settings
from listkit.model.shop import NO_PACKAGING, FolderRead, Guess, Photo, SetFolder, Story
from listkit.model.translation import Translation
from listkit.paths import is_device
from listkit.problem import Place, Problem, quoted
from listkit.read.folder import CHANNELS, SETS, SetFiles, ShopFiles, find_files, named_file, single_files
from listkit.read.headings import our_field
from listkit.read.photos import OTHER, SHOTS, PhotoMemory, read_photos, unknown_shot
from listkit.read.position import locate
from listkit.read.source import TOML_LIMIT, Fault, Source, read_bytes, read_source, turned_problem
from listkit.read.toml_file import Document, parse_toml, problem_of, read_toml, validated, without
from listkit.read.wording import listed, write_instead
from listkit.units.money import MINOR_DIGITS, NO_CURRENCY

_CURRENCY: Final = re.compile(r"^[ \t]*currency[ \t]*=[ \t]*[\"']?([A-Z]{3})\b", re.MULTILINE)
_QUESTION: Final = re.compile(r"\s*#\s*\?")  # what listkit learn writes above a column that it does not know
_MOST_SHOWN: Final = 6
_UNKNOWN_COUNTRY: Final = "ZZ"  # the country that is none in CLDR
_ALL: Final = frozenset({"items", "season", "making"})
_EACH_LISTING: Final = 20  # variants, which cost as much to list as the texts of one listing
_KEY: Final = re.compile(r"[a-z0-9]+(?:[_-][a-z0-9]+)*")
_AFTER: Final = "What rests on it is checked after that."
_TAKEN: Final = ("wholesale", "print")  # folders of output that belong to no channel
_LANGUAGE: TypeAdapter[str] = TypeAdapter(Language)
STORY_BYTES: Final = bounds.STORY
_CODE: Final = re.compile(r"^[ \t]*code[ \t]*=[ \t]*[\"']([^\"'\n]+)[\"']", re.MULTILINE)
Translations = tuple[tuple[str, Translation], ...]


def unread_folder(root: Path, files: ShopFiles | None = None) -> Problem | None:
    """Return why nothing of a shop folder is read: it is none, or holds too much; None where it is.

    `files` are what was found in it, where that was looked for before.
    """
    if os.path.isdir(root):  # which Path asks in a way that ends the program where a name is too long
        return _too_much_text(root, files or find_files(root)[0])
    message = f"{quoted(str(root))} {'is no folder' if os.path.exists(root) else 'is not there'}."
    return Problem(Place("the shop folder"), "file-missing", message, "Name it with --shop DIR.")


def _too_much_text(root: Path, files: ShopFiles) -> Problem | None:
    """Return the problem of files in TOML, or stories, that hold more together than any shop's; None where they do not.

    Each is bounded alone, and there may be hundreds. What is too large to be read counts for nothing.
    """
    sizes = _sizes(root, files.toml, TOML_LIMIT)
    if (whole := sum(sizes.values())) > bounds.TOML_WHOLE:
        return _too_large("files in TOML", sizes, bounds.TOML_WHOLE)
    stories = _sizes(
        root, (*(file for each in files.sets for file, _ in each.stories), *single_files(root)[0]), STORY_BYTES
    )
    if sum(stories.values()) > bounds.STORIES_WHOLE:
        return _too_large("stories", stories, bounds.STORIES_WHOLE)
    if whole <= bounds.TOML_TOGETHER:  # no value is shorter than its sign
        return None
    contents = {file: read_bytes(root, file, limit=TOML_LIMIT) for file in sizes}
    counts = {file: values_in(content) for file, content in contents.items() if isinstance(content, bytes)}
    if (found := sum(counts.values())) <= bounds.TOML_TOGETHER:
        return None
    message = f"its files in TOML hold {found:,} values together, and at most {bounds.TOML_TOGETHER:,} are read."
    return _too_much(message, counts, "of them")


def _sizes(root: Path, files: Iterable[str], most: int) -> dict[str, int]:
    """Return the bytes of each file that is no larger than what is read."""
    return {file: size for file in files if (size := _size(root / file)) <= most}


def _too_large(what: str, sizes: Mapping[str, int], most: int) -> Problem:
    held = f"{sum(sizes.values()) / 10**6:.1f} MB together, and at most {most / 10**6:.0f} MB are read."
    return _too_much(f"its {what} are {held}", sizes, "bytes")


def _too_much(message: str, held: Mapping[str, int], what: str) -> Problem:
    most = max(held, key=lambda file: held[file])
    hint = f"{held[most]:,} {what} stand in {most}: is it the right file?"
    return Problem(Place("the shop folder"), "syntax", message, hint)


def _size(path: Path) -> int:
    try:
        return os.lstat(path).st_size
    except (OSError, ValueError):
        return 0


@dataclass(frozen=True, slots=True)
class SettingsRead:
    """The settings, as far as they could be read.

    `lost` names the parts of which nothing is known: "items" (where the table is), "season", "making"; `unread` says
    that nothing is known of any.
    """

    source: Source
    settings: Settings
    lost: frozenset[str] = frozenset()
    unread: bool = False


def read_settings(root: Path, file: str, guess: Guess | None = None) -> tuple[SettingsRead, list[Problem]]:
    """Return the settings with stand-ins for what cannot be read; `file` is "" when there is none."""
    source = read_source(root, file, limit=TOML_LIMIT) if file else Source(file, "")
    if isinstance(source, Problem):
        return SettingsRead(Source(file, ""), _in_part({}, ""), _ALL, unread=True), [_first_of_all(source)]
    read, problems = _settings_in(source, guess)
    return read, list(problems)


def _first_of_all(problem: Problem) -> Problem:
    return replace(problem, hint=f"{problem.hint} {_AFTER}".strip())


@lru_cache(maxsize=2)  # a text says the same each time; a desk asks several times a change
def _settings_in(source: Source, guess: Guess | None) -> tuple[SettingsRead, tuple[Problem, ...]]:
    document, unread = parse_toml(source, Settings, guess) if source.file else (None, [])
    if document is None:
        if unread and parse_toml(source, Settings, Guess.USUAL)[0] is None:  # else what is behind it is looked for
            unread = [_first_of_all(each) for each in unread]
        return SettingsRead(source, _in_part({}, source.text), _ALL, unread=True), tuple(unread)
    settings, faults = validated(document, Settings, currency=_currency(document, ""), guess=guess)
    lost = frozenset(str(fault.loc[0]) for fault in faults if fault.loc and guess is None) & _ALL
    problems = tuple(problem_of(source, fault) for fault in faults)
    return SettingsRead(source, settings or _in_part(without(document, faults), source.text), lost), problems


def settle_settings(root: Path, read: SettingsRead) -> tuple[Settings, list[Problem]]:
    """Return the settings without names that stand for nothing: unknown shots and headings, a lost logo."""
    settings = read.settings
    faults = [*_seasons_twice(settings), *_unknown_headings(settings)]
    for at, shot in enumerate(settings.shots.required):
        if shot not in (*SHOTS, OTHER):
            faults.append(unknown_shot(("shots", "required", at), shot))
    if settings.logo:
        logo = named_file(root, settings.logo)
        if isinstance(logo, Fault):
            faults.append(replace(logo, loc=("logo",)))
        settings = settings.model_copy(update={"logo": logo if isinstance(logo, str) else ""})
    return settings, [problem_of(read.source, fault) for fault in faults]


def _seasons_twice(settings: Settings) -> Iterator[Fault]:
    names: set[str] = set()
    for at, season in enumerate(settings.seasons):
        if season.name in names:
            message = f"two seasons are called {quoted(season.name)}."
            yield Fault(("season", at, "name"), "code-twice", message, "Give each its own name.")
        names.add(season.name)


def _unknown_headings(settings: Settings) -> Iterator[Fault]:
    """Yield the owner's headings that are translated to no field of ours; "" leaves a column alone."""
    for heading, name in settings.items.columns.items():
        if name and not our_field(name, tuple(Item.model_fields)):
            hint = write_instead(name, Item.model_fields) or f"Columns are {listed(Item.model_fields, 'and')}."
            loc = ("items", "columns", heading)
            yield Fault(loc, "bad-value", f"we have no column {quoted(name)}.", hint, heading)


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


@dataclass(frozen=True, slots=True)
class PackagingRead:
    """The packaging, as far as it could be read; `broken` boxes by code, with their first problem.

    `unread` is the problem that hides which boxes there are, None when they are all known.
    """

    source: Source
    packaging: Packaging = NO_PACKAGING
    broken: Mapping[str, Problem] = field(default_factory=dict)
    unread: Problem | None = None


def read_packaging(
    root: Path, file: str, currency: str, guess: Guess | None = None
) -> tuple[PackagingRead, list[Problem]]:
    """Return the packaging and its problems; none of either when `file` is ""."""
    if not file:
        return PackagingRead(Source(file, "")), []
    source = read_source(root, file, limit=TOML_LIMIT)
    if isinstance(source, Problem):
        return PackagingRead(Source(file, ""), unread=source), [source]
    read, problems = _packaging_in(source, currency, guess)
    return read, list(problems)


@lru_cache(maxsize=2)  # a text says the same each time
def _packaging_in(source: Source, currency: str, guess: Guess | None) -> tuple[PackagingRead, tuple[Problem, ...]]:
    document, problems = parse_toml(source, Packaging, guess)
    if document is None:
        return PackagingRead(source, unread=problems[0]), tuple(problems)
    packaging, faults = validated(document, Packaging, currency=currency, guess=guess)
    problems = [problem_of(source, fault) for fault in faults]
    if packaging is not None:
        return PackagingRead(source, packaging), tuple(problems)
    sound, _ = validated(without(document, faults), Packaging, currency=currency)
    broken: dict[str, Problem] = {}  # by the code of the box; "" where that is not known
    for fault, problem in zip(faults, problems, strict=True):
        if fault.loc[:1] == ("box",):
            at = fault.loc[1] if len(fault.loc) > 1 else None
            box = document["box"][at] if isinstance(at, int) else None
            code = box.get("code") if isinstance(box, dict) else None
            broken.setdefault(code if isinstance(code, str) else "", problem)
    unread = problems[0] if sound is None else broken.pop("", None)
    return PackagingRead(source, sound or NO_PACKAGING, broken, unread), tuple(problems)


def read_channels(
    root: Path, files: Iterable[str], currency: str, guess: Guess | None = None
) -> tuple[tuple[Channel, ...], list[Problem]]:
    """Return the channels in the order of their files; a file's stem is its key and its folder of output."""
    channels: list[Channel] = []
    files = tuple(files)
    problems = _not_read(files[bounds.PLACES :], f"a shop may have {bounds.PLACES:,} places")
    for file in files[: bounds.PLACES]:
        source = read_source(root, file, limit=TOML_LIMIT)
        if isinstance(source, Problem):
            problems.append(source)
            continue
        key = PurePosixPath(file).stem
        channel, faults = read_toml(source, Channel, given={"key": key}, currency=currency, guess=guess)
        if not _KEY.fullmatch(key) or key in _TAKEN or is_device(key):
            faults.append(_key_fault(file, key))
        elif channel:
            channels.append(channel)
            faults += _undecided(source, channel)
        problems += faults
    return tuple(channels), problems


def sets_within(files: tuple[SetFiles, ...]) -> tuple[tuple[SetFiles, ...], list[Problem]]:
    """Return the folders of sets that are read, and why the rest is not."""
    beyond = [f"{SETS}/{each.folder}" for each in files[bounds.SETS :]]
    return files[: bounds.SETS], _not_read(beyond, f"a shop may have {bounds.SETS:,} sets")


def _not_read(beyond: Sequence[str], known: str) -> list[Problem]:
    """Return that files or folders from one on are not read, where there are such."""
    more = f"this and {len(beyond) - 1:,} more are" if len(beyond) > 1 else "it is"
    hint = "Take some out of the folder."
    return [Problem(Place(beyond[0]), "bad-value", f"{more} not read: {known}.", hint)] if beyond else []


def places_within(
    channels: tuple[Channel, ...], sets: Iterable[SetFolder], singles: int, settings: Settings
) -> tuple[tuple[Channel, ...], list[Problem]]:
    """Return the places whose listings can be worked out, and why the first of the others is not among them.

    Args:
        channels: in the order in which they are counted.
        sets: what each lists, unless it names some.
        singles: how many pieces are listed alone where any may be.
        settings: of the shop; its [singles] holds where a place has none.
    """
    variants = {folder.gift_set.code: prod(len(slot.choose) for slot in folder.gift_set.slots) for folder in sets}
    left = bounds.AT_PLACES
    for at, channel in enumerate(channels):
        of_sets = (
            [variants[code] for code in channel.sets if code in variants] if channel.sets else [*variants.values()]
        )
        asked = channel.singles if channel.singles is not None else settings.singles
        alone = 0 if asked is None else singles if asked.items is None else min(len(asked.items), singles)
        listings, of_listings = len(of_sets) + alone, sum(of_sets) + alone
        left -= of_listings + _EACH_LISTING * listings
        if left < 0:
            more = f"{listings:,} sets and pieces with {of_listings:,} variants"
            message = f"it lists {more}, too many beside what the places before it list."
            hint = "Name what it takes in sets, or take places out; those behind it are left out too."
            return channels[:at], [Problem(Place(f"{CHANNELS}/{channel.key}.toml"), "bad-value", message, hint)]
    return channels, []


def _key_fault(file: str, key: str) -> Problem:
    """Return why a file's name is no channel's key: how it is written, or that the name is taken."""
    message = f"{quoted(key)} cannot be a channel's key."
    hint = 'Name the file with small letters and digits, _ between them, as in "web_shop.toml".'
    if _KEY.fullmatch(key):
        whose = (
            "a folder of the build is called that" if key in _TAKEN else "some systems keep that name for themselves"
        )
        message, hint = f"{quoted(key)} cannot be a channel's key: {whose}.", 'Name the file as in "web_shop.toml".'
    return Problem(Place(file), "bad-value", message, hint)


def _undecided(source: Source, channel: Channel) -> Iterator[Problem]:
    """Yield once the columns without a value that still have a remark with a question mark above them."""
    lines, open_ones = source.text.split("\n"), []
    for at, column in enumerate(channel.columns):
        line, _ = locate(source.text, ("column", at))
        above = takewhile(lambda text: text.lstrip().startswith("#"), reversed(lines[: max(line - 1, 0)]))
        if not column.value and any(_QUESTION.match(text) for text in above):
            open_ones.append((line, column.heading))
    if open_ones:
        what = "column waits" if len(open_ones) == 1 else "columns wait"
        shown = [quoted(heading) for _, heading in open_ones[:_MOST_SHOWN]]
        rest = len(open_ones) - len(shown)
        names = f"{', '.join(shown)} and {rest} more" if rest else listed(shown, "and")
        message = f"{len(open_ones)} {what} for your word: {names}."
        hint = 'Write a value, or take the column out; if it is to stay empty, take out the line with "?" above it.'
        yield Problem(Place(source.file, line=open_ones[0][0]), "column-undecided", message, hint)


def read_translations(
    root: Path, files: Iterable[str], currency: str, guess: Guess | None = None
) -> tuple[Translations, list[Problem]]:
    """Return language and translation of each file, in the order of the files."""
    translations: list[tuple[str, Translation]] = []
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
            translation, faults = read_toml(source, Translation, currency=currency, guess=guess)
            problems += faults
            if translation:
                translations.append((language, translation))
    return tuple(translations), problems


def is_language(text: str) -> bool:
    """Whether `text` names a language as our files do: "fr", "fr-CA"."""
    try:
        _LANGUAGE.validate_python(text)
    except ValidationError:
        return False
    return True


@dataclass(frozen=True, slots=True)
class SetRead:
    """What a set folder says; `gift_set` is None when set.toml cannot be read, and `code` what it probably is.

    `draft`, `name`, `season` and `box` are what set.toml says, sound or not; `parsed` whether there is one in TOML.
    `box` is None where there is one that cannot be read.
    """

    folder: str
    source: Source
    code: str
    gift_set: GiftSet | None
    stories: tuple[Story, ...]
    photos: tuple[Photo, ...]
    draft: bool = False
    parsed: bool = True
    name: str = ""
    season: str = ""
    box: str | None = ""


def read_set(
    root: Path, files: SetFiles, memory: PhotoMemory, currency: str, guess: Guess | None = None
) -> tuple[SetRead, list[Problem]]:
    """Return the set in one folder and all its problems."""
    gift_set, document, problems = None, None, list[Problem]()
    source = read_source(root, files.file, limit=TOML_LIMIT) if files.file else Source(files.file, "")
    if isinstance(source, Problem):
        problems, source = [source], Source(files.file, "")
    elif files.file:
        document, problems = parse_toml(source, GiftSet, guess)
    if document is not None:
        gift_set, wrong = validated(document, GiftSet, currency=currency, guess=guess)
        problems = [problem_of(source, fault) for fault in wrong]
    stories, of_stories = read_stories(root, files)
    photos, of_photos, faults = read_photos(root, files, gift_set.photos if gift_set else (), memory)
    problems += [*of_stories, *of_photos, *(problem_of(source, fault) for fault in faults)]
    match = _CODE.search(source.text)
    code = gift_set.code if gift_set else match[1] if match else ""
    said = {key: text for key, text in (document or {}).items() if isinstance(text, str)}
    read = SetRead(
        folder=files.folder,
        source=source,
        code=code,
        gift_set=gift_set,
        stories=stories,
        photos=photos,
        draft=said.get("status") == SetStatus.DRAFT,
        parsed=document is not None,
        name=said.get("name", ""),
        season=said.get("season", ""),
        box=said.get("box", "") if document is not None or not files.file else None,
    )
    return read, problems


def folder_read(read: SetRead, items: frozenset[str]) -> FolderRead:
    """Return what is known of a set's folder; `items` are the codes of items that it names."""
    return FolderRead(
        folder=read.folder,
        code=read.code,
        name=read.gift_set.name if read.gift_set else read.name,
        draft=read.draft,
        parsed=read.parsed,
        season=read.season,
        box=read.box,
        items=items,
    )


def read_stories(root: Path, files: SetFiles) -> tuple[tuple[Story, ...], list[Problem]]:
    """Return the stories, the shop's own language (named "") first; placeholders are left as they are."""
    stories: list[Story] = []
    problems: list[Problem] = []
    for file, language in files.stories:
        source = read_source(root, file, limit=STORY_BYTES)
        if isinstance(source, Problem):
            problems.append(source)
        elif language and not is_language(language):
            hint = 'Name it as in "story.fr.md" or "story.en-GB.md".'
            problems.append(Problem(Place(file), "bad-value", f"{quoted(language)} is not a language.", hint))
        elif turned := turned_problem(source):
            problems.append(turned)
        else:
            stories.append(Story(file, language, source.text))
    return tuple(sorted(stories, key=lambda story: story.language)), problems
