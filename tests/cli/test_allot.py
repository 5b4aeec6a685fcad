"""`listkit allot`: numbers for every place, kept in allotment.csv, published from there, told where they cannot be."""

import csv
import datetime
import json
import os
import shutil
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import pytest

from listkit.actions.stock_orders import OrderedGoods, move_order
from listkit.cli import main
from listkit.ledger.orders import KeptOrder, add_order
from listkit.ledger.store import LEDGER
from listkit.pipeline import check_shop, list_shop
from tests.ledger.rows import order_facts
from tests.shops import DEMO, clean_shop, lines

DAY: Final = datetime.date(2027, 3, 1)
STALL: Final = 'name = "Market stall"\nmake = ["price list"]\nfee = "1 %"\n\n[singles]\nitems = ["RR-B1", "RR-J1"]\n'
WEB: Final = 'name = "Web shop"\nmake = ["feed"]\nfeed = "csv"\nfee = "9 %"\n'


def allotting_shop(folder: Path, wishes: str = "", **channels: str) -> Path:
    """The clean shop with a stall that keeps more of a sale than its web shop, and wishes."""
    settings = (clean_shop(folder) / "shop.toml").read_text(encoding="utf-8")
    (folder / "shop.toml").write_text(f"{settings}\n[allotment]\n{wishes}", encoding="utf-8")
    for key, text in {"stall": STALL, "web": WEB, **channels}.items():
        (folder / f"channels/{key}.toml").write_text(text, encoding="utf-8")
    return folder


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return allotting_shop(tmp_path / "shop", '[[allotment.wish]]\nplace = "web"\nof = ["RRS-1"]\nleast = 6\n')


def allot(shop: Path, *more: str) -> int:
    return main(["allot", "--shop", str(shop), "--today", f"{DAY}", *more])


def rows(shop: Path) -> dict[tuple[str, str], int]:
    with (shop / "allotment.csv").open(encoding="utf-8", newline="") as file:
        return {(row["place"], row["code"]): int(row["pieces"]) for row in csv.DictReader(file)}


def shown(shop: Path, key: str) -> dict[str, int | None]:
    listed = list_shop(shop, DAY)
    return {offer.variant.code: offer.stock for listing in listed.listings_of(key) for offer in listing.offers}


def told(shop: Path) -> list[str]:
    of_allotment = ("allotment-old", "stock-promised-twice")
    return [line for line in lines(list(check_shop(shop, DAY).problems)) if line.endswith(of_allotment)]


def with_stock(shop: Path, **counts: int) -> None:
    """Put other numbers into the sheet."""
    text = (shop / "items.csv").read_text(encoding="utf-8")
    for code, number in counts.items():
        text = "\n".join(
            ",".join([*row.split(",")[:8], str(number), *row.split(",")[9:]]) if row.startswith(code.replace("_", "-"))
            else row
            for row in text.split("\n")
        )  # fmt: skip
    (shop / "items.csv").write_text(text, encoding="utf-8")


def test_every_place_gets_numbers_and_shows_them(shop: Path) -> None:
    """40 bars, 25 and 25 jars: the web shop gets the six sets it is wished, the stall the rest, and jars alone."""
    assert allot(shop) == 0
    given = rows(shop)
    assert given["web", "RRS-1-J1"] + given["web", "RRS-1-J2"] == 6
    assert shown(shop, "web") == {code: given["web", code] for code in ("RRS-1-J1", "RRS-1-J2")}
    assert shown(shop, "stall") == {code: given["stall", code] for code in ("RRS-1-J1", "RRS-1-J2", "RR-B1", "RR-J1")}
    used: Counter[str] = Counter()
    for (_, code), number in given.items():
        used.update({"RR-B1": number} if code.startswith("RRS-1") or code == "RR-B1" else {})
        used.update({f"RR-J{code[-1]}": number} if code != "RR-B1" else {})
    assert used == {"RR-B1": 40, "RR-J1": 25, "RR-J2": 25}
    assert told(shop) == []


def test_the_same_shop_gives_the_same_bytes_and_is_written_once(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert allot(shop) == 0
    first, stamp = (shop / "allotment.csv").read_bytes(), (shop / "allotment.csv").stat().st_mtime_ns
    assert allot(shop) == 0
    assert (shop / "allotment.csv").stat().st_mtime_ns == stamp
    assert "nothing was written" in capsys.readouterr().err
    (shop / "allotment.csv").unlink()
    assert allot(shop, "--look") == 0
    assert not (shop / "allotment.csv").exists()
    assert allot(shop) == 0
    assert (shop / "allotment.csv").read_bytes() == first


def test_the_demos_jars_go_to_its_places_and_ten_more_are_worth_what_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """164 wanted of 119 jars; with the stall given three of each no piece of any is in two places' numbers."""
    folder = tmp_path / "shop"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("out", "photos"))
    settings = (folder / "shop.toml").read_text(encoding="utf-8")
    (folder / "shop.toml").write_text(settings.replace("least = 3\n", "least = 3\nmost = 12\n"), encoding="utf-8")
    today = ["--shop", str(folder), "--today", "2026-11-25"]
    assert main(["allot", *today, "--json"]) == 0
    answer: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert answer["proved_best"]
    jars = {"OH-S01", "OH-S02", "OH-S03", "OH-U01", "OH-U02"}
    assert jars == {each["code"] for each in answer["scarce"][:5]}
    with (folder / "items.csv").open(encoding="utf-8", newline="") as file:
        have = {row["code"]: int(row["on hand"]) for row in csv.DictReader(file)}
    listed = list_shop(folder, datetime.date(2026, 11, 25))
    pieces = {variant.code: variant.pieces for facts in listed.catalog.listed for variant in facts.variants}
    used: Counter[str] = Counter()
    for row in answer["allotted"]:
        used.update({piece.item.code: piece.quantity * row["pieces"] for piece in pieces[row["code"]]})
    assert all(number <= max(0, have[code] - 2) for code, number in used.items())  # hold_back = 2
    assert sum(used[code] for code in jars) == 119 - 2 * len(jars)
    at_stall: Counter[str] = Counter()
    units = {variant.code: facts.code for facts in listed.catalog.listed for variant in facts.variants}
    for row in answer["allotted"]:
        at_stall.update({units[row["code"]]: row["pieces"]} if row["place"] == "stall" else {})
    assert all(3 <= number <= 12 for number in at_stall.values())
    best = answer["scarce"][0]
    text = (folder / "items.csv").read_text(encoding="utf-8")
    line = next(line for line in text.split("\n") if line.startswith(best["code"]))
    assert line.count(f",{have[best['code']]},") == 1
    more = line.replace(f",{have[best['code']]},", f",{have[best['code']] + 10},")
    (folder / "items.csv").write_text(text.replace(line, more), encoding="utf-8")
    assert main(["allot", *today, "--json", "--look"]) == 0
    richer = json.loads(capsys.readouterr().out)
    assert round(float(richer["kept"]) - float(answer["kept"]), 2) == float(best["ten_more_keep"])


def test_places_that_are_one_shop_show_the_same_numbers(tmp_path: Path) -> None:
    shop = allotting_shop(tmp_path / "shop", 'together = [["web", "other"]]\n', other=WEB.replace("Web", "Other"))
    assert allot(shop) == 0
    assert {place for place, _ in rows(shop)} == {"stall", "web"}
    assert shown(shop, "web") == shown(shop, "other")


def test_pieces_are_put_by_for_shops_where_they_are_wished(tmp_path: Path) -> None:
    shop = allotting_shop(tmp_path / "shop", '[[allotment.wish]]\nplace = "wholesale"\nof = ["RRS-1-J2"]\nleast = 8\n')
    assert allot(shop) == 0
    given = rows(shop)
    assert given["wholesale", "RRS-1-J2"] == 8
    assert sum(number for (_, code), number in given.items() if code == "RRS-1-J2") <= 25


def test_what_shops_have_ordered_comes_before_all(shop: Path) -> None:
    """Without movements an order that is not sent yet is on record in the ledger alone."""
    facts = order_facts({"RR-B1": 12}, takes={"items": {"RR-B1": 12}})
    add_order(shop / LEDGER, KeptOrder(0, "ST-1", "", DAY, facts), ())
    assert allot(shop) == 0
    bars = sum(number for (_, code), number in rows(shop).items() if code.startswith("RRS-1") or code == "RR-B1")
    assert bars == 28


def test_what_a_place_sells_is_taken_off_its_own_number(shop: Path) -> None:
    assert main(["stock", "start", "--shop", str(shop), "--today", f"{DAY}"]) == 0
    assert allot(shop) == 0
    stall, web = shown(shop, "stall"), shown(shop, "web")
    sold = shop.parent / "sold.csv"
    sold.write_text(f"day,code,sold\n{DAY},RRS-1-J2,4\n{DAY},RR-J1,2\n", encoding="utf-8")
    assert main(["stock", "add", str(sold), "--place", "stall", "--shop", str(shop), "--today", f"{DAY}"]) == 0
    now = shown(shop, "stall")
    assert {code: (stall[code] or 0) - (now[code] or 0) for code in stall} == {
        "RRS-1-J1": 0, "RRS-1-J2": 4, "RR-B1": 0, "RR-J1": 2,
    }  # fmt: skip
    assert shown(shop, "web") == web
    assert told(shop) == []
    move_order(shop, OrderedGoods("order 1", (("RR-B1", 10),)), "ordered", DAY)
    assert sum(number or 0 for key in ("stall", "web") for number in shown(shop, key).values()) < sum(
        number or 0 for place in (now, web) for number in place.values()
    )
    assert len(told(shop)) == 1


def test_where_less_is_there_than_was_given_out_no_place_shows_what_is_not_there(shop: Path) -> None:
    assert allot(shop) == 0
    with_stock(shop, RR_B1=20)
    bars = sum(number or 0 for key in ("stall", "web") for code, number in shown(shop, key).items() if code != "RR-J1")
    assert bars <= 20
    (line,) = told(shop)
    assert "more are given out than there are" in line
    assert allot(shop) == 0
    assert told(shop) == []


def test_what_is_made_afterwards_is_told_until_it_is_shared_out(shop: Path) -> None:
    assert main(["stock", "start", "--shop", str(shop), "--today", f"{DAY}"]) == 0
    assert allot(shop) == 0
    made = shop.parent / "made.csv"
    made.write_text(f"day,code,made\n{DAY + datetime.timedelta(1)},RR-B1,24\n", encoding="utf-8")
    day = ["--shop", str(shop), "--today", f"{DAY + datetime.timedelta(1)}"]
    assert main(["stock", "add", str(made), *day]) == 0
    (line,) = told(shop)
    assert "24 of RR-B1 came in that no place was given" in line
    assert main(["allot", *day]) == 0
    assert told(shop) == []


# What cannot be.

IMPOSSIBLE: Final = {
    "two wishes": (
        '[[allotment.wish]]\nplace = "web"\nof = ["RRS-1-J1"]\nleast = 15\n\n'
        '[[allotment.wish]]\nplace = "stall"\nof = ["RR-J1"]\nleast = 12\n',
        "Must fix · shop.toml, line 22: at least 15 of Dawn on the Weir · Willow Bark body butter (RRS-1-J1) at Web "
        "shop and at least 12 of Willow Bark body butter (RR-J1) at Market stall cannot both be kept: to share out "
        "there are 25 of Willow Bark body butter (RR-J1). "
        "Write less in one of them, or make more.  allotment-impossible",
    ),
    "one wish": (
        '[[allotment.wish]]\nplace = "web"\nof = ["RRS-1"]\nleast = 41\n',
        "Must fix · shop.toml, line 22: at least 41 of Dawn on the Weir (RRS-1) at Web shop are asked for, and 40 can "
        "be had",
    ),
    "least above most": (
        '[[allotment.wish]]\nplace = "web"\nof = ["RRS-1"]\nleast = 5\nmost = 3\n',
        "at least 5 of Dawn on the Weir (RRS-1) at Web shop and at most 3 of Dawn on the Weir (RRS-1) at Web shop "
        "cannot both be kept: the two contradict each other.",
    ),
    "not shown": (
        '[[allotment.wish]]\nplace = "web"\nof = ["RR-J1"]\nleast = 5\n',
        "Must fix · shop.toml, line 21: at least 5 of RR-J1 are asked for, and Web shop shows none that are counted.",
    ),
    "unknown place": ('[[allotment.wish]]\nplace = "wbe"\nleast = 1\n', 'there is no channel "wbe". Write "web".'),
    "unknown set": ('[[allotment.wish]]\nof = ["RRS-7"]\n', 'there is no set, variant or piece "RRS-7".'),
}


@pytest.mark.parametrize(("wishes", "words"), IMPOSSIBLE.values(), ids=list(IMPOSSIBLE))
def test_wishes_that_cannot_be_kept_are_told_and_the_last_allotment_stays(
    wishes: str, words: str, shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert allot(shop) == 0
    last = (shop / "allotment.csv").read_bytes()
    allotting_shop(shop, wishes)
    capsys.readouterr()
    assert allot(shop) == 1
    assert words in " ".join(capsys.readouterr().err.split("\n"))
    assert (shop / "allotment.csv").read_bytes() == last


@pytest.mark.parametrize(("sound", "broken"), [('item = "RR-B1"', 'item = "RR-B9"'), ("[[contents]]", "[[contents]")])
def test_the_pieces_of_a_set_that_cannot_be_read_are_not_given_away(
    sound: str, broken: str, shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The set is on sale, so the ledger knows it: one that no place ever had is a draft, and left out."""
    assert allot(shop) == 0
    assert main(["build", "--shop", str(shop), "--today", f"{DAY}"]) == 0
    assert main(["record", "web", "--shop", str(shop), "--today", f"{DAY}"]) == 0
    last = (shop / "allotment.csv").read_bytes()
    file = shop / "sets/dawn/set.toml"
    file.write_text(file.read_text(encoding="utf-8").replace(sound, broken, 1), encoding="utf-8")
    capsys.readouterr()
    assert allot(shop) == 1
    assert "sets/dawn/set.toml, line" in capsys.readouterr().err
    assert (shop / "allotment.csv").read_bytes() == last


def test_without_a_solver_the_last_allotment_stays_and_is_still_published(
    shop: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert allot(shop) == 0
    last, before = (shop / "allotment.csv").read_bytes(), shown(shop, "stall")
    monkeypatch.setitem(sys.modules, "highspy", None)
    with_stock(shop, RR_M1=5)
    assert allot(shop) == 1
    assert "highspy, is not installed" in capsys.readouterr().err
    assert (shop / "allotment.csv").read_bytes() == last
    assert shown(shop, "stall") == before


def test_a_file_that_cannot_be_read_is_written_anew(shop: Path) -> None:
    (shop / "allotment.csv").write_text("place,code\n", encoding="utf-8")
    assert allot(shop) == 0
    assert rows(shop)


def _written(file: Path) -> tuple[int, ...]:
    """Return what tells a file from another and from what it was before; when it was read last is none of that."""
    known = file.lstat()
    return known.st_ino, known.st_mode, known.st_size, known.st_mtime_ns


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda file: os.truncate(file, 900_000_000_000), "it is larger than 20 MB. Is it the right file?"),
        (lambda file: (file.unlink(), file.mkdir()), "it is a folder. Put a plain file in its place."),
        (lambda file: (file.unlink(), file.symlink_to("sheet.csv")), "it is a link and is not followed. Put a copy"),
    ],
    ids=["900 GB", "a folder", "a link"],
)
def test_what_is_no_allotment_at_all_is_left_and_named(
    shop: Path, capsys: pytest.CaptureFixture[str], spoil: Callable[[Path], object], said: str
) -> None:
    file = shop / "allotment.csv"
    assert allot(shop) == 0
    spoil(file)
    before = _written(file)
    assert allot(shop) == 1
    assert f"allotment.csv: {said}" in capsys.readouterr().err
    assert _written(file) == before


def test_a_shop_without_wishes_at_all_is_told_what_to_write(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert allot(clean_shop(tmp_path / "shop")) == 1
    assert "shop.toml has no [allotment]" in capsys.readouterr().err


def test_a_shop_without_allotment_shows_what_it_did_whatever_lies_in_its_folder(tmp_path: Path) -> None:
    plain, with_file = clean_shop(tmp_path / "plain"), clean_shop(tmp_path / "file")
    (with_file / "allotment.csv").write_text("place,code,pieces\nstall,RRS-1-J1,1\nwhat,ever,minus\n", encoding="utf-8")
    assert shown(plain, "stall") == shown(with_file, "stall") == {"RRS-1-J1": 25, "RRS-1-J2": 25}
    assert check_shop(with_file, DAY).problems == check_shop(plain, DAY).problems


def test_changes_name_what_was_allotted_as_their_cause(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    today = ["--shop", str(shop), "--today", f"{DAY}"]
    assert allot(shop) == 0
    assert main(["build", *today]) == 0
    assert main(["record", "web", *today]) == 0
    text = (shop / "shop.toml").read_text(encoding="utf-8").replace("least = 6", "least = 9")
    (shop / "shop.toml").write_text(text, encoding="utf-8")
    assert allot(shop) == 0
    capsys.readouterr()
    main(["changes", "web", *today])
    assert "allotted RRS-1, pieces 6 → 9" in capsys.readouterr().out
