"""Supposed changes of items: the shop as it would be, what would differ, and the cells of the owner's sheet."""

import hashlib
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import Any, Final

from pydantic import TypeAdapter, ValidationError

from listkit.actions.changes import ChannelChanges, changes_against_ledger, changes_between
from listkit.actions.held import held_back
from listkit.compute.build import build_catalog
from listkit.compute.costs import costed
from listkit.edit.table import CellEdit, replace_files, with_cells
from listkit.ledger.store import LEDGER, records
from listkit.model.item import Item
from listkit.model.making import MATERIALS_FILE, Material
from listkit.model.shop import Shop
from listkit.pipeline import Checked, Listed, list_catalog
from listkit.problem import FieldError, Problem
from listkit.read.folder import find_files
from listkit.read.headings import Column, our_field
from listkit.read.sheet import column_letters
from listkit.read.source import read_bytes
from listkit.read.table_file import Form, Table, open_table, read_table
from listkit.read.tables import items_form
from listkit.units.money import Money
from listkit.units.quantity import parse_share
from listkit.units.weight import WEIGHT_UNITS, Weight

_AMOUNT: Final = re.compile(r"\d[\d.]*")
_FINEST: Final = Decimal("0.0001")
_FIXED: Final = ("code", "larger")
_PRICE: Final = "price"


@dataclass(frozen=True, slots=True)
class ItemEdit:
    """One fact of one item that is supposed to be another; `text` is how it would be typed."""

    code: str
    field: str
    value: Any
    text: str

    @property
    def of_material(self) -> bool:
        """Whether it is the price of a raw material, which may be called as an item is."""
        return self.field == _PRICE


@dataclass(frozen=True, slots=True)
class Sheet:
    """The owner's table of items as it was read: its bytes, and where things stand in it."""

    path: Path
    content: bytes
    form: Form[Item]
    table: Table[Item]

    @property
    def workbook(self) -> bool:
        """Whether it is no CSV."""
        return not self.path.name.lower().endswith((".csv", ".txt", ".tsv"))


def item_edits(shop: Shop, stated: Sequence[Sequence[str]], all_retail: str) -> tuple[ItemEdit, ...]:
    """Return what is supposed: CODE and FIELD=VALUE each, and a share on every retail price, "+5%".

    Raises:
        FieldError: there is no such item or field, or the value cannot be used.
    """
    edits, said = dict[tuple[str, str], ItemEdit](), dict[tuple[str, str], ItemEdit]()
    if all_retail:
        share = _signed_share(all_retail)
        for item in shop.items:
            price = (item.retail * (1 + share)).rounded(ROUND_HALF_UP)
            edits[item.code, "retail"] = ItemEdit(item.code, "retail", price, str(price))
    for code, assignment in stated:
        edit = _stated(shop, code, assignment)
        before = said.setdefault((edit.code, edit.field), edit)
        if before.value != edit.value:
            message = f"{edit.field} of {edit.code} is to be both {before.text} and {edit.text}."
            raise FieldError(message, "Write the one that is meant.")
        edits[edit.code, edit.field] = edit
    materials = {row.material: row.price for _, row in shop.making.materials}
    items = {item.code: item for item in shop.items}
    return tuple(
        edit
        for edit in edits.values()
        if (materials[edit.code] if edit.of_material else getattr(items[edit.code], edit.field)) != edit.value
    )


def _signed_share(text: str) -> Decimal:
    bare = text.strip()
    if bare[:1] not in ("+", "-"):
        raise FieldError(f'"{text}" is no change in per cent.', 'Write "+5%" or "-3%", the latter as --all-retail=-3%.')
    share = parse_share(bare[1:])
    if bare[0] == "-" and share >= 1:
        raise FieldError(f'"{text}" leaves nothing of the prices.', "Write less than 100 %.")
    return share if bare[0] == "+" else -share


def _stated(shop: Shop, code: str, assignment: str) -> ItemEdit:
    item = any(item.code == code for item in shop.items)
    material = any(row.material == code for _, row in shop.making.materials)
    if not material and not item:
        raise FieldError(f'there is no item "{code}".', f"Look into {shop.items_file}.")
    name, equals, text = assignment.partition("=")
    material = material and (not item or our_field(name, (_PRICE,)) == _PRICE)
    fields = (_PRICE,) if material else tuple(name for name in Item.model_fields if name not in _FIXED)
    field = our_field(name, fields)
    if not equals or not field:
        what = "a raw material" if material else "an item"
        example = "price=9.20" if material else "retail=8.00"
        raise FieldError(f'"{assignment}" sets no field of {what}.', f"Write {', '.join(fields)}, as in {example}.")
    about = (Material if material else Item).model_fields[field]
    adapter: TypeAdapter[Any] = TypeAdapter(about.rebuild_annotation())
    try:
        value = adapter.validate_python(text.strip(), context={"currency": shop.settings.currency})
    except ValidationError as fault:
        raise _own_fault(fault, field, text, about.description or "") from fault
    return ItemEdit(code, field, value, text.strip())


def _own_fault(fault: ValidationError, field: str, text: str, description: str) -> FieldError:
    inner = fault.errors()[0].get("ctx", {}).get("error")
    if isinstance(inner, FieldError):
        return FieldError(f"{field}: {inner.message}", inner.hint)
    return FieldError(f'{field}: "{text}" cannot be used.', f"It is: {description}")


def supposed_shop(shop: Shop, edits: Sequence[ItemEdit]) -> Shop:
    """Return the shop with its items and the prices of raw materials changed, and the costs that follow."""
    changes: dict[str, dict[str, Any]] = {}
    prices = {edit.code: edit.value for edit in edits if edit.of_material}
    for edit in edits:
        if not edit.of_material:
            changes.setdefault(edit.code, {})[edit.field] = edit.value
    items = tuple(item.model_copy(update=changes.get(item.code, {})) for item in shop.items)
    bought = tuple(
        (line, row.model_copy(update={_PRICE: prices[row.material]}) if row.material in prices else row)
        for line, row in shop.making.materials
    )
    typed = {edit.code for edit in edits if edit.field == "cost"}
    made = replace(shop.made, follows=shop.made.follows - typed) if shop.made is not None else None
    return costed(replace(shop, items=items, making=replace(shop.making, materials=bought), made=made))


def _as_typed(items: Iterable[Item], shop: Shop) -> dict[str, Item]:
    """Return items by their codes, less what is not their row's: costs by recipes, and stock where it is counted."""
    follows = shop.made.follows if shop.made is not None else frozenset()
    counted = shop.stock.figures if shop.stock is not None else {}
    nothing = Money(Decimal(0), shop.settings.currency)
    rest: dict[str, Item] = {}
    for item in items:
        update: dict[str, object] = {"cost": nothing} if item.code in follows else {}
        update |= {"on_hand": None} if item.code in counted else {}
        rest[item.code] = item.model_copy(update=update) if update else item
    return rest


def open_sheet(shop: Shop) -> Sheet:
    """Read the owner's table of items again, to change it.

    Raises:
        FieldError: it cannot be read.
    """
    content = read_bytes(shop.root, shop.items_file)
    if isinstance(content, Problem):
        raise FieldError(f"{shop.items_file}: {content.message}", content.hint)
    form = items_form(shop.root, find_files(shop.root)[0], shop.settings)
    table, _ = read_table(shop.items_file, content, form)
    if table.rows != shop.items and _as_typed(table.rows, shop) != _as_typed(shop.items, shop):
        raise FieldError(f"{shop.items_file} was changed meanwhile; nothing was written.", "Try again.")
    return Sheet(shop.root / shop.items_file, content, form, table)


def cells_to_type(sheet: Sheet, edits: Sequence[ItemEdit]) -> tuple[str, ...]:
    """Return a line for each cell that the owner has to type into herself: "G7: 8.00 (OH-B01, retail)"."""
    lines = []
    for cell, edit in zip(cells_of(sheet, edits), edits, strict=True):
        name = f"{column_letters(cell.column)}{cell.line}"
        lines.append(f"{name}: {cell.new} ({edit.code}, {_column(sheet, edit.field).heading})")
    return tuple(lines)


def apply(sheet: Sheet, edits: Sequence[ItemEdit], wanted: Shop) -> None:
    """Write the changes into the owner's CSV.

    Raises:
        FieldError: it cannot be changed in place, was changed meanwhile, or cannot be written to.
    """
    changed = changed_sheet(sheet, edits, wanted)
    replace_files([(sheet.path, changed, hashlib.sha256(sheet.content).hexdigest())])


def changed_sheet(sheet: Sheet, edits: Sequence[ItemEdit], wanted: Shop) -> bytes:
    """Return the owner's CSV with the changes, every other byte as it was; it reads as exactly what is wanted.

    Raises:
        FieldError: it cannot be changed in place.
    """
    cells = cells_of(sheet, edits)
    changed = with_cells(sheet.content, cells)
    table, _ = read_table(sheet.table.file, changed, sheet.form)
    if _as_typed(table.rows, wanted) != _as_typed(wanted.items, wanted):
        raise FieldError(f"{sheet.path.name} would not read as it should.", "Change the cells by hand.")
    return changed


def cells_of(sheet: Sheet, edits: Sequence[ItemEdit]) -> list[CellEdit]:
    """Return the cells that hold these facts, with what stands there and what is to."""
    opened, _, _ = open_table(sheet.table.file, sheet.content, sheet.form)
    rows = {row.line: row for row in opened.rows} if opened else {}
    found = []
    for edit in edits:
        column, line = _column(sheet, edit.field), sheet.table.lines[edit.code]
        old = rows[line].text(column.index)
        found.append(CellEdit(line, column.index, old, _in_place(old, edit, column)))
    return found


def _column(sheet: Sheet, field: str) -> Column:
    columns = sheet.table.headings.columns if sheet.table.headings else ()
    column = next((one for one in columns if one.field == field), None)
    if column is None:
        raise FieldError(f'{sheet.path.name} has no column for "{field}".', "Add one, then try again.")
    return column


def _in_place(old: str, edit: ItemEdit, column: Column) -> str:
    """Return the new value as the cell has the old: with its currency sign, or bare where the heading has the unit."""
    if isinstance(edit.value, Money):
        signed = _AMOUNT.fullmatch(old) is None and len(_AMOUNT.findall(old)) == 1
        return _AMOUNT.sub(str(edit.value), old) if signed else str(edit.value)
    if not column.unit or not _AMOUNT.fullmatch(old):
        return edit.text
    unit = column.unit.casefold().rstrip(".")
    if isinstance(edit.value, Weight):
        number = edit.value.grams / WEIGHT_UNITS[unit]
        exact = Weight(number.quantize(_FINEST) * WEIGHT_UNITS[unit]) == edit.value
        return f"{number.normalize():f}" if exact else edit.text
    number_and_unit = re.fullmatch(r"([\d.]+)\s*([^\W\d_]+)\.?", edit.text)
    same = number_and_unit is not None and number_and_unit[2].casefold() == unit
    return number_and_unit[1] if number_and_unit and same else edit.text


# What the supposed changes would do


@dataclass(frozen=True, slots=True)
class Supposed:
    """A shop as it would be: the cells to change, the sheet they are in, the listings then, what differs by place.

    `prices` are those of raw materials, which are in a table of their own.
    """

    edits: tuple[ItemEdit, ...]
    sheet: Sheet
    listed: Listed
    changes: tuple[ChannelChanges, ...]
    prices: tuple[ItemEdit, ...] = ()

    @property
    def cell_lines(self) -> tuple[str, ...]:
        """A line for each cell that the owner has to type into herself."""
        return cells_to_type(self.sheet, self.edits) + tuple(
            f"{MATERIALS_FILE}, {edit.code}, price: {edit.text}" for edit in self.prices
        )

    def apply(self) -> None:
        """Write the changes into the owner's CSV.

        Raises:
            FieldError: it cannot be changed in place, was changed meanwhile, or cannot be written to; or the price of
                a raw material is among the changes.
        """
        if self.prices:
            lines = "; ".join(f"{edit.code}: {edit.text}" for edit in self.prices)
            raise FieldError(f"{MATERIALS_FILE} is yours to change.", f"Type under price: {lines}.")
        apply(self.sheet, self.edits, self.listed.shop)


def suppose(listed: Checked, stated: Sequence[Sequence[str]], all_retail: str, key: str = "") -> Supposed:
    """Return what supposed changes would do on one place, or with "" on all: against the last record if there is one.

    Raises:
        FieldError: a change cannot be understood, the owner's table or the ledger cannot be read.
    """
    edits = item_edits(listed.shop, stated, all_retail)
    sheet = open_sheet(listed.shop)
    then = list_catalog(build_catalog(supposed_shop(listed.shop, edits), listed.catalog.searches), listed.day)
    held = {each: what for each, what in held_back(listed).items() if not what.whole}
    changes = tuple(
        changes_against_ledger(then, each, None, held.get(each))
        if records(listed.shop.root / LEDGER, each)
        else changes_between(listed, then, each)
        for each in ((key,) if key else listed.places)
    )
    codes = {item.code for item in listed.shop.items}
    of_items = tuple(edit for edit in edits if edit.code in codes)
    return Supposed(of_items, sheet, then, changes, tuple(edit for edit in edits if edit.code not in codes))
