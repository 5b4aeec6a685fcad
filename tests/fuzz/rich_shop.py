"""The place that is mutated: a shop with a file of every kind, its build, its ledger, exports and samples.

A copy of part of the demo with small pictures, so that a case takes milliseconds. Beside the shop lies
`outside/`, which no command may read or touch.
"""

import contextlib
import csv
import io
import re
import shutil
from pathlib import Path
from typing import Final

import openpyxl
from PIL import Image

from listkit.cli import main
from listkit.shipped import shipped_templates
from tests.learn.feed_samples import SAMPLES
from tests.shops import DEMO, xlsx

SETS: Final = ("first-nectar", "the-garden-bar", "fete-day-pair")
TODAY: Final = "2026-11-25"
BOOKS: Final = ("movements.csv", "allotment.csv", "plan.csv", "recipes.csv", "materials.csv", "stockists.csv")
STALL_SHEET: Final = "market-stall"
CANARY: Final = "outside/canary.png"
_TABLES: Final = {  # what an owner keeps, or a place gives out
    "moved.csv": "day,kind,code,quantity,place,note\n2026-11-25,sold,OH-B01,2,stall,\n2026-11-25,made,OH-B02,20,,\n"
    "2026-11-25,sold,OHS-1-U01,1,web_shop,\n2026-11-25,came back,OHS-1-U01,1,web_shop,\n2026-11-25,broken,OH-T01,1,,\n"
    "2026-11-25,poured,OH-L01,24,,\n2026-11-25,counted,OH-B03,30,,\n",
    "sales.csv": "Date,SKU,Qty,Order ID\n2026-11-25,OH-B01,1,W-1\n2026-11-25,OHS-1-U02,1,W-2\n",
    "messages.csv": 'order,set,words,from,to\n17,OHS-1-U01,"Happy birthday!\nSee you soon.",Ben,Ann\n18,,Thanks,,\n',
    "post.csv": "Order number,SKU,Qty,Gift message,From,To,Address\nW-2,OHS-1-U01,1,Happy birthday!,Bo,Ann,1 Far Lane\n"
    "W-1,OHS-7-B02,2,,,,\n",
}  # fmt: skip
_OWN: Final = (
    "listing",
    "words",
    "cautions",
    "contact_sheet",
    "drawing",
    "print",
    "claims",
    "label",
    "plan",
    "day",
    "pack",
)
_LARGEST: Final = 240  # pixels of the longer side


def make_place(place: Path) -> Path:
    """Make shop/, build/, given/ and outside/ in the empty folder `place`; return the shop."""
    shop = place / "shop"
    _copy_demo(shop)
    _add_kinds(shop)
    _picture(place / CANARY)
    (place / "outside/secret.toml").write_text('code = "SECRET-1"\nname = "Secret"\n', encoding="utf-8")
    given = place / "given"
    given.mkdir()
    for name, text in _TABLES.items():
        (given / name).write_text(text, encoding="utf-8")
    to = ("--out", str(place / "build"))
    market = ("print", "market", "--place", "stall", "--day", "2026-12-05")
    _do(shop, ("stock", "start"), ("stock", "add", str(given / "moved.csv")), ("allot",))
    _do(shop, ("build", "--out", str(shop / "out")), ("record", "web_shop"), ("record", "wholesale"), ("build", *to))
    _give(place)
    _do(shop, ("order", str(given / "filled-order.xlsx"), "--anyway", *to), (*market, *to))
    _fill_market_sheet(place / f"build/print/asked/{STALL_SHEET}-2026-12-05.csv", given / f"{STALL_SHEET}.csv")
    return shop


def _do(shop: Path, *commands: tuple[str, ...]) -> None:
    for command, *words in commands:
        status, told = run(command, *words, "--shop", str(shop), "--today", TODAY)
        if status:
            raise RuntimeError(f"{command} of the sound shop ended with {status}: {told[-2000:]}")


def run(*words: str) -> tuple[int, str]:
    """Run one command in this process; return its exit status and all that it told."""
    told = io.StringIO()
    with contextlib.redirect_stdout(told), contextlib.redirect_stderr(told):
        try:
            status = main(words)
        except SystemExit as ended:
            status = int(ended.code or 0)
    return status, told.getvalue()


def _copy_demo(shop: Path) -> None:
    apart = shutil.ignore_patterns("out", "sets", "ledger*")
    shutil.copytree(DEMO, shop, ignore=apart)
    for name in SETS:
        shutil.copytree(DEMO / "sets" / name, shop / "sets" / name)
    for file in [*shop.rglob("*.jpg"), *shop.rglob("*.png")]:
        _shrink(file)
    for file in (shop / "channels").glob("*.toml"):
        text = re.sub(r"(?m)^(width|smallest) = \d+", r"\1 = 60", file.read_text(encoding="utf-8"))
        file.write_text(text, encoding="utf-8")
    codes = frozenset(_code((shop / f"sets/{name}/set.toml").read_text(encoding="utf-8")) for name in SETS)
    for file in (shop / "wholesale.toml", *(shop / "channels").glob("*.toml")):
        _keep_sets(file, codes)
    for file in (shop / "languages").glob("*.toml"):
        tables = re.split(r"(?m)^(?=\[)", file.read_text(encoding="utf-8"))
        own = [one for one in tables if not one.startswith("[sets.") or one[6:].partition("]")[0] in codes]
        file.write_text("".join(own), encoding="utf-8")
    plan = (shop / "plan.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    kept = [line for line in plan if not line.startswith("OHS-") or line.partition(",")[0] in codes]
    (shop / "plan.csv").write_text("".join(kept), encoding="utf-8")


def _code(text: str) -> str:
    found = re.search(r'(?m)^code = "([^"]+)"', text)
    return found[1] if found else ""


def _keep_sets(file: Path, kept: frozenset[str]) -> None:
    """Take sets that are not there out of what a channel or wholesale.toml lists, and groups that are then empty."""
    text = file.read_text(encoding="utf-8")
    text = re.sub(r'"(OHS-\d+)"(, )?', lambda found: found[0] if found[1] in kept else "", text)
    text = re.sub(r"(?ms)^\[\[group\]\]\n(?:(?!^\[\[).)*?lines = \[\]\n(?:(?!^\[).)*", "", text)
    file.write_text(text, encoding="utf-8")


def _shrink(file: Path) -> None:
    with Image.open(file) as opened:
        picture = opened.convert("RGB")
        picture.thumbnail((_LARGEST, _LARGEST))
    picture.save(file, quality=80)


def _picture(file: Path) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    Image.new("RGB", (80, 60), (120, 90, 40)).save(file)


def _add_kinds(shop: Path) -> None:
    """Add what the demo has no example of: own templates, a season's picture, other kinds of picture and language."""
    for folder in _OWN:
        if (shipped_templates() / folder).is_dir():
            shutil.copytree(shipped_templates() / folder, shop / "templates" / folder)
    (shop / "photos").mkdir(exist_ok=True)
    Image.new("RGB", (200, 150), (200, 220, 180)).save(shop / "photos/spring.webp")
    first = shop / "sets/first-nectar"
    (first / "story.de.md").write_text("# Erster Nektar\n\n*Ein* [Text](https://ottermarl.example) & mehr.\n")
    with Image.open(first / "photos/group.jpg") as picture:
        picture.save(first / "photos/extra.tif")
        picture.convert("RGBA").save(first / "photos/extra.png")
        picture.save(first / "photos/extra.avif")


def _give(place: Path) -> None:
    """Put into given/ what others may hand over: exports, a storefront's samples, an owner's sheet, orders."""
    given = place / "given"
    for file in sorted((place / "build").rglob("*")):
        if file.suffix in {".csv", ".xlsx", ".json", ".jsonl"} and not file.name.startswith("."):
            shutil.copyfile(file, given / "-".join(file.relative_to(place / "build").parts))
    for number, sample in enumerate(SAMPLES[:6]):
        text = "\r\n".join(",".join(f'"{cell}"' for cell in row) for row in sample.rows)
        (given / f"sample-{number}.csv").write_text(text, encoding="utf-8")
    form = openpyxl.load_workbook(given / "wholesale-order-form.xlsx")
    for cells in form.active.iter_rows():
        if (code := str(cells[0].value or "")).startswith("OH"):
            next(cell for cell in cells if not cell.protection.locked).value = 1 if "display" in code else 6
    form.save(given / "filled-order.xlsx")
    (given / "written-order.csv").write_text("code,quantity\nOHS-1-U01,6\nOH-B01,12\n", encoding="utf-8")
    (given / "sample.xlsx").write_bytes(xlsx([list(row) for row in SAMPLES[0].rows]))
    shutil.copyfile(place / "shop/items.csv", given / "sheet.csv")


def _fill_market_sheet(sheet: Path, filled: Path) -> None:
    """Write what moved into the sheet of a market day, as its owner does."""
    with (
        sheet.open(encoding="utf-8-sig", newline="") as source,
        filled.open("w", encoding="utf-8", newline="") as target,
    ):
        rows = csv.DictReader(source)
        writer = csv.DictWriter(target, rows.fieldnames or ())
        writer.writeheader()
        writer.writerows({**row, "sold": "1"} for row in rows)
