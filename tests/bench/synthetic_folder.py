"""The made-up shop of synthetic.py as a folder of files, pictures with pixels included, for benchmarks that read.

The same arguments give the same files. Beside what the shop says it has terms for shops that buy, labels and
cards, so that every writer has something to write.
"""

import csv
import json
import random
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Final

from PIL import Image, ImageDraw

from listkit.model.gift_set import GiftSet, Slot
from listkit.model.item import Item
from listkit.model.settings import Settings
from listkit.model.shop import SetFolder, Shop
from tests.bench.synthetic import CHANNEL, PACKAGING, synthetic_shop

SIZE: Final = (1600, 1200)
_HEADINGS: Final = {
    "code": "code", "name": "name", "form": "form", "scent": "scent", "net": "net", "container": "container",
    "retail": "retail", "cost": "cost", "weight": "weight", "size": "size", "shape": "shape", "upright": "upright",
    "fragile": "fragile", "shelf_life": "shelf life (months)", "on_hand": "on hand", "gtin": "gtin",
    "ingredients": "ingredients", "cautions": "cautions",
}  # fmt: skip
_PRINTED: Final = """
[labels]
size = "150 x 140 mm"

[cards]
size = "85 x 55 mm"
"""
_TERMS: Final = """issued = 2027-01-15
valid_until = 2027-07-14
opening = "200"
payment = "first order prepaid, then 30 days"
case_pack = { sets = 2, mixed = true }
"""


def synthetic_folder(folder: Path, sets: int, variants: int = 50, seed: int = 7, *, photos: int = 3) -> Shop:
    """Write the shop into an empty folder and return what it was written from."""
    shop = synthetic_shop(sets, variants, seed, photos=photos)
    _write(folder / "shop.toml", _settings(shop.settings) + _PRINTED)
    _write(folder / "packaging.toml", _toml(PACKAGING))
    _write(folder / "wholesale.toml", _TERMS)
    _write(folder / "channels/web_shop.toml", _toml({"feed": "csv", "rows": "variant", "text": "html", **CHANNEL}))
    with (folder / "items.csv").open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(_HEADINGS.values())
        rows.writerows(_row(item) for item in shop.items)
    for one in shop.sets:
        _write_set(folder, one)
    return shop


def _write_set(folder: Path, one: SetFolder) -> None:
    own = folder / "sets" / one.folder
    _write(own / "set.toml", _set(one.gift_set))
    for story in one.stories:
        _write(folder / story.file, story.text)
    for photo in one.photos:
        path = folder / photo.file
        path.parent.mkdir(parents=True, exist_ok=True)
        _picture(photo.facts.sha256).save(path, quality=90)


def _picture(seed: str) -> Image.Image:
    """Return three things on a plain cloth with the grain of a sensor, as the seed puts them."""
    chance = random.Random(seed)
    picture = Image.new("RGB", SIZE, (244, 239, 230))
    drawn = ImageDraw.Draw(picture)
    for _ in range(3):
        left, top = chance.randrange(200, 1000), chance.randrange(200, 700)
        colour = tuple(chance.randrange(60, 200) for _ in range(3))
        drawn.ellipse((left, top, left + chance.randrange(200, 400), top + chance.randrange(150, 300)), fill=colour)
    grain = Image.effect_noise(SIZE, 12).convert("RGB")
    return Image.blend(picture, grain, 0.06)


def _row(item: Item) -> list[str]:
    return [_cell(getattr(item, name)) for name in _HEADINGS]


def _cell(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ";".join(value)
    return "" if value is None else str(getattr(value, "text", value))


def _settings(settings: Settings) -> str:
    top = {name: getattr(settings, name) for name in ("name", "currency", "country", "website")}
    prices = {"uplift": "1.00", "wage": "18.00", "tax": "20 %"}
    seasons = [{"name": one.name, "on_sale": one.on_sale, "off_sale": one.off_sale} for one in settings.seasons]
    return _toml({**top, "prices": prices, "stock": {"hold_back": 2}, "season": seasons})


def _set(one: GiftSet) -> str:
    top = {name: getattr(one, name) for name in ("code", "name", "theme", "season", "box")}
    contents = [
        {"slot": entry.slot, "choose": [option.item for option in entry.choose]}
        if isinstance(entry, Slot)
        else {"item": entry.item}
        for entry in one.contents
    ]
    return _toml({**top, "keywords": list(one.keywords), "contents": contents})


def _toml(facts: dict[str, Any]) -> str:
    """Return facts as TOML: values first, then tables, then lists of tables."""
    lines = [f"{name} = {_value(value)}" for name, value in facts.items() if not _tables(value)]
    for name, value in facts.items():
        for table in _tables(value):
            head = f"[{name}]" if isinstance(value, dict) else f"[[{name}]]"
            lines += ["", head, *(f"{key} = {_value(inner)}" for key, inner in table.items())]
    return "\n".join(lines) + "\n"


def _tables(value: object) -> Iterable[dict[str, Any]]:
    if isinstance(value, dict):
        return (value,)
    return value if isinstance(value, list) and value and isinstance(value[0], dict) else ()


def _value(value: object) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_value(inner)}" for key, inner in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, str | bool | int):
        return json.dumps(value, ensure_ascii=False)
    return str(value)  # a day


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
