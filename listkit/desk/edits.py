"""Single edits of the owner's files: which file, what changes in it, and whether what comes of it is sound.

A file is named by what it is for and by a code (`Target`), and looked up in the folder; no path comes from outside.
An edit gives the file's new bytes and the problems that are new with it, found by the same readers as the file's own.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from itertools import groupby
from pathlib import Path, PurePosixPath
from types import MappingProxyType
from typing import Any, Final

from pydantic import BaseModel

from listkit.desk.tables import AddRow, CellFaults, PutCell, TakeRow, edited_cells, edited_table
from listkit.edit.toml import value_at, with_entry, with_entry_moved, with_value, without
from listkit.edit.toml_text import TomlValue
from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.item import IngredientRow
from listkit.model.making import Material, PlanRow, RecipeRow
from listkit.model.packaging import Packaging, Rate
from listkit.model.settings import Settings
from listkit.model.translation import Translation
from listkit.model.wholesale import Stockist, Wholesale
from listkit.problem import FieldError, KeyPath, Place, Problem, not_in, quoted
from listkit.read.faults import follow
from listkit.read.folder import (
    CHANNELS,
    INGREDIENTS,
    ITEMS,
    LANGUAGES,
    MATERIALS,
    PACKAGING,
    PLAN,
    RATES,
    RECIPES,
    SETS,
    SHOP,
    STOCKISTS,
    WHOLESALE,
    SetFiles,
    ShopFiles,
    find_files,
    items_file,
)  # fmt: skip
from listkit.read.parts import STORY_BYTES, is_language, read_settings, read_stories
from listkit.read.source import Fault, Source, decoded, read_bytes
from listkit.read.table_file import Form, read_table
from listkit.read.tables import items_form
from listkit.read.toml_file import parse_toml, problem_of, validated
from listkit.units.money import MINOR_DIGITS, NO_CURRENCY


class Role(StrEnum):
    """What a file of the shop is for."""

    SHOP = "shop"
    PACKAGING = "packaging"
    WHOLESALE = "wholesale"
    SET = "set"
    STORY = "story"
    CHANNEL = "channel"
    LANGUAGE = "language"
    ITEMS = "items"
    STOCKISTS = "stockists"
    RATES = "rates"
    INGREDIENTS = "ingredients"
    MATERIALS = "materials"
    RECIPES = "recipes"
    PLAN = "plan"


@dataclass(frozen=True, slots=True)
class Target:
    """A file by its role; `code` is a set's code (or its folder's name), a channel's key, or a language.

    `language` is that of a story, "" for the shop's own.
    """

    role: Role
    code: str = ""
    language: str = ""

    @property
    def is_table(self) -> bool:
        """Whether the file has rows and columns."""
        return self.role is Role.ITEMS or self.role in _TABLES


@dataclass(frozen=True, slots=True)
class Put:
    """A value at a key of a TOML file: ("contents", 0, "item"); None takes the key, the table or the entry out."""

    key: KeyPath
    value: TomlValue | None


@dataclass(frozen=True, slots=True)
class Add:
    """One more entry in the list at a key, before the entry `at`; behind the last where that is None."""

    key: KeyPath
    value: TomlValue
    at: int | None = None


@dataclass(frozen=True, slots=True)
class Move:
    """The entry `at` of the list at a key, to be the one at `to`."""

    key: KeyPath
    at: int
    to: int


@dataclass(frozen=True, slots=True)
class PutText:
    """All of a story."""

    text: str


Action = Put | Add | Move | PutCell | AddRow | TakeRow | PutText


@dataclass(frozen=True, slots=True)
class Edit:
    """One change to one file."""

    target: Target
    action: Action

    @property
    def key(self) -> KeyPath:
        """What the edit speaks of: a key path, or row and field of a cell."""
        action = self.action
        if isinstance(action, (Put, Add, Move)):
            return action.key
        if isinstance(action, PutCell):
            return action.row, action.field
        if isinstance(action, PutText):
            return ()
        return (action.row if isinstance(action, TakeRow) else action.cells.get("code", ""),)


_MODELS: Final[Mapping[Role, type[BaseModel]]] = {
    Role.SHOP: Settings,
    Role.PACKAGING: Packaging,
    Role.WHOLESALE: Wholesale,
    Role.SET: GiftSet,
    Role.CHANNEL: Channel,
    Role.LANGUAGE: Translation,
}
_TABLES: Final[Mapping[Role, type[BaseModel]]] = {
    Role.STOCKISTS: Stockist,
    Role.RATES: Rate,
    Role.INGREDIENTS: IngredientRow,
    Role.MATERIALS: Material,
    Role.RECIPES: RecipeRow,
    Role.PLAN: PlanRow,
}
_SINGLE: Final[Mapping[Role, str]] = {
    Role.SHOP: SHOP,
    Role.PACKAGING: PACKAGING,
    Role.WHOLESALE: WHOLESALE,
    Role.STOCKISTS: STOCKISTS,
    Role.RATES: RATES,
    Role.INGREDIENTS: INGREDIENTS,
    Role.MATERIALS: MATERIALS,
    Role.RECIPES: RECIPES,
    Role.PLAN: PLAN,
}
_CODE: Final = ("code",)
_AGAIN: Final = "Load the page again."


@dataclass(frozen=True, slots=True)
class Files:
    """The files of a shop folder as they are named now, and what is needed to read any of them.

    `likely` has the folders of sets by code as they were a moment ago, so that one file is asked before all others. A
    set's folder is looked for once a code: who wants to know of later changes looks anew.
    """

    root: Path
    listed: ShopFiles
    settings: Settings
    likely: Mapping[str, str] = field(default_factory=dict, compare=False)
    _folders: dict[str, SetFiles] = field(default_factory=dict, init=False, compare=False, repr=False)

    def path(self, target: Target) -> str:
        """Return the path of a file, relative to the shop; of one that may be made, where it would lie.

        Raises:
            FieldError: there is no such set, channel or language.
        """
        if target.role in _SINGLE:
            return _SINGLE[target.role]
        if target.role is Role.ITEMS:
            return items_file(self.root, self.listed, self.settings.items.file)[0] or ITEMS[0]
        if target.role in (Role.SET, Role.STORY):
            return self._of_set(target)
        files, folder = (
            (self.listed.channels, CHANNELS) if target.role is Role.CHANNEL else (self.listed.languages, LANGUAGES)
        )
        path = f"{folder}/{target.code}.toml"
        if path not in files:
            raise FieldError(f"there is no {target.role} {quoted(target.code)}.", _AGAIN)
        return path

    def folder(self, code: str) -> SetFiles:
        """Return the files of a set by its code, or by its folder's name.

        Raises:
            FieldError: there is no such set, or two have the code.
        """
        if code in self._folders:
            return self._folders[code]
        likely = self.likely.get(code)
        asked = [files for files in self.listed.sets if files.folder == likely] if likely else []
        by_code = [files for files in asked or self.listed.sets if files.file and self._has_code(files, code)]
        if asked and not by_code:
            by_code = [files for files in self.listed.sets if files.file and self._has_code(files, code)]
        if len(by_code) > 1:
            hint = f"Give one of them another code: {' and '.join(f'{SETS}/{each.folder}' for each in by_code)}."
            raise FieldError(f"two sets have the code {quoted(code)}.", hint)
        for files in (*by_code, *(files for files in self.listed.sets if files.folder == code)):
            self._folders[code] = files
            return files
        raise FieldError(f"there is no set {quoted(code)}.", _AGAIN)

    def _has_code(self, files: SetFiles, code: str) -> bool:
        content = read_bytes(self.root, files.file)
        try:
            if isinstance(content, Problem) or not (code.encode(errors="replace") in content or b"\\" in content):
                return False
            return str(value_at(content, _CODE)) == code
        except FieldError:
            return False

    def _of_set(self, target: Target) -> str:
        files = self.folder(target.code)
        if target.role is Role.SET:
            return files.file or f"{SETS}/{files.folder}/set.toml"
        if target.language and not is_language(target.language):
            raise FieldError(f"{quoted(target.language)} is not a language.", 'Write it as in "fr" or "fr-CA".')
        stories, _ = read_stories(self.root, files)
        return next(
            (story.file for story in stories if story.language == target.language),
            f"{SETS}/{files.folder}/story{f'.{target.language}' if target.language else ''}.md",
        )

    def form(self, role: Role) -> Form[Any]:
        """Return what a table of this role should hold."""
        if role is Role.ITEMS:
            return items_form(self.root, self.listed, self.settings)
        return Form(_TABLES[role], {}, self.settings.currency)


def look(root: Path, likely: Mapping[str, str] = MappingProxyType({})) -> Files:
    """Return the files of a shop folder as they are now; `likely` as for `Files`."""
    listed, _ = find_files(root)
    return Files(root, listed, read_settings(root, listed.shop)[0].settings, likely)


def edited(files: Files, edit: Edit, file: str, content: bytes) -> tuple[bytes, list[Problem]]:
    """Return the bytes of a file after an edit, and for a table what is wrong in that row.

    Raises:
        FieldError: the edit is none that this file takes, or it cannot be made in place.
    """
    action, role = edit.action, edit.target.role
    if isinstance(action, (Put, Add, Move)) and role in _MODELS:
        return _edited_toml(action, role, content), []
    if isinstance(action, PutText) and role is Role.STORY:
        return _edited_story(action.text, content), []
    if isinstance(action, (AddRow, TakeRow)) and edit.target.is_table:
        return edited_table(file, content, files.form(role), action)
    raise FieldError(f"{file} takes no such change.", _AGAIN)


def edited_all(
    files: Files, edits: Iterable[Edit], paths: Mapping[Target, str], before: Mapping[Target, bytes]
) -> tuple[dict[Target, bytes], list[tuple[Edit, Problem]]]:
    """Return the bytes of files after edits, in their order, and what is wrong then, with the edit that is to blame.

    Cells of one row that are filled in together are judged together: what a later one mends is not told.
    """
    after, refused, wrong = dict(before), list[tuple[Edit, Problem]](), list[tuple[Edit, Problem]]()

    def refuse(edit: Edit, fault: FieldError) -> None:
        place = Place(paths[edit.target], key=edit.key[1:])
        refused.append((edit, Problem(place, "bad-value", fault.message, fault.hint)))

    for (target, are_cells), alike in groupby(edits, lambda edit: (edit.target, _is_cell(edit))):
        if not are_cells:
            for edit in alike:
                try:
                    after[target], faults = edited(files, edit, paths[target], after[target])
                    wrong += [(edit, fault) for fault in faults]
                except FieldError as fault:
                    refuse(edit, fault)
            continue
        cells = tuple(alike)
        after[target], outcomes = _with_cells(files, cells, paths[target], after[target])
        for edit, outcome in zip(cells, outcomes, strict=True):
            if outcome.refused is not None:
                refuse(edit, outcome.refused)
                continue
            wrong = [(by, each) for by, each in wrong if by.key[:1] != edit.key[:1] or each in outcome.in_row]
            wrong += [(edit, fault) for fault in outcome.new]
    return after, [*refused, *wrong]


def _is_cell(edit: Edit) -> bool:
    return edit.target.is_table and isinstance(edit.action, PutCell)


def _with_cells(files: Files, edits: Sequence[Edit], file: str, content: bytes) -> tuple[bytes, tuple[CellFaults, ...]]:
    """Return the bytes of a table with cells put there, all in one writing; halves where that cannot be done."""
    actions = [edit.action for edit in edits if isinstance(edit.action, PutCell)]
    try:
        return edited_cells(file, content, files.form(edits[0].target.role), actions)
    except FieldError as fault:
        if len(edits) == 1:
            return content, (CellFaults(refused=fault),)
    middle = len(edits) // 2
    content, first = _with_cells(files, edits[:middle], file, content)
    content, rest = _with_cells(files, edits[middle:], file, content)
    return content, (*first, *rest)


def problems_of(files: Files, target: Target, file: str, content: bytes) -> list[Problem]:
    """Return what is wrong in the bytes of one file, as its own reader finds it; nothing of an empty one."""
    if not content:
        return []
    if target.role in _MODELS:
        return _toml_problems(files, target, file, content)
    if target.role is Role.STORY:
        source = decoded(file, content)
        return [] if isinstance(source, Source) else [source]
    return read_table(file, content, files.form(target.role))[1]


def new_problems(edits: Iterable[Edit], before: list[Problem], after: list[Problem]) -> list[tuple[Edit, Problem]]:
    """Return what edits of one file would make wrong, with the edit that is to blame; nothing else that was wrong."""
    edits = tuple(edits)
    blamed = []
    new = not_in(before, after)
    for problem in after:
        near = [edit for edit in edits if _concerns(edit, problem.place)]
        if near or problem in new:
            blamed.append((near[-1] if near else edits[-1], problem))
    return blamed


def _concerns(edit: Edit, place: Place) -> bool:
    length = min(len(edit.key), len(place.key))
    return length > 0 and not isinstance(edit.action, Move) and place.key[:length] == edit.key[:length]


# TOML and stories.


def _edited_toml(action: Put | Add | Move, role: Role, content: bytes) -> bytes:
    if isinstance(action, Move):
        return with_entry_moved(content, action.key, action.at, action.to)
    there = value_at(content, action.key)
    if isinstance(action, Add):
        at = action.at if action.at is not None else len(there) if isinstance(there, list) else 0
        return with_entry(content, action.key, at, action.value)
    if role is Role.SET and action.key == _CODE and isinstance(there, str) and there and there != action.value:
        raise FieldError("other files may name a set by its code.", "Give it another by renaming, through all files.")
    if action.value is None:
        return content if there is None else without(content, action.key)
    return with_value(content, action.key, action.value)


def _toml_problems(files: Files, target: Target, file: str, content: bytes) -> list[Problem]:
    source, model = decoded(file, content), _MODELS[target.role]
    if isinstance(source, Problem):
        return [source]
    document, problems = parse_toml(source, model)
    if document is None:
        return problems
    given = {"key": PurePosixPath(file).stem} if target.role is Role.CHANNEL else {}
    stated = document.get("currency") if target.role is Role.SHOP else files.settings.currency
    currency = stated if isinstance(stated, str) and stated in MINOR_DIGITS else NO_CURRENCY
    _, faults = validated(document, model, given=given, currency=currency)
    return [problem_of(source, _on_a_page(model, fault)) for fault in faults]


def _on_a_page(model: type[BaseModel], fault: Fault) -> Fault:
    """Return a fault with the remedy of somebody who fills in a field, and writes no key."""
    about = follow(model, fault.loc).description if fault.code == "missing-key" else ""
    return replace(fault, hint=f"Fill it in: {about}.") if about else fault


def _edited_story(text: str, content: bytes) -> bytes:
    """Return a story in UTF-8, with the byte order mark and the line ends that the file has."""
    mark = content[:3] if content.startswith(b"\xef\xbb\xbf") else b""
    end = "\r\n" if b"\r\n" in content else "\n"
    plain = text.replace("\r\n", "\n").replace("\r", "\n")
    try:
        result = mark + plain.replace("\n", end).encode()
    except UnicodeEncodeError:
        raise FieldError("the story holds half a letter.", "Type it again.") from None
    if len(result) > STORY_BYTES:
        raise FieldError(f"the story has {len(result):,} bytes.", f"Write at most {STORY_BYTES:,}.")
    return result


def names(files: Files) -> Iterator[tuple[str, Target]]:
    """Yield the path of every file that can be edited, with the target that it is."""
    for role, path in _SINGLE.items():
        yield path, Target(role)
    yield files.path(Target(Role.ITEMS)), Target(Role.ITEMS)
    for each in files.listed.sets:
        yield f"{SETS}/{each.folder}/set.toml", Target(Role.SET, each.folder)
        yield from ((story, Target(Role.STORY, each.folder, language)) for story, language in each.stories)
    for path in files.listed.channels:
        yield path, Target(Role.CHANNEL, PurePosixPath(path).stem)
    for path in files.listed.languages:
        yield path, Target(Role.LANGUAGE, PurePosixPath(path).stem)
