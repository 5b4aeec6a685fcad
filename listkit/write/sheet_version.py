"""The version of a line sheet: a short code of all that it states, so that two sheets with one code say the same.

Pictures, layout, paper and wording play no part: a sheet in a buyer's hands stays good when only its looks change.
"""

import hashlib
import json
from collections.abc import Iterator
from typing import Any, Final

from listkit.compute.wholesale import Sheet, SheetEntry, SheetLine
from listkit.model.fields import ShopModel
from listkit.model.wholesale import Window

# No 0, O, 1 or I, which are mistaken for each other, and no vowels, so that no code is a word.
SIGNS: Final = "23456789BCDFGHJKLMNPQRSTVWXZ"
LENGTH: Final = 5
_LOOKS: Final = {"paper", "barcodes", "gtins", "groups", "tiers", "notes", "window"}


def version_code(sheet: Sheet) -> str:
    """Return five signs of SIGNS; of two sheets that differ, one in seventeen million has the other's code."""
    told = json.dumps(list(_facts(sheet)), ensure_ascii=False, sort_keys=True, default=_plain)
    number = int.from_bytes(hashlib.sha256(told.encode("utf-8", "surrogatepass")).digest())
    signs = []
    for _ in range(LENGTH):
        number, sign = divmod(number, len(SIGNS))
        signs.append(SIGNS[sign])
    return "".join(signs)


def _facts(sheet: Sheet) -> Iterator[object]:
    yield sheet.currency
    yield {name: value for name, value in _stated(sheet.terms).items() if name not in _LOOKS}
    yield [tier.start for tier in sheet.tiers]
    for group in sheet.groups:
        yield [group.title, *_window(group.window), [_entry(entry) for entry in group.entries]]


def _stated(model: ShopModel) -> dict[str, object]:
    """Return what is unlike its default, so that a term that is new to us changes nothing where it is not stated."""
    values = {name: getattr(model, name) for name in type(model).model_fields}
    return {name: value for name, value in values.items() if value != type(model).model_fields[name].default}


def _window(window: Window) -> tuple[object, ...]:
    return window.order_by, window.ships_from, window.ships_until


def _entry(entry: SheetEntry) -> list[object]:
    facts = entry.facts
    theme = [facts.source.gift_set.theme, facts.season] if facts else []
    keeps = [entry.keeps.months, entry.keeps.on_arrival] if entry.keeps else None
    packs = [entry.packs.case, entry.packs.least, entry.packs.together]
    outside = entry.outside.sides if entry.outside else None
    more = [entry.last_chance, entry.lead, entry.note, entry.case_gtin, entry.display]
    return [entry.code, entry.name, theme, packs, keeps, outside, more, [_line(line) for line in entry.lines]]


def _line(line: SheetLine) -> list[object]:
    pieces = [
        [piece.quantity, item.code, item.name, item.form, item.net.text if item.net else ""]
        for piece in line.pieces
        for item in (piece.item,)
    ]
    says = [choice.says for choice in line.choices]
    numbers = [line.gtin, line.case_gtin, f"{line.weight.grams.normalize():f}"]
    return [line.code, says, numbers, line.wholesale, line.tiers, line.retail, pieces]


def _plain(value: Any) -> object:  # noqa: ANN401 (whatever is no JSON: money, days, lengths, tables)
    return _stated(value) if isinstance(value, ShopModel) else str(value)
