"""The stock as it moves: sheets added whole or not at all, sales of places learnt, orders reserved and sent."""

import datetime
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from listkit import bounds
from listkit.actions.stock import open_stock
from listkit.actions.stock_orders import OrderedGoods, move_order
from listkit.cli import main
from listkit.model.shop import Shop
from listkit.pipeline import open_shop
from tests.shops import CLEAN, clean_shop, lines

Stock = Callable[..., tuple[int, dict[str, Any]]]
COUNTED = "2027-02-20"
BOXES = (CLEAN / "packaging.toml").read_text(encoding="utf-8").replace('code = "S"\n', 'code = "S"\non_hand = 50\n')


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """The clean shop with 50 boxes, all of it counted."""
    folder = clean_shop(tmp_path / "shop", {"packaging.toml": BOXES})
    assert main(["stock", "start", "--day", COUNTED, "--shop", str(folder)]) == 0
    return folder


@pytest.fixture
def stock(shop: Path, capsys: pytest.CaptureFixture[str]) -> Stock:
    def run(*words: str, sheet: str = "", name: str = "sheet.csv") -> tuple[int, dict[str, Any]]:
        if sheet:
            (shop.parent / name).write_text(sheet, encoding="utf-8")
            words = ("add", str(shop.parent / name), *words)
        capsys.readouterr()
        status = main(["stock", *words, "--shop", str(shop), "--today", "2027-03-01", "--json"])
        said = capsys.readouterr()
        return status, json.loads(said.out) if said.out else {"said": said.err}

    return run


def on_hand(folder: Path) -> dict[str, int | None]:
    shop: Shop = open_shop(folder).shop
    return {item.code: item.on_hand for item in shop.items} | {box.code: box.on_hand for box in shop.packaging.boxes}


def moved_lines(folder: Path) -> list[str]:
    return (folder / "movements.csv").read_text(encoding="utf-8").splitlines()


def problems(answer: tuple[int, dict[str, Any]]) -> list[str]:
    return [f"{each['message']} {each['hint']}" for each in answer[1]["problems"]]


START = {"RR-B1": 40, "RR-J1": 25, "RR-J2": 25, "RR-M1": 30, "S": 50}


def test_start_counts_all_that_the_sheet_has_a_number_for_once(shop: Path, stock: Stock) -> None:
    assert moved_lines(shop)[1].startswith("2027-02-20,counted,RR-B1,40,,,from the sheet,5-")
    assert on_hand(shop) == START
    assert "counted already" in stock("start")[1]["said"]


def test_a_set_is_taken_off_as_its_pieces_its_box_and_its_card(shop: Path, stock: Stock) -> None:
    status, answer = stock("--place", "stall", sheet="code,sold\nRRS-1-J1,3\nRR-B1,2\n")
    assert status == 0
    assert on_hand(shop) == START | {"RR-B1": 35, "RR-J1": 22, "S": 47}
    assert [(line["code"], line["quantity"], line["set"]) for line in answer["lines"]] == [
        ("RR-B1", 3, "RRS-1-J1"), ("RR-J1", 3, "RRS-1-J1"), ("box S", 3, "RRS-1-J1"), ("fill S", 3, "RRS-1-J1"),
        ("message card", 3, "RRS-1-J1"), ("RR-B1", 2, ""),
    ]  # fmt: skip
    assert {"code": "RR-B1", "before": 40, "after": 35, "free": 35} in answer["stock"]


def test_what_a_set_held_when_it_was_sold_stays_so_whatever_becomes_of_the_set(shop: Path, stock: Stock) -> None:
    stock(sheet="code,sold\nRRS-1-J1,3\n")
    after = on_hand(shop)
    for file in sorted((shop / "sets/dawn").rglob("*"), reverse=True):
        file.unlink() if file.is_file() else file.rmdir()
    (shop / "sets/dawn").rmdir()
    assert on_hand(shop) == after
    assert stock("undo")[0] == 0
    assert on_hand(shop) == START


def test_the_same_file_twice_is_noticed_and_taken_again_where_it_happened_twice(shop: Path, stock: Stock) -> None:
    assert stock(sheet="code,sold\nRR-B1,2\n")[0] == 0
    status, answer = stock(sheet="code,sold\nRR-B1,2\n", name="another-name.csv")
    assert status == 1
    assert "was added already, as 1-" in answer["said"]
    assert on_hand(shop)["RR-B1"] == 38
    assert stock("--again", sheet="code,sold\nRR-B1,2\n")[0] == 0
    assert on_hand(shop)["RR-B1"] == 36
    assert stock("undo")[0] == 0
    assert on_hand(shop)["RR-B1"] == 40
    assert stock(sheet="code,sold\nRR-B1,2\n")[0] == 0, "what was taken back may be added"


def test_where_one_row_is_wrong_nothing_is_taken(shop: Path, stock: Stock) -> None:
    before = moved_lines(shop)
    rows = ("code,sold,counted,day", "RR-B1,2,,", "RR-B2,1,,", "RRS-1,1,,", "RR-J1,x,,", "RR-J2,1,,2027-03-02")
    sheet = "".join(f"{row}\n" for row in (*rows, "RRS-1-J1,,4,", "XYZ,1,,"))
    answer = stock(sheet=sheet)
    assert answer[0] == 1
    assert problems(answer) == [
        '"x" is no number of pieces. Write a whole number, as in 3.',
        'there is nothing with the code "RR-B2". Is it RR-B1? Write the code of an item, a variant of a set, a box, '
        "or the message card.",
        "RRS-1 has choices. Write which one it was: RRS-1-J1, RRS-1-J2.",
        "2 March 2027 is a day to come. Write the day on which it moved.",
        "RRS-1-J1 is a set, and its pieces are what is counted. Write a row for each piece.",
        'there is nothing with the code "XYZ". Write the code of an item, a variant of a set, a box, '
        "or the message card.",
    ]
    assert moved_lines(shop) == before


def test_a_day_before_the_last_count_is_kept_told_and_changes_nothing(shop: Path, stock: Stock) -> None:
    answer = stock("--day", "2027-02-19", sheet="code,sold\nRR-B1,2\n")
    assert answer[0] == 0
    assert "1 line is of the day of a later count or before it, and so without effect: RR-B1." in problems(answer)[0]
    assert on_hand(shop) == START


def test_less_than_nothing_is_told_and_counts_for_nothing_on_sale(shop: Path, stock: Stock) -> None:
    answer = stock(sheet="code,sold\nRR-J1,27\n")
    assert answer[0] == 0
    assert problems(answer)[0].startswith("RR-J1 would be -2. Was something made and not written down")
    assert on_hand(shop)["RR-J1"] == 0
    assert stock("show")[1]["stock"][1]["on_hand"] == -2


def test_a_count_that_differs_is_told_with_what_it_is_worth(
    shop: Path, stock: Stock, capsys: pytest.CaptureFixture[str]
) -> None:
    stock("--day", "2027-02-25", sheet="code,sold\nRR-B1,2\n")
    answer = stock("--day", "2027-02-27", sheet="code,counted\nRR-B1,35\nRR-J1,25\nRR-J2,26\n")
    assert answer[1]["counts"] == [
        {"code": "RR-B1", "day": "2027-02-27", "book": 38, "counted": 35},
        {"code": "RR-J2", "day": "2027-02-27", "book": 25, "counted": 26},
    ]
    assert main(["stock", "--shop", str(shop)]) == 0
    said = capsys.readouterr().out
    assert "RR-B1 on 27 February 2027: 38 in the books, 35 counted: 3 missing, £4.20 at cost" in said
    assert "together £4.20 missing and £2.10 over, at cost" in said


def test_the_file_may_stand_behind_the_options(shop: Path, tmp_path: Path) -> None:
    (tmp_path / "sold.csv").write_text("code,sold\nRR-B1,2\n", encoding="utf-8")
    words = ["stock", "add", "--shop", str(shop), "--today", "2027-03-01", str(tmp_path / "sold.csv")]
    assert main(words) == 0
    assert on_hand(shop)["RR-B1"] == 38


def test_looking_writes_nothing(shop: Path, stock: Stock) -> None:
    before = moved_lines(shop)
    status, answer = stock("--look", sheet="code,sold\nRR-B1,2\n")
    assert (status, answer["written"], answer["stock"][0]["after"]) == (0, False, 38)
    assert moved_lines(shop) == before


def test_undo_takes_back_the_last_batch_or_one_that_is_named(shop: Path, stock: Stock) -> None:
    _, first = stock(sheet="code,sold\nRR-B1,2\n")
    stock(sheet="code,broken\nRR-J1,1\n")
    assert "there is no batch" in stock("undo", "1-00000000")[1]["said"]
    assert stock("undo", first["batch"])[0] == 0
    assert on_hand(shop) == START | {"RR-J1": 24}
    assert moved_lines(shop)[-1].startswith("2027-03-01,not sold,RR-B1,2,")
    assert stock("undo")[0] == 0
    assert stock("undo")[0] == 0
    assert on_hand(shop) == {**START}, "of what was never counted the sheet's number holds"
    assert "nothing to take back" in stock("undo")[1]["said"]


def test_a_file_that_was_cut_off_is_completed_when_it_is_added_again(shop: Path, stock: Stock) -> None:
    sheet = "code,sold\nRR-B1,2\nRR-J1,3\nRR-J2,4\n"
    stock(sheet=sheet)
    whole = (shop / "movements.csv").read_bytes()
    (shop / "movements.csv").write_bytes(whole[:-20])
    assert on_hand(shop) == START | {"RR-B1": 38, "RR-J1": 22}
    status, answer = stock(sheet=sheet)
    assert (status, [line["code"] for line in answer["lines"]]) == (0, ["RR-J2"])
    assert on_hand(shop) == START | {"RR-B1": 38, "RR-J1": 22, "RR-J2": 21}
    assert "was added already" in stock(sheet=sheet)[1]["said"]


def test_a_shop_whose_movements_cannot_be_read_is_not_added_to(shop: Path, stock: Stock) -> None:
    with (shop / "movements.csv").open("a", encoding="utf-8") as file:
        file.write("2027-02-27,sould,RR-B1,1,,,,\n")
    assert [each["code"] for each in stock(sheet="code,sold\nRR-B1,2\n")[1]["problems"]] == ["movement-unread"]


EXPORT = (
    "Order,Paid on,Buyer,Item number,Title,Sold\n"
    "1,25/02/2027,Somebody,RR-B1,Bar,2\n2,26/02/2027,Else,RRS-1-J2,Set,1\n3,26/02/2027,Else,RR-B1,Bar,-1\n"
)


def test_a_place_s_export_is_learnt_once_and_kept_in_its_file(shop: Path, stock: Stock) -> None:
    before = (shop / "channels/stall.toml").read_text(encoding="utf-8")
    status, _ = stock("--place", "Market stall", sheet=EXPORT)
    assert status == 0
    assert on_hand(shop) == START | {"RR-B1": 38, "RR-J2": 24, "S": 49}
    after = (shop / "channels/stall.toml").read_text(encoding="utf-8")
    assert after.startswith(before)
    assert '"Item number" = "code"' in after
    assert 'date = "28/02/2027"' in after
    assert "Somebody" not in (shop / "movements.csv").read_text(encoding="utf-8")
    assert lines(list(open_shop(shop).problems)) == []
    again = EXPORT.replace("25/02", "05/02").replace("26/02", "01/03")  # now day and month could change places
    assert stock("--place", "stall", sheet=again)[0] == 0
    assert moved_lines(shop)[-1].startswith("2027-03-01,")


def test_what_is_not_sure_in_an_export_is_asked_and_nothing_taken(shop: Path, stock: Stock) -> None:
    before = moved_lines(shop)
    answer = stock("--place", "stall", sheet="Ref,One,Two\nRR-B1,3,4\n")
    assert problems(answer) == [
        'the quantity may be "One" or "Two". Write it under [sales] in channels/stall.toml: '
        'columns = { "Ref" = "code", "?" = "quantity" }.'
    ]
    answer = stock(sheet="Ref,One,Two\nRR-B1,3,4\n")
    assert "name the place whose sales it has with --place" in problems(answer)[0]
    assert moved_lines(shop) == before


def test_codes_of_a_place_s_own_are_asked_about_and_then_known(shop: Path, stock: Stock) -> None:
    sheet = EXPORT + "4,26/02/2027,X,POST,Postage,1\n5,26/02/2027,X,0815,Bar,1\n"
    answer = stock("--place", "stall", sheet=sheet)
    assert problems(answer)[0] == (
        'there is nothing with the code "POST". Write in channels/stall.toml under [sales]: codes = { "POST" = '
        '"..." }, or not_ours = ["POST"] where it is none of your goods.'
    )
    with (shop / "channels/stall.toml").open("a", encoding="utf-8") as file:
        file.write('\n[sales]\ncodes = { "0815" = "RR-B1" }\nnot_ours = ["POST"]\n')
    assert stock("--place", "stall", sheet=sheet)[0] == 0
    assert on_hand(shop)["RR-B1"] == 37


# Orders


def test_an_order_is_reserved_sent_reopened_and_given_up(shop: Path) -> None:
    order = OrderedGoods("order 7", (("RRS-1-J1", 4), ("RR-B1", 6)))
    day = datetime.date(2027, 3, 1)

    def figures() -> tuple[int, int, int]:
        figure = open_stock(shop)[0].stock().figures["RR-B1"]
        return figure.on_hand, figure.reserved, figure.free

    for step, wanted in (
        ("ordered", (40, 10, 30)), ("ordered", (40, 10, 30)), ("sent", (30, 0, 30)), ("sent", (30, 0, 30)),
        ("reopened", (40, 10, 30)), ("cancelled", (40, 0, 40)), ("cancelled", (40, 0, 40)), ("reopened", (40, 10, 30)),
        ("sent", (30, 0, 30)),
    ):  # fmt: skip
        move_order(shop, order, step, day)  # type: ignore[arg-type]
        assert figures() == wanted, step
    assert on_hand(shop) == START | {"RR-B1": 30, "RR-J1": 21, "S": 46}


def test_an_order_that_changes_reserves_what_it_asks_for_now(shop: Path) -> None:
    day = datetime.date(2027, 3, 1)
    move_order(shop, OrderedGoods("order 7", (("RR-B1", 6),)), "ordered", day)
    move_order(shop, OrderedGoods("order 7", (("RR-B1", 2),)), "ordered", day)
    move_order(shop, OrderedGoods("order 8", (("RR-B1", 1),)), "sent", day)
    assert on_hand(shop)["RR-B1"] == 37


def test_what_an_order_takes_goes_before_what_its_sets_hold_now(shop: Path) -> None:
    order = OrderedGoods("order 7", (("RRS-1-J1", 2),), (("RR-B1", 4), ("box S", 2), ("the card", 2)))
    move_order(shop, order, "sent", datetime.date(2027, 3, 1))
    assert on_hand(shop) == START | {"RR-B1": 36, "S": 48}


def test_without_movements_orders_write_none(tmp_path: Path) -> None:
    folder = clean_shop(tmp_path)
    assert move_order(folder, OrderedGoods("order 7", (("RR-B1", 6),)), "sent", datetime.date(2027, 3, 1)) is None
    assert not (folder / "movements.csv").exists()


def test_rows_that_make_more_together_than_a_line_can_say_are_told_and_nothing_is_added(
    shop: Path, stock: Stock
) -> None:
    before = moved_lines(shop)
    answer = stock(sheet="code,made\n" + "RR-B1,1000000\n" * 1_001)
    assert problems(answer) == [
        "with the rows above it more than 999,999,999 of RR-B1 would have moved. Is it the right column?"
    ]
    assert moved_lines(shop) == before


def test_what_was_cut_off_is_added_once_whatever_its_notes_hold(shop: Path, stock: Stock) -> None:
    sheet = "code,sold,note\nRR-B1,1,two  spaces\nRR-M1,2,=x\n"
    stock("--place", "stall", sheet=sheet)
    whole = moved_lines(shop)
    (shop / "movements.csv").write_text("\n".join(whole[:-1]) + "\n", encoding="utf-8")
    stock("--place", "stall", sheet=sheet)
    assert moved_lines(shop) == whole


def test_for_very_many_unknown_codes_none_is_sought_and_it_is_told(
    stock: Stock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounds, "SHEET_COMPARED", 60)
    answer = stock(sheet="code,sold\n" + "RR-B0,1\n" * 3 + "".join(f"RR-M{at},1\n" for at in range(2, 9)))
    told = [each["message"] + each["hint"][:30] for each in answer[1]["problems"]]
    assert len(told) == 10
    assert "Is it RR-B1?" in told[0]
    assert "Which one is meant is not looked for" in problems(answer)[-1]
