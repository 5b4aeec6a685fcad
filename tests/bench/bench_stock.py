"""How fast movements are read, summed and added; python -m tests.bench.bench_stock. CPU seconds, the best of three.

Aims: 20,000 lines read and summed in 1 s; a sheet of 500 lines added in 0.5 s beyond opening the shop.
"""

import datetime
import random
import shutil
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from listkit.actions.stock import add_file, open_stock
from listkit.actions.stock_sheets import AddRequest
from listkit.cli import collect_rarely
from listkit.compute.movements import batches, stock_of
from listkit.model.movements import StockMove
from listkit.read.movements import moves_tail, parse_moves, written_moves
from listkit.read.source import read_named
from tests.shops import DEMO

LINES = 20_000
ROWS = 500
START = datetime.date(2026, 6, 1)


def text_of(lines: int) -> str:
    """Return movements of two years: every code counted once, then sold, made and sent by lines of fifty."""
    chance, codes = random.Random(1), [f"OH-{at:03}" for at in range(60)]
    moves = [StockMove(START, "counted", code, 500, batch="60-00000000") for code in codes]
    for at in range(lines - len(codes)):
        day = START + datetime.timedelta(1 + at * 700 // lines)
        kind = chance.choice(("sold", "sold", "sold", "made", "sent"))
        number, batch = chance.randrange(1, 6), f"50-{at // 50:08x}"
        moves.append(
            StockMove(day=day, kind=kind, code=chance.choice(codes), quantity=number, place="stall", batch=batch)  # type: ignore[arg-type]
        )
    return "".join(written_moves(moves, moves_tail("")))


def best(what: Callable[[], object], repeats: int = 3) -> float:
    """Return the least CPU seconds of some repeats."""
    seconds = []
    for _ in range(repeats):
        started = time.process_time()
        what()
        seconds.append(time.process_time() - started)
    return min(seconds)


def added(text: str) -> tuple[float, float]:
    """Return the seconds that opening the demo shop takes with so many movements, and those of adding a sheet to it."""
    chance = random.Random(2)
    now = datetime.datetime(2028, 6, 1, tzinfo=datetime.UTC)
    opening, adding = [], []
    for at in range(3):
        with tempfile.TemporaryDirectory() as name:
            shop, sheet = Path(name, "shop"), Path(name, "sheet.csv")
            shutil.copytree(DEMO, shop, ignore=shutil.ignore_patterns("out", "photos"))
            (shop / "movements.csv").write_text(text, encoding="utf-8")
            started = time.process_time()
            stock = open_stock(shop)[0]
            opening.append(time.process_time() - started)
            codes = sorted(stock.goods.parts)
            rows = "".join(f"{chance.choice(codes)},{chance.randrange(1, 5)}\n" for _ in range(ROWS))
            sheet.write_text(f"code,sold\n{rows}", encoding="utf-8")
            request = AddRequest(read_named(sheet), now, now.date(), place=f"stall {at}")
            started = time.process_time()
            assert add_file(stock, request).written
            adding.append(time.process_time() - started)
    return min(opening), min(adding)


def main() -> None:
    """Print the figures."""
    collect_rarely()
    text = text_of(LINES)
    moves = parse_moves("movements.csv", text)[0].moves
    assert len(moves) == LINES
    read, summed = best(lambda: parse_moves("movements.csv", text)), best(lambda: stock_of(moves))
    parted = best(lambda: batches(moves))
    print(f"{LINES} movements read in {read:.2f} s, summed in {summed:.2f} s, parted into batches in {parted:.2f} s")
    opening, adding = added(text)
    print(f"a sheet of {ROWS} lines added to them in {adding:.2f} s, beyond {opening:.2f} s to open the demo shop")


if __name__ == "__main__":
    main()
