"""Shops that once gave no answer: a set of many pieces and many variants, five of twelve, Advent boxes."""

from collections.abc import Callable
from typing import Any

from listkit.model.item import Item
from listkit.model.shop import Shop
from tests.small_shop import BOX_S, channel, gift_set, item, shop

Contents = list[dict[str, Any]]


def _boxes(*insides: str) -> dict[str, Any]:
    return {"box": [{**BOX_S, "code": f"N{number}", "inside": inside} for number, inside in enumerate(insides)]}


def _shop(items: list[Item], contents: Contents, *insides: str, stacked: bool = False) -> Shop:
    one = gift_set(contents, box="smallest", stacked=stacked)
    return shop(items, [one], packaging=_boxes(*insides), channels=(channel(),))


def _jar(code: str, across: int, high: int, **says: Any) -> Item:
    return item(code, size=f"{across} x {across} x {high} mm", shape="cylinder", upright="yes", **says)


def _slot(name: str, *codes: str) -> dict[str, Any]:
    return {"slot": name, "choose": list(codes)}


def thirteen(*, stacked: bool = False, tight: bool = True) -> Shop:
    """Seven fixed pieces and six slots with two options of unlike sizes: 64 variants, four boxes."""
    items = [item(f"F{n}", size=f"{40 + 3 * n} x {35 + 2 * n} x {20 + n} mm") for n in range(7)]
    slots = []
    for n in range(3):
        items += [_jar(f"A{n}", 62 + n, 50 + n), _jar(f"B{n}", 66 + n, 52 + n)]
        items += [
            item(f"C{n}", size=f"{80 + n} x {50 + n} x 28 mm"),
            item(f"D{n}", size=f"{84 + n} x {55 + n} x 28 mm"),
        ]
        slots += [_slot(f"Jar {n}", f"A{n}", f"B{n}"), _slot(f"Bar {n}", f"C{n}", f"D{n}")]
    contents = [*({"item": f"F{n}"} for n in range(7)), *slots]
    tightly = ("176 x 162 x 60 mm", "178 x 164 x 60 mm", "180 x 166 x 60 mm", "182 x 168 x 60 mm")
    roomy = ("230 x 180 x 60 mm", "240 x 200 x 60 mm", "270 x 200 x 60 mm", "300 x 230 x 60 mm")
    return _shop(items, contents, *(tightly if tight else roomy), stacked=stacked)


def five_of_nine(*, alike: bool = True) -> Shop:
    """Five slots with the same nine bars: 59,049 variants; bars of one size, or of nine."""
    items = [item(f"B{n}", size=f"{86 - n * (not alike)} x 58 x 28 mm", weight=f"{110 + n} g") for n in range(9)]
    contents = [_slot(f"Bar {n}", *(each.code for each in items)) for n in range(5)]
    return _shop(items, contents, "162 x 122 x 70 mm", "210 x 160 x 75 mm", "260 x 190 x 75 mm")


def advent(doors: int) -> Shop:
    """Tins behind all doors but four, where minis are chosen: 81 variants."""
    items = [_jar(f"A{n}", 45 + n % 5, 30) for n in range(doors)]
    items += [item(f"M{n}", size=f"{50 + n} x {40 + n} x 25 mm") for n in range(3)]
    contents: Contents = [{"item": f"A{n}"} for n in range(doors - 4)]
    contents += [_slot(f"Door {n}", "M0", "M1", "M2") for n in range(4)]
    across, along = {12: (4, 3), 24: (6, 4)}[doors]
    return _shop(items, contents, *(f"{across * side} x {along * side} x 40 mm" for side in (46, 49, 52)))


HARD: dict[str, Callable[[], Shop]] = {
    "13 pieces, 64 variants, 4 roomy boxes": lambda: thirteen(tight=False),
    "13 pieces, 64 variants, 4 tight boxes": thirteen,
    "the same, stacked": lambda: thirteen(stacked=True),
    "5 of 9, 59,049 variants, bars of one size": five_of_nine,
    "5 of 9, bars of nine sizes": lambda: five_of_nine(alike=False),
    "Advent box of 12": lambda: advent(12),
    "Advent box of 24": lambda: advent(24),
}
