"""How fast costs follow and a make list is computed; python -m tests.bench.bench_plan. CPU seconds, the best of three.

Aims: the make list of the demo in 1 s, of a shop of 300 items with a recipe each in 5 s, 366 closed days among them.
"""

import datetime
import random
import shutil
import tempfile
from pathlib import Path

from listkit.compute.build import build_catalog
from listkit.compute.costs import costed
from listkit.compute.plan import make_plan
from listkit.pipeline import open_shop
from tests.bench.bench_stock import best
from tests.shops import CLEAN, DEMO, clean_shop

TODAY = datetime.date(2026, 11, 25)
ITEMS = 300
MATERIALS = 40
ROWS = 600
_HEAD = "code,name,form,net,retail,cost,weight (g),size (mm),on hand\n"


def demo_folder(folder: Path) -> Path:
    """Return the demo without its pictures, each item with a recipe and each set planned at two places."""
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("out", "photos"))
    settings = (folder / "shop.toml").read_text(encoding="utf-8")
    before, _, rest = settings.partition("[workshop]")  # its own ways of making, in place of which come others
    (folder / "shop.toml").write_text(before + rest[rest.index("[[season]]") :], encoding="utf-8")
    shop = open_shop(folder).shop
    codes = [item.code for item in shop.items]
    write_making(folder, codes, [facts.code for facts in build_catalog(shop).sets], rows=40)
    return folder


def large_folder(folder: Path) -> Path:
    """Return a shop of 300 items with a recipe each, and a plan of 600 rows."""
    codes = [f"P-{at:03}" for at in range(ITEMS)]
    rows = (f"{code},Goods {code},bar soap,100 g,6.50,,104,80 x 55 x 25,{at % 30}\n" for at, code in enumerate(codes))
    clean = (CLEAN / "items.csv").read_text(encoding="utf-8").splitlines()[1:]
    kept = ("".join(row.split(",cautions")[0]) for row in clean)
    cells = (",".join(row.split(",")[:9]) + "\n" for row in kept)
    clean_shop(folder, {"items.csv": _HEAD + "".join(cells) + "".join(rows)})
    write_making(folder, codes, ["RRS-1"], rows=ROWS)
    return folder


def write_making(folder: Path, items: list[str], sets: list[str], *, rows: int) -> None:
    """Write recipes of a mixture and six materials each, a plan over a year, and a year of closed days."""
    chance = random.Random(3)
    materials = [f"raw {at}" for at in range(MATERIALS)]
    lines = [f"{name},kg,{chance.randrange(2, 30)}.00,1 kg,{chance.randrange(21)}\n" for name in materials]
    (folder / "materials.csv").write_text(
        "material,unit,price,on hand,days to get\n" + "".join(lines), encoding="utf-8"
    )
    recipes = [f"base,{name},200 g\n" for name in materials[:8]]
    for code in items:
        recipes.append(f"{code},base,2 kg\n")
        recipes += [f"{code},{name},{chance.randrange(20, 400)} g\n" for name in chance.sample(materials, 5)]
    (folder / "recipes.csv").write_text("item,material,amount\n" + "".join(recipes), encoding="utf-8")
    planned = []
    for at in range(rows):
        by = TODAY + datetime.timedelta(60 + at * 300 // rows)
        planned.append(f"{chance.choice(items + sets)},stall,{chance.randrange(1, 80)},{by}\n")
    (folder / "plan.csv").write_text("set or item,place,how many,by when\n" + "".join(planned), encoding="utf-8")
    closed = ", ".join(str(TODAY + datetime.timedelta(at * 2)) for at in range(183))
    with (folder / "shop.toml").open("a", encoding="utf-8") as stream:
        for form in sorted({item.form for item in open_shop(folder).shop.items} | {"bar soap"}):
            stream.write(
                f'\n[[making]]\nform = "{form or "-"}"\nbatch_size = 24\ncure = "4 weeks"\nhours_a_batch = 2\n'
            )
        stream.write(f"\n[workshop]\nhours_a_week = 30\nclosed = [{closed}]\n")


if __name__ == "__main__":
    for name, made in (("the demo", demo_folder), (f"{ITEMS} items, {ROWS} rows of a plan", large_folder)):
        with tempfile.TemporaryDirectory() as place:
            shop = open_shop(made(Path(place, "shop"))).shop
            catalog = build_catalog(shop)
            plan = make_plan(catalog, TODAY)
            print(
                f"{name}: costs {best(lambda shop=shop: costed(shop)):.3f} s, "  # type: ignore[misc]
                f"make list {best(lambda catalog=catalog: make_plan(catalog, TODAY)):.3f} s; "  # type: ignore[misc]
                f"{len(plan.makes)} makes, {len(plan.buys)} to buy, {len(plan.closed)} closed days move something"
            )
