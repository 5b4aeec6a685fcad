"""Random shops of few pieces, whose sets share them: slots of unlike quantity, closed variants, counted boxes."""

from pathlib import Path
from random import Random
from typing import Any

from tests.oracle.shops import write_rows, write_toml

_NAMES = ("Amber", "Basil", "Cedar", "Damson", "Elder", "Fennel")


def write_stock_shop(folder: Path, seed: int) -> Path:
    """Write the shop of a seed into an empty folder: one set, so that nothing else takes its pieces."""
    chance = Random(seed)
    items = [_item(chance, at) for at in range(5)]
    codes = [item["code"] for item in items]
    quantities = [chance.choice([1, 1, 2, 3]), chance.choice([1, 2, 2, 3])]
    slots: list[dict[str, Any]] = [
        {"slot": name, "choose": sorted(chance.sample(codes, 2)), "quantity": quantity}
        for name, quantity in zip(("Jar", "Bar"), quantities, strict=True)
    ]
    fixed = [{"item": chance.choice(codes), "quantity": chance.choice([1, 1, 2])}] if chance.random() < 0.4 else []
    closed = []
    if chance.random() < 0.4:
        closed = [{"options": {slot["slot"]: slot["choose"][-1] for slot in slots}, "status": "closed"}]
    limit = {"on_hand": chance.randint(1, 8)} if chance.random() < 0.3 else {}
    card = {"on_hand": chance.randint(1, 8)} if chance.random() < 0.3 else {}
    box = {"code": "P", "inside": "400 x 300 x 100 mm", "weight": "90 g", "cost": "1.00", **limit}
    settings = {"name": "Stock Shop", "currency": "GBP", "country": "GB", "shots": {"required": []}}
    table: dict[str, Any] = {"code": "STS-1", "name": "Stock Set", "box": "P", "contents": [*fixed, *slots]}
    write_toml(folder / "shop.toml", settings)
    write_toml(folder / "packaging.toml", {"box": [box], "card": {"weight": "9 g", "cost": "0.10", **card}})
    write_toml(folder / "sets/stock-set/set.toml", {**table, **({"variant": closed} if closed else {})})
    write_toml(folder / "channels/place_1.toml", {"name": "Place 1", "make": ["feed"]})
    write_rows(folder / "items.csv", items)
    return folder


def _item(chance: Random, at: int) -> dict[str, str]:
    return {
        "code": f"ST-{at + 1:02d}",
        "name": f"{_NAMES[at]} Brook",
        "form": "bar soap",
        "net": "",
        "retail": "7.50",
        "tax": "",
        "cost": "1.85",
        "weight": "119 g",
        "size": "60 x 50 x 28 mm",
        "shape": "box",
        "upright": "no",
        "on hand": str(chance.randint(0, 9)),
        "status": "on sale",
    }
