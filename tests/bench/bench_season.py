"""How fast a season is looked back on, and sets proposed; python -m tests.bench.bench_season. CPU seconds.

Aims: a season of 20 sets and 20,000 movements in 1.5 s; proposals from 60 items and 6 boxes in 3 s, the ten best of
three pieces proved.
"""

import datetime
import random
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from listkit.actions.new_set import proposals_for
from listkit.actions.season import end_of_season
from listkit.cli import collect_rarely
from listkit.compute.build import build_catalog
from listkit.compute.movements import goods_of
from listkit.model.movements import StockMove
from listkit.pipeline import open_shop
from listkit.present.season import season_lines
from listkit.read.movements import moves_tail, written_moves

DAY = datetime.date(2027, 2, 1)
FIRST = datetime.date(2026, 10, 1)
MOVES = 20_000
SETS = 20
KINDS = (
    ("bar soap", "86 x 58 x 28", "box", "no", "119", "7.50"),
    ("body butter", "72 x 72 x 64", "cylinder", "yes", "232", "16.00"),
    ("sugar scrub", "70 x 70 x 60", "cylinder", "yes", "296", "14.00"),
    ("balm", "68 x 68 x 25", "cylinder", "no", "70", "11.00"),
    ("lip balm", "18 x 18 x 70", "cylinder", "no", "10", "4.50"),
    ("bath salts", "150 x 100 x 42", "box", "no", "264", "10.00"),
    ("sachets", "130 x 90 x 34", "box", "no", "122", "9.50"),
    ("tea lights", "118 x 80 x 20", "box", "no", "104", "9.00"),
)
BOXES = (
    (138, 96, 56, 3),
    (162, 122, 70, 4),
    (180, 140, 72, 4),
    (210, 160, 75, 5),
    (240, 170, 75, 6),
    (260, 190, 75, 6),
)
SHOP = """name = "A Bench"
currency = "GBP"
country = "GB"
address = "A Bench, 1 Lane"

[prices]
uplift = "1.00"
wage = "18.00"
bands = ["20", "25", "30", "40", "50"]
lowest_margin = "25 %"

[[season]]
name = "winter"
on_sale = 2026-10-12
off_sale = 2026-12-24
"""


def bench_shop(folder: Path, items: int = 60) -> Path:
    """Write a shop of sixty items, six boxes, twenty sets and two places; return its folder."""
    chance = random.Random(1)
    (folder / "channels").mkdir(parents=True)
    (folder / "shop.toml").write_text(SHOP, encoding="utf-8")
    rows = ["code,name,form,scent,retail,cost,weight (g),size (mm),shape,upright,shelf life (months),on hand"]
    for at in range(items):
        form, size, shape, upright, weight, retail = KINDS[at % len(KINDS)]
        price = f"{float(retail) + chance.choice((-0.5, 0, 0, 0.5)):.2f}"
        more = f"{weight},{size},{shape},{upright},18,{chance.randrange(900, 2000)}"
        rows.append(f"X-{at:02},Kind {at},{form},scent{chr(97 + at % 26)}x,{price},{float(retail) / 4:.2f},{more}")
    (folder / "items.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    boxes = [
        f'[[box]]\ncode = "B{at}"\ninside = "{length} x {width} x {height} mm"\nweight = "60 g"\ncost = "1.00"\n'
        f"minutes = {minutes}\n"
        f'carton = {{ outside = "{length + 30} x {width + 30} x {height + 30} mm", weight = "90 g" }}\n'
        for at, (length, width, height, minutes) in enumerate(BOXES)
    ]
    (folder / "packaging.toml").write_text("\n".join(boxes), encoding="utf-8")
    for key, fee in (("stall", "1 %"), ("web_shop", "3 %")):
        text = f'name = "{key}"\nmake = ["feed"]\nfee = "{fee}"\n'
        (folder / f"channels/{key}.toml").write_text(text, encoding="utf-8")
    for at in range(SETS):
        slot = ", ".join(f'"X-{8 * number + 1:02}"' for number in range(4))
        text = f'code = "S-{at}"\nname = "Set {at}"\ntheme = "A set."\nseason = "winter"\nbox = "B5"\n'
        text += f'[[contents]]\nitem = "X-{8 * (at % 7):02}"\n[[contents]]\nitem = "X-{8 * (at % 6) + 3 + at % 2:02}"\n'
        text += f'[[contents]]\nslot = "Jar"\nchoose = [{slot}]\n'
        (folder / f"sets/set-{at}").mkdir(parents=True)
        (folder / f"sets/set-{at}/set.toml").write_text(text, encoding="utf-8")
        (folder / f"sets/set-{at}/story.md").write_text("A story of one line.\n", encoding="utf-8")
    return folder


def moved(folder: Path) -> int:
    """Write movements.csv with sales of sets, a line a piece; return how many lines it has."""
    chance, shop = random.Random(2), open_shop(folder, measure_at_most=0).shop
    goods = goods_of(build_catalog(shop))
    codes, moves = sorted(goods.sets), list[StockMove]()
    while len(moves) < MOVES:
        code, day = chance.choice(codes), FIRST + datetime.timedelta(chance.randrange(100))
        place, batch = chance.choice(("stall", "web_shop", "wholesale")), f"4-{len(moves):08x}"
        kind = "sent" if place == "wholesale" else "sold"
        moves += [
            StockMove(day=day, kind=kind, code=piece, quantity=each, place=place, set=code, batch=batch)  # type: ignore[arg-type]
            for piece, each in goods.parts[code]
        ]
    text = "".join(written_moves(moves, moves_tail("")))
    (folder / "movements.csv").write_text(text, encoding="utf-8")
    return len(moves)


def best(what: Callable[[], object]) -> float:
    """Return the least CPU seconds of three turns."""
    seconds = []
    for _ in range(3):
        started = time.process_time()
        what()
        seconds.append(time.process_time() - started)
    return min(seconds)


def main() -> None:
    """Print the figures."""
    collect_rarely()
    with tempfile.TemporaryDirectory() as name:
        shop = bench_shop(Path(name, "shop"))
        plain = best(lambda: proposals_for(shop, DAY))
        shown = proposals_for(shop, DAY).proposals
        looked = f"{shown.of_three} compositions of three pieces and {shown.of_four} of four looked at"
        print(f"60 items, 6 boxes, 20 sets: {len(shown.best)} proposals in {plain:.2f} s; {looked}")
        number = moved(shop)
        opening = best(lambda: open_shop(shop, measure_at_most=0))
        season = best(lambda: list(season_lines(end_of_season(shop, "winter", DAY))))
        went = end_of_season(shop, "winter", DAY).number
        print(f"a season of {SETS} sets, {number} movements, {went} sets gone: {season:.2f} s, {opening:.2f} to read")
        print(f"proposals with these movements: {best(lambda: proposals_for(shop, DAY)):.2f} s")


if __name__ == "__main__":
    main()
