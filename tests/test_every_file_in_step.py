"""Every kind of file that listkit reads costs in step with its length: four times as long, four times the steps.

Steps are the calls of functions and the turns of lines of ours, which no other work on the machine changes. Each kind
of file is a row of `KINDS`, with something that it can hold ever more of; where what it holds is held against another
file, both grow. With `-m long` the same at nearly 1 and 2 MB by the processor's time, where work in a call counts too.
"""

import datetime
import json
import os
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from types import FrameType
from typing import Any, Final

import pytest

from listkit.actions.learn import read_sample
from listkit.edit.past import past
from listkit.ledger.store import Snapshot, Stamp, record, standing
from listkit.model.wholesale import FormHeadings
from listkit.paths import KEPT
from listkit.pipeline import check_shop
from listkit.problem import Place, Problem
from listkit.read.export_file import read_export
from listkit.read.folder import find_files
from listkit.read.order_file import read_order
from listkit.save.job import File
from listkit.save.made import problems_of_last_build, remember_built
from listkit.save.manifest import entry_of, read_manifest, write_manifest
from tests.shops import clean_shop, xlsx
from tests.steps import calls

DAY: Final = datetime.date(2027, 3, 1)
FEW, MANY = 40, 160
MOST_GROWTH: Final = 6.0  # for four times the size; what is quadratic grows sixteenfold
LONG: Final = 950_000  # characters; twice that is still read of TOML
MOST_LONG_GROWTH: Final = 3.0  # for twice the size; what is quadratic grows fourfold
MOST_SECONDS: Final = 10
OURS: Final = f"{os.sep}listkit{os.sep}"
Grow = Callable[[Path, int], None]
Work = Callable[[Path], object]


def check(shop: Path) -> object:
    return check_shop(shop, DAY)


def added(file: str, row: Callable[[int], str], head: str = "") -> Grow:
    """Return what puts so many rows or tables behind what a file has, or behind `head` where there is none yet."""

    def grow(shop: Path, size: int) -> None:
        path = shop / file
        path.parent.mkdir(parents=True, exist_ok=True)
        before = path.read_text(encoding="utf-8") if path.exists() else f"{head}\n"
        path.write_text(before + "\n".join(map(row, range(size))) + "\n", encoding="utf-8")

    return grow


def in_key(file: str, old: str, key: str, value: Callable[[int], str]) -> Grow:
    """Return what puts a list of so many values before a line of a file."""

    def grow(shop: Path, size: int) -> None:
        path = shop / file
        text = path.read_text(encoding="utf-8")
        assert old in text
        listed = f"{key} = [{', '.join(map(value, range(size)))}]\n"
        path.write_text(text.replace(old, listed + old, 1), encoding="utf-8")

    return grow


def in_line(file: str, table: str, sign: Callable[[int], str]) -> Grow:
    """Return what forbids so many signs in a file of a channel."""

    def grow(shop: Path, size: int) -> None:
        path = shop / file
        text = path.read_text(encoding="utf-8")
        forbidden = f'{table}\nforbidden = "{"".join(map(sign, range(size)))}"\n'
        path.write_text(
            text.replace(table, forbidden, 1) if table in text else f"{text}\n{forbidden}", encoding="utf-8"
        )

    return grow


def together(*grows: Grow) -> Grow:
    def grow(shop: Path, size: int) -> None:
        for each in grows:
            each(shop, size)

    return grow


def shares(shop: Path, _size: int) -> None:
    """Let the shop share its pieces out, without which allotment.csv is not read."""
    with (shop / "shop.toml").open("a", encoding="utf-8") as stream:
        stream.write("\n[allotment]\n")


SET: Final = "sets/dawn/set.toml"
ITEM: Final = "{0}-{1},Thing {1},bar soap,100 g,6.50,1.40,104,80 x 55 x 25,40,external-use;avoid-eyes,,no"
items = added("items.csv", lambda at: ITEM.format("Z", at))
minis = added("items.csv", lambda at: ITEM.format("M", at).replace("eyes,,", f"eyes,Mini{at},"))
recipes = added("recipes.csv", lambda at: f"Z-{at},oil {at},{at + 1} g", "item,material,amount")
materials = added("materials.csv", lambda at: f"oil {at},kg,5.00", "material,unit,price")


def workbook(ending: str) -> Grow:
    def grow(shop: Path, size: int) -> None:
        head, *rows = (shop / "items.csv").read_text(encoding="utf-8").splitlines()
        (shop / "items.csv").unlink()
        made = [*rows, *(ITEM.format("Z", at) for at in range(size))]
        (shop / f"items.{ending}").write_bytes(xlsx([line.split(",") for line in (head, *made)]))

    return grow


def sets(shop: Path, size: int) -> None:
    text = (shop / SET).read_text(encoding="utf-8").replace('photo = "open-box.png"', "")
    text = text.partition("[[photos]]")[0]
    for at in range(size // 4):
        folder = shop / "sets" / f"more-{at}"
        folder.mkdir()
        changed = text.replace("RRS-1", f"MORE-{at}").replace("Dawn on the Weir", f"Dawn number {at}")
        (folder / "set.toml").write_text(changed, encoding="utf-8")


def options(shop: Path, size: int) -> None:
    path = shop / SET
    first = '"RR-J1", "RR-J2"'
    text = path.read_text(encoding="utf-8")
    assert first in text
    more = ", ".join(f'"Z-{at}"' for at in range(size))
    path.write_text(text.replace(first, f"{first}, {more}", 1), encoding="utf-8")


def channels(shop: Path, size: int) -> None:
    for at in range(size // 4):
        text = f'name = "Place {at}"\nmake = ["price list"]\nsets = ["NONE-{at}"]\n'
        (shop / "channels" / f"place_{at}.toml").write_text(text, encoding="utf-8")


dear = added("items.csv", lambda at: ITEM.format("D", at).replace("6.50,1.40", "6.50,11.40"))


def files_of_words(shop: Path, size: int) -> None:
    (shop / "templates" / "words").mkdir(parents=True)
    for at in range(size):
        (shop / "templates" / "words" / f"w{at}.toml").write_text("strange = 'a'\n", encoding="utf-8")


KINDS: Final[dict[str, Grow]] = {
    "shop.toml: accepted": together(
        dear, added("shop.toml", lambda at: f'[[accepted]]\ncheck = "cost-above-retail"\nat = "D-{at}"\nreason = "So."')
    ),
    "shop.toml: checks": added("shop.toml", lambda at: f'strange-{at} = "off"', "[checks]"),
    "templates: many files of words": files_of_words,
    "templates: strange words": added("templates/words/fr.toml", lambda at: f'strange{at} = "a"', "[headings]"),
    "story.md: names that begin alike": together(
        items, added("sets/dawn/story.md", lambda at: "Thing Thing Thing Thing Thing.")
    ),
    "channels: forbidden": in_line("channels/stall.toml", "[limits]", lambda at: chr(0x4E00 + at)),
    "shop.toml: seasons": added(
        "shop.toml", lambda at: f'[[season]]\nname = "s{at}"\non_sale = 2027-02-01\noff_sale = 2027-05-31'
    ),
    "shop.toml: unknown keys": added("shop.toml", lambda at: f"[strange{at}]\nkey = 1"),
    "shop.toml: reductions of unknown sets": added(
        "shop.toml",
        lambda at: (
            f'[[reduction]]\nname = "r{at}"\nfrom = 2027-03-01\nuntil = 2027-03-09\noff = "5 %"\n'
            f'sets = ["NONE-{at}"]\nchannels = ["place {at}"]'
        ),
    ),
    "shop.toml: silenced cautions": added(
        "shop.toml", lambda at: f'[[silenced]]\ncaution = "keep-cool"\nitems = ["NONE-{at}"]\nreason = "So."'
    ),
    "items.csv": items,
    "items.csv: unknown full sizes": minis,
    "items.xlsx": workbook("xlsx"),
    "items.csv: long lists of ingredients": added(
        "items.csv",
        lambda at: f'L-{at},Thing {at},bar soap,100 g,6,1,104,80 x 55 x 25,40,,,no,"Aqua, Fooum {at}, Barium {at}"',
    ),
    "set.toml: unknown contents": together(items, added(SET, lambda at: f'[[contents]]\nitem = "NONE-{at}"')),
    "set.toml: contents": together(items, added(SET, lambda at: f'[[contents]]\nitem = "Z-{at}"')),
    "set.toml: not together": in_key(SET, "keywords =", "not_together", lambda at: f'["RR-B1", "NONE-{at}"]'),
    "set.toml: options": together(items, options),
    "set.toml: variants": added(SET, lambda at: f'[[variant]]\noptions = {{ Jar = "NONE-{at}" }}'),
    "set.toml: photos": added(SET, lambda at: f'[[photos]]\nfile = "p{at}.jpg"\nshows = ["NONE-{at}"]'),
    "sets": sets,
    "story.md": added("sets/dawn/story.md", lambda at: f"A *plain* story of line {at}, {{{{ set.name }}}}."),
    "channels: files": channels,
    "channels: columns": added(
        "channels/stall.toml", lambda at: f'[[column]]\nheading = "h{at}"\nfield = "code"\n'
    ),
    "channels: data files": added(
        "channels/web.toml",
        lambda at: f'[[file]]\nname = "f{at}"\ncolumns = ["sku", "name"]',
        'name = "Web"\nmake = ["feed"]\nfeed = "csv"',
    ),
    "channels: left out": together(
        sets, in_key("channels/stall.toml", "make =", "leave_out", lambda at: f'"NONE-{at}-RR-J1"')
    ),
    "languages": added("languages/fr.toml", lambda at: f'"form {at}" = "forme {at}"', "[forms]"),
    "templates: messages": added("templates/message/en.toml", lambda at: f'k{at} = "A message {at}."'),
    "movements.csv": together(
        items,
        added(
            "movements.csv",
            lambda at: f"2027-02-01,made,Z-{at},{at + 1},,,,",
            "day,kind,code,quantity,place,set,note,batch",
        ),
    ),
    "plan.csv": added("plan.csv", lambda at: f"NONE-{at},stall,6,2027-04-01", "set or item,place,how many,by when"),
    "rates.csv": added(
        "rates.csv", lambda at: f"Post {at % 7},home,{at * 10},{at * 10 + 10},{at + 2}.00,no",
        "service,zone,over (g),up to (g),price,packet",
    ),
    "stockists.csv": added("stockists.csv", lambda at: f"SHOP{at},Shop {at},a{at}@shop.example,Wadlow"),
    "recipes.csv": together(items, materials, recipes),
    "recipes.csv: of nothing": together(items, recipes),
    "recipes.csv: mixtures": added(
        "recipes.csv", lambda at: f"mix {at},mix {at + 1},{at + 1} g", "item,material,amount"
    ),
    "materials.csv": together(materials, recipes),
    "ingredients.csv": together(
        items, added("ingredients.csv", lambda at: f"Z-{at},Sodium Olivate {at},,40", "item,ingredient,CAS,percent")
    ),
    "packaging.toml": added(
        "packaging.toml",
        lambda at: (
            f'[[box]]\ncode = "B{at}"\ninside = "160 x 120 x 70 mm"\nweight = "60 g"\ncost = "0.80"\nminutes = 3'
        ),
    ),
    "wholesale.toml": added("wholesale.toml", lambda at: f'[[line]]\ncode = "NONE-{at}"'),
    "wholesale.toml: customers": added("wholesale.toml", lambda at: f'[[group]]\ntitle = "g{at}"\nlines = ["X-{at}"]'),
    "allotment.csv": together(
        shares,
        added("allotment.csv", lambda at: f"stall,NONE-{at},{at + 1},", "place,code,pieces,after line"),
    ),
}  # fmt: skip


class _Turns:
    """Counts the turns of lines of ours."""

    def __init__(self) -> None:
        self.count = 0

    def entered(self, frame: FrameType, _event: str, _argument: object) -> Callable[..., Any] | None:
        return self.turned if OURS in frame.f_code.co_filename else None

    def turned(self, _frame: FrameType, event: str, _argument: object) -> Callable[..., Any]:
        self.count += event == "line"
        return self.turned


def turns(work: Callable[[], object]) -> int:
    """Return how many lines of ours the work goes through, each as often as it does."""
    counter, before = _Turns(), sys.gettrace()
    sys.settrace(counter.entered)
    try:
        work()
    finally:
        sys.settrace(before)
    return counter.count


def steps(work: Callable[[], object]) -> int:
    return calls(work) + turns(work)


@pytest.fixture(scope="module")
def base(tmp_path_factory: pytest.TempPathFactory) -> int:
    """The steps that the shop costs as it is, once all that is made once is there."""
    shop = clean_shop(tmp_path_factory.mktemp("base") / "shop")
    check(shop)
    return steps(partial(check, shop))


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_of_four_times_the_length_costs_no_more_than_that(kind: str, base: int, tmp_path: Path) -> None:
    costs = []
    for size in (FEW, MANY):
        shop = clean_shop(tmp_path / str(size))
        KINDS[kind](shop, size)
        costs.append(steps(partial(check, shop)) - base)
    assert costs[0] > FEW, "the file is read"
    assert costs[1] < MOST_GROWTH * costs[0], costs


def test_every_kind_of_file_of_a_shop_is_in_the_table(tmp_path: Path) -> None:
    """Whatever `find_files` looks for; season photos are pictures, which `tests/picture/` bounds."""
    kinds = {kind.partition(":")[0].partition(".")[0] for kind in KINDS}
    looked_for = {*find_files(tmp_path)[0].__slots__} - {"season_photos"}
    assert looked_for <= kinds


# What is read on its own, not as part of a shop.


def _sample(folder: Path, size: int) -> Callable[[], object]:
    file = folder / f"{size}.csv"
    rows = "".join(f"SET-{at}-X,Thing {at},{at}.00,12 x {at} mm,A-{'1' * 20}\n" for at in range(size))
    file.write_text("sku,title,price,size,what\n" + rows, encoding="utf-8")
    return partial(read_sample, file)


def _export(_folder: Path, size: int) -> Callable[[], object]:
    text = "code,name,price\n" + "".join(f"C-{at},Thing {at},{at}.00\n" for at in range(size))
    return lambda: list(read_export("feed.csv", text.encode(), len).rows)


def _export_json(_folder: Path, size: int) -> Callable[[], object]:
    rows = [{"@type": "Product", "sku": f"C-{at}", "name": f"Thing {at}"} for at in range(size)]
    return lambda: list(read_export("feed.json", json.dumps(rows).encode(), len).rows)


def _order(_folder: Path, size: int) -> Callable[[], object]:
    headings = FormHeadings("Code", "Quantity", "Wholesale", "Suggested retail", "Line sheet", (("shop", "Shop"),))
    text = "Code,Item,Wholesale,Quantity\n" + "".join(f"SET-{at},Thing,{at}.00,{at} x\n" for at in range(size))
    return lambda: read_order("order.csv", text.encode(), headings)


def _ledger(folder: Path, size: int) -> Callable[[], object]:
    path = folder / f"{size}.db"
    texts = {"text": "A few words. " * 20}
    rows = {f"C-{at}": json.dumps({"sku": f"C-{at}", "price": f"{at}.00", **texts}) for at in range(size)}
    record(path, "stall", Snapshot(tuple(rows.items())), Stamp("2027-03-01T10:00:00+00:00"))
    return lambda: standing(path, "stall", "rows")


def _past(folder: Path, size: int) -> Callable[[], object]:
    file = folder / KEPT / "past.jsonl"
    file.parent.mkdir(exist_ok=True)
    file.write_text("".join(f'{{"done": {size * 1000 + at}}}\n' for at in range(size)), encoding="utf-8")
    return partial(past, folder)


def _manifest(folder: Path, size: int) -> Callable[[], object]:
    made = (File(f"stall/{at}.jpg", "key") for at in range(size))
    write_manifest(folder, [entry_of(file, 100, "0" * 64) for file in made])
    assert len(read_manifest(folder)) == size
    return partial(read_manifest, folder)


def _built(folder: Path, size: int) -> Callable[[], object]:
    write_manifest(folder, ())
    remember_built(folder, "", [Problem(Place("items.csv", at), "bad-value", f"fault {at}.") for at in range(size)])
    assert len(problems_of_last_build(folder) or ()) == size
    return partial(problems_of_last_build, folder)


def _folder(parent: Path, name: str) -> Path:
    (parent / name).mkdir()
    return parent / name


ALONE: Final[dict[str, Callable[[Path, int], Callable[[], object]]]] = {
    "sample": _sample,
    "order": _order,
    "export": _export,
    "export as JSON": _export_json,
    "ledger": _ledger,
    "past": _past,
    "manifest": _manifest,
    "last build": _built,
}


@pytest.mark.parametrize("kind", ALONE)
def test_what_is_read_by_itself_costs_in_step_with_its_length(kind: str, tmp_path: Path) -> None:
    steps(ALONE[kind](_folder(tmp_path, "first"), 3))  # makes what is made once
    costs = [steps(ALONE[kind](_folder(tmp_path, str(size)), size)) for size in (FEW, MANY)]
    assert costs[0] > FEW, "it is read"
    assert costs[1] < MOST_GROWTH * costs[0], costs


@pytest.mark.long
@pytest.mark.parametrize("kind", KINDS)
def test_a_file_of_a_megabyte_takes_seconds_and_one_of_two_no_more_than_twice_as_long(
    kind: str, tmp_path: Path
) -> None:
    took, probe = [], clean_shop(tmp_path / "probe")
    before = _size(probe)
    KINDS[kind](probe, FEW)
    number = max(LONG * FEW // max(_size(probe) - before, FEW), FEW)
    many = clean_shop(tmp_path / "many")
    KINDS[kind](many, number)
    number = max(LONG * number // (_size(many) - before), FEW)  # numbers of more digits are longer
    for times in (1, 2):
        shop = clean_shop(tmp_path / str(times))
        KINDS[kind](shop, times * number)
        begun = time.process_time()
        check(shop)
        took.append(time.process_time() - begun)
    print(f"{kind}: {number} of it, {took[0]:.1f} and {took[1]:.1f} s")  # noqa: T201 - a figure for people
    assert took[1] < max(MOST_LONG_GROWTH * took[0], 1), took
    assert took[1] < MOST_SECONDS, took


def _size(shop: Path) -> int:
    return sum(path.stat().st_size for path in shop.rglob("*") if path.suffix in {".csv", ".toml", ".md", ".xlsx"})
