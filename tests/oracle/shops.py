"""Random shops as real folders: the same seed writes the same shop, so that one that fails can be made again."""

import csv
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from pathlib import Path
from random import Random
from typing import Any

from tests.oracle.reading import MINOR_DIGITS, written

_FIRST = (
    "Amber",
    "Basil",
    "Cedar",
    "Damson",
    "Elder",
    "Fennel",
    "Ginger",
    "Hazel",
    "Iris",
    "Juniper",
    "Linden",
    "Mallow",
)
_SECOND = ("Brook", "Field", "Garth", "Hollow", "Meadow", "Orchard", "Pasture", "Quarry", "Thicket", "Warren")
_FORMS = ("bar soap", "balm", "hand cream", "bath salts")
_OFF = ("wholesale-thin", "tier-dearer", "tier-thin", "sheet-stale", "fee-above-price")
"""Rules that would stop a shop whose figures are right, and unwise."""
_UNITS = ({"weight": "100 g", "volume": "100 ml"}, {"weight": "kg", "volume": "l"}, {"weight": "lb", "volume": "fl oz"})
_COUNTRIES = {"JPY": "JP", "KRW": "KR", "GBP": "GB", "EUR": "IE", "USD": "US", "KWD": "KW", "TND": "TN", "CLF": "CL"}
_LEVELS = {"JPY": 150, "KRW": 1300, "KWD": "0.35", "TND": 3, "CLF": "0.03"}
"""What about one pound, euro or dollar is in a currency, so that figures look like a shop's."""


@dataclass
class _Draft:
    """A shop in the making."""

    chance: Random
    currency: str
    customary: bool
    items: list[dict[str, str]] = field(default_factory=list)
    boxes: list[dict[str, Any]] = field(default_factory=list)

    def money(self, low: int, high: int) -> str:
        """Return an amount between so many hundredths of about a pound."""
        digits = MINOR_DIGITS[self.currency]
        level = Fraction(str(_LEVELS.get(self.currency, 1))) * 10**digits
        cents = self.chance.randint(int(low * level / 100), int(high * level / 100))
        if self.chance.random() < 0.4:
            cents -= cents % 5
        return written(Fraction(max(cents, 1), 10**digits), digits)

    def weight(self, low: int, high: int) -> str:
        """Return a weight of so many grams, in one of the units."""
        number = self.chance.randint(low, high)
        unit = self.chance.choice(["oz", "lb", "oz"] if self.customary else ["g", "g", "g", "kg"])
        if unit == "g":
            return f"{number} g"
        if unit == "kg":
            return f"{number / 1000:.3f} kg"
        return f"{number / 28:.2f} oz" if unit == "oz" else f"{number / 450:.3f} lb"

    def size(self, *sides: int) -> str:
        """Return a size of so many millimetres, in one of the units."""
        if self.customary:
            return " x ".join(f"{side / 25.4:.2f}" for side in sides) + " in"
        if self.chance.random() < 0.3:
            return " x ".join(f"{side / 10:.1f}" for side in sides) + " cm"
        return " x ".join(map(str, sides)) + " mm"

    def maybe(self, odds: float, **keys: Any) -> dict[str, Any]:
        """Return these keys, or none of them."""
        return keys if self.chance.random() < odds else {}

    def percent(self, *choices: str) -> str:
        """Return one of the shares, or one at random."""
        return self.chance.choice([*choices, f"{self.chance.randint(100, 3000) / 100:.2f} %"])


def write_shop(folder: Path, seed: int) -> Path:
    """Write the shop of a seed into an empty folder."""
    chance = Random(seed)
    currency = tuple(MINOR_DIGITS)[seed % len(MINOR_DIGITS)]
    draft = _Draft(chance, currency, customary=chance.random() < 0.4)
    rates = chance.random() < 0.7
    write_toml(folder / "shop.toml", _settings(draft))
    draft.items = [_item(draft, number) for number in range(chance.randint(6, 10))]
    draft.boxes = [*[_box(draft, number) for number in range(chance.randint(2, 3))], _tight_box(draft)]
    card = {
        "weight": draft.weight(8, 20),
        "cost": draft.money(10, 40),
        **draft.maybe(0.2, on_hand=chance.randint(20, 60)),
    }
    write_toml(folder / "packaging.toml", {"box": draft.boxes, **draft.maybe(0.7, card=card)})
    sets = [_set(draft, number) for number in range(chance.randint(3, 5))]
    for number, table in enumerate(sets):
        place = folder / "sets" / f"set-{number + 1}"
        write_toml(place / "set.toml", table)
        (place / "story.md").write_text("Made by hand in small pots.\n", encoding="utf-8")
    for number in range(chance.randint(2, 3)):
        write_toml(folder / "channels" / f"place_{number + 1}.toml", _channel(draft, number, rates=rates))
    if rates:
        write_rows(folder / "rates.csv", _rates(draft))
    if chance.random() < 0.8:
        write_toml(folder / "wholesale.toml", _wholesale(draft, [table["code"] for table in sets]))
    write_rows(folder / "items.csv", draft.items)
    return folder


def _settings(draft: _Draft) -> dict[str, Any]:
    chance, digits = draft.chance, MINOR_DIGITS[draft.currency]
    endings = {
        0: ["keep", "0", "80", "980", "00", "steps of 50"],
        2: ["keep", ".95", ".00", ".50", "9.95", "steps of 0.05", "steps of 0.25"],
        3: ["keep", ".950", ".500", "steps of 0.050", "steps of 0.25"],
        4: ["keep", ".9500", "steps of 0.005", "steps of 0.0250"],
    }[digits]
    return {
        "name": "Oracle Shop",
        "currency": draft.currency,
        "country": _COUNTRIES[draft.currency],
        "language": "en",
        "address": "1 Trial Lane",
        "website": "https://oracle.example",
        "prices": {
            "uplift": draft.money(0, 300),
            "ending": chance.choice(endings),
            "option_prices": chance.choice(["own", "own", "dearest"]),
            "wage": draft.money(1000, 2500),
            "tax": draft.percent("0 %", "20 %", "19 %", "5 %", "5.5 %"),
            "wholesale": chance.choice(["50 %", "45 %", "42 %", "60 %", "36 %", "33.3 %"]),
            "set_wholesale": chance.choice(["50 %", "45 %", "60 %", "sum of items", "margin 40 %", "margin 33.3 %"]),
        },
        "stock": {"hold_back": chance.randint(0, 3)},
        "packing": draft.maybe(0.7, clearance=chance.choice(["3 mm", "0 mm", "0.1 in", "0.5 cm"])),
        "freight": _freight(draft),
        **draft.maybe(0.35, reduction=[_reduction(draft)]),
        "shots": {"required": []},
        "checks": dict.fromkeys(_OFF, "off"),
    }


def _reduction(draft: _Draft) -> dict[str, Any]:
    """Return a lower price for a time around today, or just not."""
    begin, end = draft.chance.choice([(1, 30), (25, 25), (24, 26), (26, 30), (1, 24)])
    endings = {0: "00", 2: ".95", 3: ".500"}  # of amounts far below one, as with four digits, an ending leaves nothing
    ending = endings.get(MINOR_DIGITS[draft.currency])
    lower: list[dict[str, Any]] = [{"by": draft.percent("15 %", "33.3 %")}, {"ending": ending}]
    return {
        "from": date(2026, 11, begin),
        "until": date(2026, 11, end),
        **lower[draft.chance.randrange(2) if ending else 0],
        **draft.maybe(0.5, channels=["place_1"]),
    }


def _freight(draft: _Draft) -> dict[str, Any]:
    chance = draft.chance
    metric = [5000, 6000, 4000, "5000 cm³/kg"]
    return {
        "divisor": chance.choice(["139 in³/lb", "166 in³/lb", 5000] if draft.customary else metric),
        "sides": chance.choice(["as measured", "half up", "up"]),
        "step": chance.choice(["1 g", "10 g", "500 g", "1 oz", "1 lb", "0.5 kg"]),
        **draft.maybe(0.3, measure=chance.choice(["metric", "customary"])),
        **draft.maybe(0.6, free_above=draft.money(1500, 5000), **draft.maybe(0.4, free_share=draft.percent("20 %"))),
        **draft.maybe(0.3, packet={"together": "700 mm", "longest": "300 mm", "tolerance": "4 mm", "weight": "900 g"}),
    }


def _item(draft: _Draft, number: int) -> dict[str, str]:
    chance = draft.chance
    first, second = _FIRST[number % len(_FIRST)], chance.choice(_SECOND)
    across, deep, high = chance.randint(40, 90), chance.randint(25, 70), chance.randint(20, 60)
    cylinder = chance.random() < 0.3
    size = draft.size(deep, deep, high) if cylinder else draft.size(across, deep, high)
    gram = chance.randint(60, 400)
    return {
        "code": f"OR-{number + 1:02d}",
        "name": f"{first} {second}",
        "form": chance.choice(_FORMS),
        "net": chance.choice(["", f"{gram // 2} g", "50 ml", f"{gram * 2 // 3} g"]),
        "retail": draft.money(250, 1900),
        "tax": chance.choice(["", "", "", "5 %", "0 %", "12.5 %"]),
        "cost": draft.money(60, 200),
        "weight": draft.weight(gram, gram + 30),
        "size": size,
        "shape": "cylinder" if cylinder else "box",
        "upright": "yes" if chance.random() < 0.3 else "no",
        "on hand": "" if chance.random() < 0.15 else str(chance.randint(0, 40)),
        "status": "on sale",
    }


def _box(draft: _Draft, number: int) -> dict[str, Any]:
    chance, step = draft.chance, 60 * number
    inside = (260 + step, 200 + step, 95 + 5 * number)
    outside = tuple(side + 4 for side in inside)
    carton = {
        "outside": draft.size(*(side + chance.randint(10, 40) for side in outside)),
        "weight": draft.weight(60, 200),
    }
    fill = {"weight": draft.weight(4, 30), "cost": draft.money(5, 30)}
    return {
        "code": "PQRS"[number],
        "inside": draft.size(*inside),
        "outside": draft.size(*(side + 1 for side in outside)),
        "weight": draft.weight(30, 150),
        "cost": draft.money(50, 200),
        "minutes": chance.randint(0, 9),
        **draft.maybe(0.8, fill=fill),
        **draft.maybe(0.85, carton=carton),
        **draft.maybe(0.2, on_hand=chance.randint(10, 50)),
    }


def _tight_box(draft: _Draft) -> dict[str, Any]:
    """Return a box that no set names, so small that some pieces go in and some do not."""
    chance = draft.chance
    inside = (chance.randint(80, 220), chance.randint(60, 140), chance.randint(40, 80))
    return {
        "code": "T",
        "inside": draft.size(*inside),
        "outside": draft.size(*(side + 6 for side in inside)),
        "weight": "20 g",
        "cost": draft.money(30, 90),
        "carton": {"outside": draft.size(*(side + 25 for side in inside)), "weight": draft.weight(40, 90)},
        **draft.maybe(0.4, most_weight=draft.weight(200, 900)),
    }


def _set(draft: _Draft, number: int) -> dict[str, Any]:
    """Return a set; the smallest box is asked for where all pieces are boxes, since round ones may lie closer."""
    chance = draft.chance
    codes = [item["code"] for item in draft.items]
    chance.shuffle(codes)
    slots = chance.choice([0, 1, 1, 1, 2])
    fixed = chance.randint(0 if slots else 1, 2)
    contents: list[dict[str, Any]] = [{"item": codes.pop(), **draft.maybe(0.2, quantity=2)} for _ in range(fixed)]
    for slot in range(slots):
        options = [codes.pop() for _ in range(min(chance.randint(1, 4), len(codes)))]
        if options:
            quantity = draft.maybe(0.15, quantity=2) if len(contents) < 2 else {}
            choose = [chance.choice([code, {"item": code, "part": f"X{code[-2:]}"}]) for code in options]
            default = draft.maybe(0.5, default=chance.choice(options))
            contents.append({"slot": ("Jar", "Bar")[slot], "choose": choose, **default, **quantity})
    first = next((entry for entry in contents if "slot" in entry and len(entry["choose"]) > 1), None)
    closed = []
    if first is not None and slots == 1 and chance.random() < 0.3:
        option = first["choose"][-1]
        code = option["item"] if isinstance(option, dict) else option
        closed = [{"options": {first["slot"]: code}, "status": "closed"}]
    named = {item["code"] for item in draft.items} - set(codes)
    by_sides = all(item["shape"] == "box" for item in draft.items if item["code"] in named)
    boxless = chance.random() < 0.25
    carton = {"outside": draft.size(190, 150, 100), "weight": draft.weight(60, 90)}
    return {
        "code": f"ORS-{number + 1}",
        "name": f"{_SECOND[number]} {_FIRST[-number - 1]}",
        "theme": "A small thing for a long evening.",
        "box": "none" if boxless else chance.choice(["P", "Q", "smallest" if by_sides else "P"]),
        "keywords": ["gift"],
        "contents": contents,
        **draft.maybe(0.2, uplift=draft.money(0, 400)),
        **draft.maybe(0.15, ending="keep"),
        **draft.maybe(0.2, option_prices=chance.choice(["own", "dearest"])),
        **draft.maybe(0.2, wholesale=chance.choice(["45 %", "sum of items", "margin 25 %", "47.5 %"])),
        **draft.maybe(0.15, card=False),
        **(draft.maybe(0.6, carton=carton) if boxless else {}),
        **({"variant": closed} if closed else {}),
    }


def _channel(draft: _Draft, number: int, *, rates: bool) -> dict[str, Any]:
    chance = draft.chance
    zone = {"zone": chance.choice(["home", "abroad"])} if rates and chance.random() < 0.6 else {}
    posted = {"fee_on": "price and postage"} if zone and chance.random() < 0.5 else {}
    order = {"fixed_fee_per": "order", **draft.maybe(0.5, pieces_in_order=chance.choice([2, 3, "1.5"]))}
    if "pieces_in_order" in order and isinstance(order["pieces_in_order"], str):
        order["pieces_in_order"] = Fraction(order["pieces_in_order"])
    return {
        "name": f"Place {number + 1}",
        "make": ["feed", *chance.choice([[], ["price list"], ["listings"]])],
        "feed": chance.choice(["csv", "csv", "json", "jsonl", "xlsx"]),
        "rows": chance.choice(["variant", "variant", "listing", "listing, then variants"]),
        "fee": draft.percent("0 %", "2.9 %", "11 %", "12.5 %"),
        **draft.maybe(0.6, fixed_fee=draft.money(5, 60)),
        **(order if chance.random() < 0.5 else {"fixed_fee_per": "piece"}),
        **draft.maybe(0.2, minimum_fee=draft.money(20, 200)),
        **draft.maybe(0.25, tax=draft.percent("0 %", "25 %", "21 %")),
        **draft.maybe(0.3, hold_back=chance.randint(0, 5)),
        **draft.maybe(0.5, unit_price=chance.choice(_UNITS)),
        "sold_out": chance.choice(["show", "hide"]),
        **zone,
        **posted,
        "dialect": {
            "weight": chance.choice(["g", "kg", "oz", "lb"]),
            "length": chance.choice(["mm", "cm", "in"]),
            "decimal": chance.choice([".", ".", ","]),
            "separator": ";",
        },
    }


def _rates(draft: _Draft) -> Iterable[dict[str, str]]:
    for service, zone, packet, low in (
        ("Marsh Packet", "home", "yes", 200),
        ("Marsh Parcel", "home", "no", 350),
        ("Far Packet", "abroad", "yes", 500),
        ("Far Parcel", "abroad", "no", 900),
    ):
        for number, up_to in enumerate((300, 600, 1000, 2000, 5000, 30000)):
            price = draft.money(low + 100 * number, low + 100 * number + 90)
            yield {"service": service, "zone": zone, "up to": f"{up_to} g", "price": price, "packet": packet}


def _wholesale(draft: _Draft, sets: list[str]) -> dict[str, Any]:
    chance = draft.chance
    lines = [*sets, *(item["code"] for item in draft.items[:4])]
    display = {"price": chance.choice(["half", "free", draft.money(300, 900)]), "holds": "one set"}
    tiers = [{"from": 12 * at, "wholesale": f"{47 - 4 * at} %"} for at in range(1, chance.randint(1, 3))]
    return {
        "issued": date(2026, 11, 1),
        "valid_until": date(2027, 3, 1),
        "opening": draft.money(1000, 9000),
        **draft.maybe(0.6, case_pack={"items": chance.randint(2, 6), "sets": 2, "mixed": chance.random() < 0.5}),
        **draft.maybe(0.5, display=display),
        "group": [{"title": "All lines", "lines": lines}],
        "tier": tiers,
    }


# TOML and CSV


def write_rows(path: Path, rows: Iterable[dict[str, str]]) -> None:
    """Write a table with its header."""
    listed = list(rows)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(listed[0]))
        writer.writeheader()
        writer.writerows(listed)


def write_toml(path: Path, table: dict[str, Any]) -> None:
    """Write a TOML file, lists of tables as [[...]]."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("\n".join(_toml(table, "")) + "\n", encoding="utf-8")


def _toml(table: dict[str, Any], name: str) -> Iterable[str]:
    plain = {key: value for key, value in table.items() if not _is_tables(value)}
    yield from (f"{key} = {_value(value)}" for key, value in plain.items())
    for key, value in table.items():
        if _is_tables(value):
            for each in value:
                yield f"\n[[{name}{key}]]"
                yield from _toml(each, f"{name}{key}.")


def _is_tables(value: object) -> bool:
    return isinstance(value, list) and bool(value) and isinstance(value[0], dict) and "item" not in value[0]


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "{ " + ", ".join(f'"{key}" = {_value(each)}' for key, each in value.items()) + " }" if value else "{}"
    if isinstance(value, list):
        return f"[{', '.join(map(_value, value))}]"
    if isinstance(value, Fraction):
        return str(float(value))
    return f'"{value}"' if isinstance(value, str) else str(value)
