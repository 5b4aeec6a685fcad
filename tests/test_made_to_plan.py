"""Half a year of the demo shop made to its plan: the make list followed to the day leaves no set unmade.

The play keeps its books by itself: what goes into a batch it reads from recipes.csv, how long a form cures from
shop.toml, and counts days with `datetime`. listkit is asked for the make list on Monday mornings, and told of
all as an owner would tell it: what was poured, made and sold, and what is on the shelf of raw materials.
"""

import csv
import datetime
import math
import shutil
import tomllib
from collections import Counter, defaultdict
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any, Final

import pytest

from listkit.cli import main
from listkit.compute.build import build_catalog
from listkit.compute.plan import make_plan
from listkit.pipeline import open_shop
from listkit.present.plan import plan_json
from tests.shops import DEMO
from tests.test_half_year import START, _variants

DAYS: Final = 26 * 7
ONE: Final = datetime.timedelta(1)
MONDAY: Final = START + ONE  # the second of November
GRAMS: Final = {"kg": Decimal(1000), "g": Decimal(1), "pieces": Decimal(1), "piece": Decimal(1)}
WANTED: Final = (  # set, place, how many, days after the beginning
    ("OHS-7", "web_shop", 60, 60), ("OHS-1", "web_shop", 60, 75), ("OHS-1", "stall", 36, 96),
    ("OHS-2", "web_shop", 44, 110), ("OHS-2", "stall", 30, 131), ("OHS-7", "stall", 60, 138),
    ("OHS-9", "web_shop", 40, 140), ("OHS-4", "web_shop", 30, 152), ("OHS-1", "web_shop", 45, 166),
    ("OH-T01", "stall", 40, 173), ("OHS-2", "web_shop", 40, 180),
)  # fmt: skip
MORE: Final = """OH-B05,soap base,2.9 kg
OH-B05,oat flour,200 g
OH-S02,sugar,1.1 kg
OH-S02,sunflower oil,430 g
OH-S03,sugar,1.1 kg
OH-S03,almond oil,200 g
OH-L01,beeswax,80 g
OH-L01,shea butter,60 g
"""
"""Recipes of what else the sets take, so that nothing but raw materials is bought; the dish is bought as it is."""
MAKING: Final = """
[[making]]
form = "salt scrub"
batch_size = 12
hours_a_batch = "0.75"

[[making]]
form = "lip balm"
batch_size = 40
hours_a_batch = 1
"""


def size_of(text: str) -> Decimal:
    """Return an amount in grams or pieces: "1.3 kg", "kg", "24 pieces"."""
    number, _, unit = text.rpartition(" ")
    return Decimal(number or 1) * GRAMS[unit]


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """The demo without its photos and its draft, with what else is made, and a plan of half a year."""
    folder = tmp_path / "shop"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("out", "photos", "channels"))
    shutil.copytree(DEMO / "channels", folder / "channels")
    for file in folder.glob("sets/*/set.toml"):
        whole = file.read_text(encoding="utf-8").replace('box = "smallest each"', 'box = "M"')
        file.write_text(whole.partition("[[photos]]")[0], encoding="utf-8")
    settings = (folder / "shop.toml").read_text(encoding="utf-8")
    (folder / "shop.toml").write_text(settings.replace('logo = "logo.png"\n', ""), encoding="utf-8")
    for name, text in (("shop.toml", MAKING), ("recipes.csv", MORE)):
        with (folder / name).open("a", encoding="utf-8") as stream:
            stream.write(text)
    with (folder / "plan.csv").open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerow(["set or item", "place", "how many", "by when"])
        csv.writer(stream).writerows([code, place, n, START + days * ONE] for code, place, n, days in WANTED)
    return folder


class Workshop:
    """The play's books: pieces, raw materials, what is on its way and what is curing."""

    def __init__(self, shop: Path, *, follows: bool) -> None:
        self.shop, self.follows = shop, follows
        with (shop / "items.csv").open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        self.items = {row["code"]: row for row in rows}
        self.have = Counter({row["code"]: int(row["on hand"]) for row in rows})
        with (shop / "materials.csv").open(encoding="utf-8", newline="") as file:
            self.materials = {row["material"]: row for row in csv.DictReader(file)}
        self.shelf = {name: size_of(row["on hand"]) if row["on hand"] else None for name, row in self.materials.items()}
        self.recipes: dict[str, list[tuple[str, Decimal]]] = defaultdict(list)
        with (shop / "recipes.csv").open(encoding="utf-8", newline="") as file:
            for row in csv.DictReader(file):
                self.recipes[row["item"]].append((row["material"], size_of(row["amount"])))
        settings = tomllib.loads((shop / "shop.toml").read_text(encoding="utf-8"))
        self.ways = {ways["form"]: ways for ways in settings["making"]}
        self.closed = set(settings["workshop"]["closed"])
        self.sets = dict(_variants(shop))
        self.comes: dict[datetime.date, list[tuple[str, Decimal]]] = defaultdict(list)
        self.ripens: dict[datetime.date, Counter[str]] = defaultdict(Counter)
        self.on_its_way: dict[str, Decimal] = defaultdict(Decimal)
        self.unmade = self.made_sets = self.poured = self.late = 0
        self.rows: list[list[object]] = []
        self.lacked: list[tuple[datetime.date, str]] = []

    def works(self, day: datetime.date) -> bool:
        return day.weekday() < 5 and day not in self.closed

    def takes(self, code: str, share: Decimal = Decimal(1)) -> Iterator[tuple[str, Decimal]]:
        """Yield what a share of a batch takes of raw materials; a mixture is parted by what all of it weighs."""
        for name, size in self.recipes[code]:
            if name in self.recipes:
                whole = sum(each for _, each in self.recipes[name])
                yield from self.takes(name, share * size / whole)
            else:
                yield name, size * share

    def pour(self, code: str, batches: int, day: datetime.date) -> None:
        """Pour on a working day, from what is on the shelf; it is ready after its cure and the days to wrap it."""
        way = self.ways[self.items[code]["form"]]
        pieces = int(way["batch_size"] * batches * Decimal(str(way.get("yield", "100 %")).rstrip(" %")) / 100)
        pieces -= pieces % batches
        takes = [*self.takes(code, Decimal(batches))]
        if self.items[code]["container"] in self.materials:
            takes.append((self.items[code]["container"], Decimal(pieces)))
        needed: defaultdict[str, Decimal] = defaultdict(Decimal)
        for name, size in takes:
            needed[name] += size
        counted = {
            name: there for name, there in self.shelf.items() if there is not None
        }  # of water nobody keeps count
        short = [name for name, size in needed.items() if counted.get(name, size) < size - Decimal("1e-9")]
        if short or not self.works(day):
            self.lacked.append((day, f"{code}: {', '.join(short)}"))
            return
        for name in needed.keys() & counted.keys():
            self.shelf[name] = counted[name] - needed[name]
        cure = str(way.get("cure", 0))
        ready = day + datetime.timedelta(7 * int(cure.split(maxsplit=1)[0]) if "week" in cure else int(cure))
        for _ in range(way.get("ready_after", 0)):
            ready += ONE
            while not self.works(ready):
                ready += ONE
        self.ripens[ready][code] += pieces
        self.poured += batches
        self.rows.append([day, "poured", code, pieces, ""])

    def tell(self, day: datetime.date) -> None:
        """Add what moved on a day, as a sheet of hers, and write down what is on the shelf of raw materials."""
        if self.rows:
            path = self.shop.parent / f"{self.shop.name}-{day}.csv"
            with path.open("w", encoding="utf-8", newline="") as file:
                csv.writer(file).writerows([["day", "kind", "code", "quantity", "place"], *self.rows])
            assert main(["stock", "add", str(path), "--shop", str(self.shop), "--today", f"{day}"]) == 0
            self.rows.clear()
        with (self.shop / "materials.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, ["material", "unit", "price", "on hand", "on its way", "days to get"])
            writer.writeheader()
            for name, row in self.materials.items():
                unit = "pieces" if "piece" in row["unit"] else "g"
                there = self.shelf[name]
                comes = f"{self.on_its_way[name]:f} {unit}" if self.on_its_way[name] else ""
                writer.writerow({**row, "on hand": "" if there is None else f"{there:f} {unit}", "on its way": comes})

    def look(self, day: datetime.date) -> dict[str, Any]:
        shop = open_shop(self.shop).shop
        return plan_json(make_plan(build_catalog(shop), day), shop, day)

    def order(self, buys: list[dict[str, Any]], day: datetime.date) -> None:
        """Order what is to be ordered on a day, in whole packs; goods that are bought as they are come the same way."""
        for buy in buys:
            name, days = buy["name"], buy["days"] or 0
            if (buy["order_by"] or buy["by"]) != f"{day}":
                continue
            number = Decimal(str(buy["short"]))
            if name in self.materials:
                pack = size_of(self.materials[name]["unit"])
                number = pack * math.ceil(number / pack)
                self.on_its_way[name] += number
            self.comes[day + datetime.timedelta(days)].append((name, number))

    def half_year(self) -> None:
        if self.follows:
            start = ["--day", f"{START}", "--today", f"{START}"]
            assert main(["stock", "start", "--shop", str(self.shop), *start]) == 0
        by_name = {f"{row['name']} {row['form']}": code for code, row in self.items.items()}
        plan: dict[str, Any] = {"makes": [], "buys": []}
        for at in range(DAYS):
            day = MONDAY + at * ONE
            self.arrive(day, by_name)
            if day.weekday() == 0 and self.follows:
                plan = self.look(day)
                self.late += sum(make["late"] for make in plan["makes"])
            if self.follows:
                self.order(plan["buys"], day)
                self.arrive(day, by_name)
                for make in plan["makes"]:
                    if make["pour_by"] == f"{day}":
                        self.pour(make["code"], make["batches"], day)
            elif day.weekday() == 0 and at % 28 == 0:
                self.by_feeling(day)
            self.arrive(day, by_name)
            self.sell(day)
            if self.follows:
                self.tell(day)

    def by_feeling(self, day: datetime.date) -> None:
        """Once a month a batch of whatever there is least of, and all that it takes bought beforehand."""
        for code in sorted(self.recipes.keys() & self.items.keys(), key=lambda code: (self.have[code], code))[:6]:
            for name, size in self.takes(code):
                self.shelf[name] = (self.shelf[name] or Decimal(0)) + size
            container = self.items[code]["container"]
            if container in self.materials:
                self.shelf[container] = (self.shelf[container] or Decimal(0)) + 24
            self.pour(code, 1, day)

    def arrive(self, day: datetime.date, by_name: dict[str, str]) -> None:
        """Put away what comes and what is ready."""
        for name, number in self.comes.pop(day, []):
            if name in self.materials:
                self.on_its_way[name] -= number
                self.shelf[name] = (self.shelf[name] or Decimal(0)) + number
            elif name in by_name:
                self.have[by_name[name]] += int(number)
                self.rows.append([day, "came back", by_name[name], int(number), ""])
        for code, pieces in self.ripens.pop(day, Counter[str]()).items():
            self.have[code] += pieces
            self.rows.append([day, "made", code, pieces, ""])

    def sell(self, day: datetime.date) -> None:
        """Pack what is wanted on a day, each choice as often as the others, and hand it over; count what cannot be."""
        for code, place, number, after in WANTED:
            if START + after * ONE != day:
                continue
            codes = [each for each in self.sets if each == code or each.startswith(f"{code}-")] or [code]
            for at, each in enumerate(codes):
                wanted = number // len(codes) + (at < number % len(codes))
                parts = {piece: n for piece, n in self.sets.get(each, {each: 1}).items() if not piece.startswith("box")}
                can = min(self.have[piece] // n for piece, n in parts.items())
                labels = self.shelf["label"] or Decimal(0)
                boxed = self.sets.get(each, {}).keys() - parts.keys()
                can = min(can, int(labels)) if boxed else can
                made = min(wanted, can)
                self.made_sets += made
                self.unmade += wanted - made
                for piece, n in parts.items():
                    self.have[piece] -= n * made
                if boxed:
                    self.shelf["label"] = labels - made
                if made:
                    self.rows.append([day, "sold", each, made, place])


def test_the_make_list_followed_to_the_day_leaves_no_set_unmade(shop: Path) -> None:
    """Of 485 sets and pieces 217 stay unmade where she pours a batch of the six she has least of once a month."""
    followed, by_feeling = Workshop(shop, follows=True), Workshop(shop, follows=False)
    by_feeling.half_year()
    followed.half_year()
    assert by_feeling.unmade == 217
    assert followed.lacked == []
    assert (followed.unmade, followed.made_sets) == (0, sum(number for _, _, number, _ in WANTED))
    assert followed.late == 0, "nothing is called too late that was begun when the list said"
    assert followed.poured == 42
    assert by_feeling.poured == 36
