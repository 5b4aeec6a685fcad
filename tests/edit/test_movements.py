"""Lines are added to movements.csv whole, behind what is there, whoever else adds and wherever a kill strikes."""

import datetime
import random
import signal
import subprocess
import sys
import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest

from listkit import bounds
from listkit.edit.movements import add_moves
from listkit.model.movements import MovesRead, StockMove
from listkit.problem import BlockedError, FieldError
from listkit.read.movements import parse_moves
from listkit.read.source import TEXT_LIMIT
from tests.disks import files_end_at

ROOT = Path(__file__).parents[2]
DAY = datetime.date(2026, 12, 5)
MOVES = tuple(StockMove(DAY, "sold", f"OH-{at:03}", at, "stall", batch="40-0a1b2c3d") for at in range(40))


def text_of(shop: Path) -> str:
    return (shop / "movements.csv").read_text(encoding="utf-8")


def read(shop: Path) -> MovesRead:
    return parse_moves("movements.csv", text_of(shop))[0]


def test_lines_come_behind_what_is_there_and_not_a_byte_before_them_moves(tmp_path: Path) -> None:
    add_moves(tmp_path, lambda _: MOVES[:2])
    before = text_of(tmp_path)
    assert add_moves(tmp_path, lambda there: (replace(MOVES[2], quantity=len(there.moves)),))[0].quantity == 2
    assert text_of(tmp_path).startswith(before)
    assert len(read(tmp_path).moves) == 3


def test_nothing_to_add_writes_nothing(tmp_path: Path) -> None:
    assert add_moves(tmp_path, lambda _: ()) == ()
    assert not (tmp_path / "movements.csv").exists()


def test_a_file_that_cannot_be_read_is_not_added_to(tmp_path: Path) -> None:
    for content in (b"day,kind\n", b"\xff\xfe\x00", b"day,kind,code,quantity,place,set,note,batch\n,,,,,,,\n"):
        (tmp_path / "movements.csv").write_bytes(content)
        with pytest.raises(BlockedError, match=r"movements\.csv") as refused:
            add_moves(tmp_path, lambda _: MOVES)
        assert refused.value.hint.endswith("Nothing was added.")
        assert (tmp_path / "movements.csv").read_bytes() == content


@pytest.mark.parametrize(
    ("quantity", "code", "why"),
    [
        (bounds.MOVED + 1, "OH-01", '"1000000000" is no number of pieces.'),
        (-1, "OH-01", """"'-1" is no number of pieces."""),
        (1, "", "it names no code."),
    ],
)
def test_what_could_not_be_read_again_is_not_written(quantity: int, code: str, why: str, tmp_path: Path) -> None:
    add_moves(tmp_path, lambda _: MOVES[:1])
    before = text_of(tmp_path)
    with pytest.raises(FieldError) as refused:
        add_moves(tmp_path, lambda _: (MOVES[2], replace(MOVES[1], quantity=quantity, code=code)))
    assert refused.value.message == f"movements.csv: a line of it could not be read again: {why}"
    assert text_of(tmp_path) == before
    add_moves(tmp_path, lambda _: (replace(MOVES[1], quantity=bounds.MOVED),))
    assert read(tmp_path).moves[1].quantity == bounds.MOVED


def test_a_file_with_as_many_lines_and_bytes_as_are_read_is_not_added_to(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounds, "MOVE_LINES", 4)
    add_moves(tmp_path, lambda _: MOVES[:3])
    assert read(tmp_path).moves == MOVES[:3]
    before = text_of(tmp_path)
    with pytest.raises(FieldError, match="it would have more than 4 lines"):
        add_moves(tmp_path, lambda _: MOVES[3:4])
    monkeypatch.setattr(bounds, "MOVE_LINES", 400_000)
    note = "x" * (TEXT_LIMIT - len(before))
    with pytest.raises(FieldError, match="it would be larger than 20 MB"):
        add_moves(tmp_path, lambda _: (replace(MOVES[3], note=note),))
    assert text_of(tmp_path) == before


def test_a_link_is_not_followed(tmp_path: Path) -> None:
    shop, elsewhere = tmp_path / "shop", tmp_path / "elsewhere.csv"
    shop.mkdir()
    elsewhere.write_text("mine\n")
    (shop / "movements.csv").symlink_to(elsewhere)
    with pytest.raises(BlockedError):
        add_moves(shop, lambda _: MOVES)
    assert elsewhere.read_text() == "mine\n"


@pytest.mark.parametrize("room", [1, 40, 700])
def test_where_the_disk_takes_a_part_only_that_part_is_cut_away_again(tmp_path: Path, room: int) -> None:
    add_moves(tmp_path, lambda _: MOVES[:3])
    before = text_of(tmp_path)
    with files_end_at(len(before.encode()) + room), pytest.raises(BlockedError, match="as it was"):
        add_moves(tmp_path, lambda _: MOVES)
    assert text_of(tmp_path) == before


def test_several_that_add_at_once_wait_for_each_other_and_every_line_is_there(tmp_path: Path) -> None:
    program = f"""
import datetime, sys
from dataclasses import replace
from pathlib import Path
from listkit import bounds
from listkit.edit.movements import add_moves
from listkit.model.movements import StockMove
for at in range(5):
    move = StockMove(datetime.date(2026, 12, 5), "sold", sys.argv[1], at)
    add_moves(Path({str(tmp_path)!r}), lambda read: (replace(move, note=str(len(read.moves))), move))
"""
    running = [subprocess.Popen([sys.executable, "-c", program, name], cwd=ROOT) for name in ("A", "B", "C")]
    threads = [
        threading.Thread(
            target=lambda: add_moves(tmp_path, lambda there: (replace(MOVES[0], note=f"{len(there.moves)}"),))
        )
        for _ in range(3)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [each.wait(60) for each in running] == [0, 0, 0]
    moves = read(tmp_path).moves
    assert len(moves) == 3 * 10 + 3
    seen = [(at, move.note) for at, move in enumerate(moves) if move.note]
    assert all(int(note) == at for at, note in seen), "each saw all lines before its own"


_ADDING = """
import datetime, sys
from pathlib import Path
from listkit import bounds
from listkit.edit.movements import add_moves
from listkit.model.movements import StockMove
print("ready", flush=True)
for number in range(10_000):
    batch = f"30-{number:08x}"
    moves = tuple(StockMove(datetime.date(2026, 12, 5), "sold", f"OH-{at}", number, batch=batch) for at in range(30))
    add_moves(Path(sys.argv[1]), lambda _: moves)
    print(number, flush=True)
"""


def killed(shop: Path, seconds: float) -> int:
    """Let a process add batches until it is killed; return how many it said were in."""
    with subprocess.Popen([sys.executable, "-c", _ADDING, str(shop)], cwd=ROOT, stdout=subprocess.PIPE) as adding:
        assert adding.stdout is not None
        adding.stdout.readline()
        time.sleep(seconds)
        adding.send_signal(signal.SIGKILL)
        return sum(1 for _ in adding.stdout)


def holds_after_a_kill(folder: Path, moments: int) -> None:
    chance = random.Random(7)
    for at in range(moments):
        shop = folder / f"{at}"
        shop.mkdir()
        add_moves(shop, lambda _: MOVES)
        earlier = text_of(shop)
        said = killed(shop, chance.random() * 0.05)
        assert text_of(shop).startswith(earlier)
        moves = read(shop).moves[len(MOVES) :]
        assert len(moves) >= 30 * said
        assert [move.quantity for move in moves] == [line // 30 for line in range(len(moves))]
        add_moves(shop, lambda _: MOVES[:1])
        assert read(shop).moves[-1] == MOVES[0]


def test_killed_while_adding_every_earlier_line_is_whole(tmp_path: Path) -> None:
    holds_after_a_kill(tmp_path, 6)


@pytest.mark.long
def test_killed_at_200_moments_while_adding_every_earlier_line_is_whole(tmp_path: Path) -> None:
    holds_after_a_kill(tmp_path, 200)


def test_what_a_kill_leaves_of_one_writing_is_a_beginning_of_it_and_the_file_added_again_completes_it(
    tmp_path: Path,
) -> None:
    """A kill within write(2) leaves the first bytes: 200 lengths of them."""
    add_moves(tmp_path, lambda _: MOVES[:5])
    first = len(text_of(tmp_path))
    add_moves(tmp_path, lambda _: MOVES[5:])
    whole = (tmp_path / "movements.csv").read_bytes()
    chance = random.Random(3)
    for _ in range(200):
        length = chance.randrange(first, len(whole))
        (tmp_path / "movements.csv").write_bytes(whole[:length])
        there = read(tmp_path).moves
        assert there == MOVES[: len(there)]
        assert len(there) == whole[:length].count(b"\n") - 1
        add_moves(tmp_path, lambda now: MOVES[len(now.moves) :])
        assert read(tmp_path).moves == MOVES
