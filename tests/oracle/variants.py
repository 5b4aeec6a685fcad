"""A set's variants: every slot chosen in every way that is allowed."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

from tests.oracle.reading import Item, Shop, Table


@dataclass(frozen=True)
class Variant:
    """A set with every slot chosen: its code, the choice of each slot, the pieces with their quantities."""

    code: str
    table: Table
    chosen: tuple[tuple[str, Item, str], ...]
    pieces: tuple[tuple[Item, int], ...]
    stated: Table

    @property
    def options(self) -> dict[str, str]:
        """Slot = item code."""
        return {slot: item.code for slot, item, _ in self.chosen}

    @property
    def closed(self) -> bool:
        """Whether it is not sold, by its own or its set's status."""
        return bool("closed" in (self.stated.get("status"), self.table.get("status")))

    @property
    def needs(self) -> dict[str, int]:
        """Pieces of each item, a fixed one and a chosen one added up."""
        total: dict[str, int] = {}
        for item, quantity in self.pieces:
            total[item.code] = total.get(item.code, 0) + quantity
        return total


def variants_of(table: Table, shop: Shop) -> tuple[Variant, ...]:
    """Return the variants of a set in the order of its slots and options, the default option first."""
    choices = [_choices(entry) for entry in table["contents"] if "slot" in entry]
    return tuple(_variants(table, shop, choices))


def _choices(entry: Table) -> list[tuple[str, Table]]:
    options = [option if isinstance(option, dict) else {"item": option} for option in entry["choose"]]
    return [(entry["slot"], option) for option in options]


def _variants(table: Table, shop: Shop, choices: list[list[tuple[str, Table]]]) -> Iterator[Variant]:
    apart = [set(codes) for codes in table.get("not_together", [])]
    for combination in product(*choices):
        picked = dict(combination)
        pieces = []
        for entry in table["contents"]:
            code = picked[entry["slot"]]["item"] if "slot" in entry else entry["item"]
            pieces.append((shop.items[code], int(entry.get("quantity", 1))))
        codes = {item.code for item, _ in pieces}
        if any(len(codes & pair) > 1 for pair in apart):
            continue
        chosen = tuple((slot, shop.items[option["item"]], part_of(option, shop)) for slot, option in combination)
        options = {slot: item.code for slot, item, _ in chosen}
        stated: Table = next((one for one in table.get("variant", []) if one["options"] == options), {})
        code = stated.get("code") or "-".join([table["code"], *(part for _, _, part in chosen)])
        yield Variant(code, table, chosen, tuple(pieces), stated)


def part_of(option: Table, shop: Shop) -> str:
    """Return an option's part of the code."""
    return str(option.get("part") or shop.items[option["item"]].part)
