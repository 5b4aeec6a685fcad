"""Another code for an item or a set: every place that names it, then all of them changed at once.

The old code is written down beside the new one, so that what goes by it elsewhere (a place's rows, a form that a shop
filled in, the ledger) is still understood.
"""

import codecs
import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from pydantic import TypeAdapter, ValidationError

from listkit.edit.codes import CodeLine, with_codes, with_old_code
from listkit.edit.table import ANY, CellEdit, replace_files, with_cells, with_column
from listkit.model.channel import Channel
from listkit.model.codes import code_places, old_variant_codes, variant_codes
from listkit.model.codes import with_codes as replaced
from listkit.model.fields import Code, ShopModel
from listkit.model.gift_set import GiftSet
from listkit.model.item import IngredientRow, Item
from listkit.model.making import PlanRow, RecipeRow
from listkit.model.packaging import Packaging
from listkit.model.settings import Settings
from listkit.model.shop import Shop
from listkit.model.translation import Translation
from listkit.model.wholesale import Wholesale
from listkit.pipeline import open_shop
from listkit.problem import FieldError, KeyPath, quoted
from listkit.read.folder import SETS, ShopFiles, find_files
from listkit.read.references import BOX_WORDS
from listkit.read.sheet import column_letters
from listkit.read.source import TOML_LIMIT, Source, read_bytes, read_source
from listkit.read.table_file import Form, Table, read_table
from listkit.read.tables import items_form
from listkit.read.toml_file import parse_toml, validated
from listkit.read.wording import perhaps

_CODE: Final[TypeAdapter[str]] = TypeAdapter(Code)
_OLD_CODES: Final = "old codes"
_BETWEEN: Final = "; "


@dataclass(frozen=True, slots=True)
class RenamedFile:
    """A file of the shop in which codes become others: the lines, and what it is to hold.

    `content` is None for a workbook, whose cells the owner types herself; `cells` name those.
    """

    file: str
    lines: tuple[CodeLine, ...]
    content: bytes | None
    before: bytes
    cells: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Rename:
    """What a code becomes, in which files, and which codes of variants follow from it.

    `files` begin with the one that states the code: were the writing cut off there, all others are still understood.
    """

    old: str
    new: str
    root: Path
    files: tuple[RenamedFile, ...]
    variants: Mapping[str, str]

    @property
    def places(self) -> int:
        """How many places change."""
        return sum(len(file.lines) for file in self.files)

    @property
    def by_hand(self) -> tuple[RenamedFile, ...]:
        """The workbooks."""
        return tuple(file for file in self.files if file.content is None)

    def apply(self) -> None:
        """Write all files; none changes before all are written.

        Raises:
            FieldError: a workbook is among them.
            BlockedError: somebody changed one meanwhile, or it cannot be written to.
        """
        if self.by_hand:
            raise FieldError(
                f"{self.by_hand[0].file} is a workbook, which is yours to change.", "Type its cells first."
            )
        replace_files(
            [
                (self.root / file.file, file.content, hashlib.sha256(file.before).hexdigest())
                for file in self.files
                if file.content is not None
            ]
        )


def plan_rename(root: Path, old: str, new: str) -> Rename:
    """Return what giving a code another name would change. Where it was done already, what still has the old name.

    Raises:
        FieldError: there is nothing of the old code, the new one is none or taken, or a file cannot be read.
    """
    shop = open_shop(root, measure_at_most=0).shop  # no code is in a picture
    done = shop.old_codes.now.get(old) == new
    if not done:
        _refuse(shop, old, new)
    variants = _variants(shop, old, new, done=done)
    if not done:
        _refuse_twins(shop, {old: new, **variants})
    planning = _Planning(root, shop, find_files(root)[0], {old: new, **variants}, done=done)
    files = sorted(planning.files(), key=lambda file: (not planning.states(file.file), file.file))
    return Rename(old, new, root, tuple(files), variants)


def _refuse(shop: Shop, old: str, new: str) -> None:
    things = _things(shop)
    if things.get(old) not in ("item", "set"):
        if things.get(old) == "variant":
            hint = 'Give it one of its own: a [[variant]] of the set may say code = "..." and old_codes.'
            raise FieldError(f"{old} is a variant's code, which follows from those of its set and options.", hint)
        named = [code for code, kind in things.items() if kind in ("item", "set")]
        raise FieldError(f"there is no item or set {quoted(old)}.", perhaps(old, named) or "Look into your sheet.")
    try:
        _CODE.validate_python(new)
    except ValidationError as fault:
        inner = fault.errors()[0].get("ctx", {}).get("error")
        raise (inner if isinstance(inner, FieldError) else FieldError(f"{quoted(new)} is not a code.")) from fault
    if new == old:
        raise FieldError(f"{new} is already its code.", "Take another.")
    if new in BOX_WORDS:
        raise FieldError(f"{new} is a word that sets have for boxes.", "Take another.")
    if shop.old_codes.now.get(new, old) != old:
        message = f"{new} is an old code of {shop.old_codes.now[new]}: what still goes by it would mean two things."
        raise FieldError(message, "Take another.")


def _refuse_twins(shop: Shop, now: Mapping[str, str]) -> None:
    """Raise FieldError where a code that a rename makes is one of something that stays, or of two things."""
    things = {code: kind for code, kind in _things(shop).items() if code not in now}
    made: dict[str, str] = {}
    for old, new in now.items():
        if new in things:
            kind = things[new]
            what = f"{new} is" if new == next(iter(now.values())) else f"{old} would become {new}, which is"
            raise FieldError(f"{what} the code of {'an' if kind == 'item' else 'a'} {kind}.", "Take another.")
        if made.setdefault(new, old) != old:
            hint = "Take another, or give one of the options a part of its own."
            raise FieldError(f"{made[new]} and {old} would both be {new}.", hint)


def _things(shop: Shop) -> dict[str, str]:
    """Return every code there is, with what it is of."""
    things = {code: "variant" for folder in shop.sets for code in variant_codes(folder.gift_set)}
    things |= {box.code: "box" for box in shop.packaging.boxes}
    things |= {folder.code: "set" for folder in shop.folders if folder.code and not folder.is_single}
    return things | {item.code: "item" for item in shop.items}


def _variants(shop: Shop, old: str, new: str, *, done: bool) -> dict[str, str]:
    """Return the codes of variants that follow, with what they become; as they were, where the rename is done."""
    followers: dict[str, str] = {}
    for folder in shop.sets:
        gift_set = folder.gift_set
        after = gift_set if done else replaced(gift_set, lambda code: new if code == old else code)
        alone = after.model_copy(update={"old_codes": (old,) if after.code == new else ()})
        if after.code == new or new in after.item_codes:
            before = old_variant_codes(alone, {new: (old,)})
            known = frozenset(shop.old_codes.now) if done else frozenset(variant_codes(gift_set))
            followers |= {code: follows for code, follows in before.items() if code in known and code != old}
    return followers


@dataclass(frozen=True, slots=True)
class _Planning:
    """Goes through the files of a shop; with `done` the new code is stated already."""

    root: Path
    shop: Shop
    listed: ShopFiles
    now: Mapping[str, str]
    done: bool

    @property
    def old(self) -> str:
        return next(iter(self.now))

    def states(self, file: str) -> bool:
        """Whether a file states the code itself."""
        names = (self.old, self.now[self.old])
        if any(item.code in names for item in self.shop.items):
            return file == self.shop.items_file
        return any(f"{SETS}/{folder.folder}/" in file for folder in self.shop.folders if folder.code in names)

    def files(self) -> Iterator[RenamedFile]:
        """Yield the files in which a code becomes another."""
        yield from self.table(self.shop.items_file, self.items_form())
        tables: tuple[tuple[str, type[ShopModel]], ...] = (
            (self.listed.ingredients, IngredientRow),
            (self.listed.recipes, RecipeRow),
            (self.listed.plan, PlanRow),
        )
        for file, model in tables:
            if file:
                yield from self.table(file, Form(model, {}, self.shop.settings.currency))
        for file, model in self.documents():
            yield from self.document(file, model)

    def documents(self) -> Iterator[tuple[str, type[ShopModel]]]:
        """Yield each TOML file that may name codes, with what it says."""
        single: tuple[tuple[str, type[ShopModel]], ...] = (
            (self.listed.shop, Settings),
            (self.listed.packaging, Packaging),
            (self.listed.wholesale, Wholesale),
        )
        yield from ((file, model) for file, model in single if file)
        yield from ((files.file, GiftSet) for files in self.listed.sets if files.file)
        yield from ((file, Channel) for file in self.listed.channels)
        yield from ((file, Translation) for file in self.listed.languages)

    def items_form(self) -> Form[Item]:
        form = items_form(self.root, self.listed, self.shop.settings)
        return replace(form, following=form.following.union(self.now.get(code, code) for code in form.following))

    def document(self, file: str, model: type[ShopModel]) -> Iterator[RenamedFile]:
        """Yield a TOML file where a code in it changes."""
        source = read_source(self.root, file, limit=TOML_LIMIT)
        if not isinstance(source, Source):
            raise FieldError(f"{file}: {source.message}", source.hint)
        document = parse_toml(source, model)[0]
        read = validated(document, model, currency=self.shop.settings.currency)[0] if document is not None else None
        if read is None:
            raise FieldError(
                f"{file} names such a code and cannot be read.", "listkit check says why; mend that first."
            )
        paths: dict[KeyPath, str] = {path: code for path, code in code_places(read) if code in self.now}
        if not paths:
            return
        try:
            text, lines = with_codes(source.text, paths, self.now)
            if isinstance(read, GiftSet) and read.code == self.old:
                text = with_old_code(text, self.old, self.now[self.old])
        except FieldError as fault:
            raise FieldError(f"{file}: {fault.message}", fault.hint) from fault
        if lines:
            before = read_bytes(self.root, file)
            assert isinstance(before, bytes)
            yield RenamedFile(file, lines, _encoded(text, before), before)

    def table(self, file: str, form: Form[Any]) -> Iterator[RenamedFile]:
        """Yield a table where a code in it changes."""
        content = read_bytes(self.root, file)
        if not isinstance(content, bytes):
            raise FieldError(f"{file}: {content.message}", content.hint)
        table = read_table(file, content, form)[0]
        if table.unread is not None:
            raise FieldError(f"{file}: {table.unread.message}", table.unread.hint)
        edits = list(self.cells(table))
        added = self.old_code_cell(table)
        if not edits:
            return
        lines = tuple(CodeLine(edit.line, edit.old, edit.new) for edit in edits)
        if not file.lower().endswith((".csv", ".txt", ".tsv")):
            typed = (*edits, *self.heading(table, added), *added)
            cells = tuple(f"{column_letters(edit.column)}{edit.line}: {edit.new}" for edit in typed)
            yield RenamedFile(file, lines, None, content, cells)
            return
        try:
            changed = content
            for edit in self.heading(table, added):
                changed = with_column(content, edit.new, edit.line)
            changed = with_cells(changed, [*edits, *added])
        except FieldError as fault:
            raise FieldError(f"{file}: {fault.message}", fault.hint) from fault
        wanted = [self.renamed(row) for row in table.rows]
        if list(read_table(file, changed, form)[0].rows) != wanted:
            raise FieldError(f"{file} would not read as it should.", "Change the cells by hand.")
        yield RenamedFile(file, lines, changed, content)

    def renamed(self, row: ShopModel) -> ShopModel:
        """Return a row as it is to read."""
        after = replaced(row, lambda code: self.now.get(code, code))
        if self.done or not isinstance(row, Item) or row.code != self.old:
            return after
        return after.model_copy(update={"old_codes": self.old_codes(row)})

    def old_codes(self, item: Item) -> tuple[str, ...]:
        """Return the old codes of an item with that of today."""
        return (*(code for code in item.old_codes if code != self.now[self.old]), self.old)

    def heading(self, table: Table[Any], added: list[CellEdit]) -> list[CellEdit]:
        """Return the heading of the column of old codes, where the table has none."""
        if not added or "old_codes" in _columns(table) or table.headings is None:
            return []
        return [CellEdit(table.headings.row.line, added[0].column, "", _OLD_CODES)]

    def cells(self, table: Table[Any]) -> Iterator[CellEdit]:
        """Yield the cells that name a code which becomes another."""
        columns = _columns(table)
        for line, row in zip(table.row_lines, table.rows, strict=True):
            for path, code in code_places(row):
                if code in self.now:
                    yield CellEdit(line, columns[str(path[0])], code, self.now[code])

    def old_code_cell(self, table: Table[Any]) -> list[CellEdit]:
        """Return the cell that keeps the old code beside the new one, in a column of its own or a new one."""
        row = next((row for row in table.rows if isinstance(row, Item) and row.code == self.old), None)
        if row is None or self.done:
            return []
        width = len(table.headings.row.cells) if table.headings else 0
        column = _columns(table).get("old_codes", width)
        return [CellEdit(table.lines[self.old], column, ANY, _BETWEEN.join(self.old_codes(row)))]


def _columns(table: Table[Any]) -> dict[str, int]:
    """Return where each field of a table stands."""
    return {column.field: column.index for column in table.headings.columns} if table.headings else {}


def _encoded(text: str, before: bytes) -> bytes:
    """Return a text in UTF-8, with a byte order mark where the file has one."""
    return (codecs.BOM_UTF8 if before.startswith(codecs.BOM_UTF8) else b"") + text.encode()
