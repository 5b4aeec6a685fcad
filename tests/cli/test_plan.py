"""`listkit plan`: the list, a plan proposed, the calendar; nothing planned is said, what is too late is 1."""

import csv
import datetime
import io
import json
import time
from pathlib import Path

import pytest

from listkit.cli import main
from tests.compute.test_costs import EMPTY, MATERIALS, RECIPES, SHOP, WAYS
from tests.compute.test_costs import ITEMS as TYPED
from tests.shops import clean_shop

HEAD = "set or item,place,how many,by when,sold out,left over,likely\n"


def shop(folder: Path, rows: str, **more: str) -> Path:
    """The clean shop with a recipe for its soap and a plan."""
    texts = {"items.csv": EMPTY, "shop.toml": SHOP + WAYS, "materials.csv": MATERIALS, "recipes.csv": RECIPES}
    return clean_shop(folder, {**texts, "plan.csv": HEAD + rows, **more})


def run(folder: Path, *arguments: str) -> int:
    """Run the command on the first of March."""
    return main(["plan", "--shop", str(folder), "--today", "2027-03-01", *arguments])


def test_the_list_says_what_to_pour_and_to_buy_and_how_many_of_one_season(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = shop(
        tmp_path, "RRS-1-J1,stall,,2027-05-03,18,7,20: 5 %; 30: 15 %; 40: 30 %; 50: 25 %; 60: 15 %; 70: 10 %\n"
    )
    assert run(folder) == 0
    told = capsys.readouterr().out
    assert "RR-B1  Sedge & Salt bar soap  2027-03-22  2027-05-03  2027-05-03     10        1      19    1.5" in told
    assert "RRS-1-J1, stall: make 50, enough in so many of all seasons: £18.00 ÷ (£18.00 + £7.00) = 0.72." in told
    assert run(folder, "--json") == 0
    said = json.loads(capsys.readouterr().out)
    assert said["wanted"][0]["advice"] == {
        "sold_out": "18.00", "left_over": "7.00", "share": [18, 25], "quantity": 50,
    }  # fmt: skip
    assert [(make["code"], make["batches"], make["pour_by"]) for make in said["makes"]] == [("RR-B1", 1, "2027-03-22")]


def test_what_is_too_late_is_told_first_and_in_the_status(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(shop(tmp_path, "RR-B1,stall,50,2027-04-11,,,\n")) == 1
    first = capsys.readouterr().out.splitlines()[0]
    assert first == (
        "Too late for 11 April 2027: 10 of Sedge & Salt bar soap (RR-B1) had to be begun by 26 February 2027; "
        "begun now it is ready on 12 April 2027."
    )


def test_without_a_plan_nothing_is_planned(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(clean_shop(tmp_path)) == 0
    assert capsys.readouterr().out.startswith("Nothing is planned.")
    assert run(tmp_path, "--propose", "120 %") == 1
    assert "movements.csv" in capsys.readouterr().err


def test_a_proposed_plan_reads_back_as_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    moves = "day,kind,code,quantity,place,set,note,batch\n"
    moves += "".join(f"2026-04-01,sold,{code},10,stall,RRS-1-J1,,\n" for code in ("RR-B1", "RR-J1", "box S"))
    folder = clean_shop(tmp_path, {"movements.csv": moves})
    assert run(folder, "--propose", "120 %") == 0
    text = capsys.readouterr().out
    assert list(csv.reader(io.StringIO(text))) == [
        ["set or item", "place", "how many", "by when"],
        ["RRS-1-J1", "stall", "12", "2027-03-01"],
    ]
    (folder / "plan.csv").write_text(text, encoding="utf-8")
    run(folder, "--json")
    assert json.loads(capsys.readouterr().out)["wanted"][0]["quantity"] == 12


def test_a_plan_of_more_than_a_row_takes_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    moves = "day,kind,code,quantity,place,set,note,batch\n"
    moves += "".join(f"2026-04-01,sold,{code},10,stall,RRS-1-J1,,\n" for code in ("RR-B1", "RR-J1", "box S"))
    assert run(clean_shop(tmp_path, {"movements.csv": moves}), "--propose", "99999999999 %") == 1
    assert "of the 10 of RRS-1-J1 that sold are more than a plan takes" in capsys.readouterr().err


def test_the_calendar_is_the_same_bytes_for_the_same_shop(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = shop(tmp_path, "RR-B1,stall,50,2027-05-03,,,\n")
    assert run(folder, "--calendar") == 0
    files = [folder / "out/print/asked" / name for name in ("calendar.ics", "calendar.pdf")]
    before = [file.read_bytes() for file in files]
    time.sleep(0.01)
    assert run(folder, "--calendar") == 0
    assert [file.read_bytes() for file in files] == before
    assert b"DTSTAMP:20270301T000000Z" in before[0]
    files[0].write_bytes(b"hers")
    assert run(folder, "--calendar") == 1
    assert files[0].read_bytes() == b"hers"
    assert "calendar.ics" in capsys.readouterr().err


def test_show_tells_what_a_cost_follows_from(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = shop(tmp_path, "")
    assert main(["show", "RR-B1", "--shop", str(folder)]) == 0
    assert ["olive", "oil", "1.9", "kg", "30.00", "for", "5", "kg", "0.6000"] in [
        line.split() for line in capsys.readouterr().out.splitlines()
    ]
    main(["show", "RRS-1", "--json", "--shop", str(folder)])
    assert json.loads(capsys.readouterr().out)["costs"][0]["cost"] == "1.59"


def test_where_nothing_has_to_be_made_it_is_not_said_that_all_is_there_while_something_is_to_be_bought(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = shop(tmp_path, "RRS-1-J1,stall,1,2027-05-03,,,\n")
    assert run(folder) == 0
    out = capsys.readouterr().out
    assert "To buy" in out
    assert out.startswith("Nothing has to be made.\n")


def test_what_is_sold_already_is_said_and_taken_off(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    moves = "day,kind,code,quantity,place,set,note,batch\n2026-01-01,counted,RR-J1,90,,,,\n"
    moves += "2027-02-20,sold,RR-J1,12,stall,,,\n2027-02-20,sold,RR-J2,5,stall,,,\n"
    rows = "RR-J1,stall,40,2027-03-20,,,\nRR-J2,stall,5,2027-03-20,,,\n"
    folder = shop(tmp_path, rows, **{"movements.csv": moves})
    assert run(folder) == 0
    out = capsys.readouterr().out
    assert "RR-J1, stall: 12 of 40 are sold since 1 February 2027, so 28 are wanted.\n" in out
    assert "RR-J2, stall: 5 of 5 are sold since 1 February 2027, so no more are wanted.\n" in out
    run(folder, "--json")
    assert json.loads(capsys.readouterr().out)["sold"][0] == {
        "code": "RR-J1", "place": "stall", "asked": 40, "sold": 12, "since": "2027-02-01", "wanted": 28,
    }  # fmt: skip


LEFT_OUT = {
    "a circle": {"recipes.csv": RECIPES + "RR-B1,base,1 kg\nbase,tea,1 kg\ntea,base,1 kg\n"},
    "no price": {"materials.csv": MATERIALS.replace("4.00", "")},
    "a batch of none": {"shop.toml": SHOP + WAYS.replace("batch_size = 20", "batch_size = 0")},
    "units": {"recipes.csv": RECIPES.replace("190 g", "190 ml")},
    "no such set": {"plan.csv": HEAD + "RRS-9,stall,10,2027-05-03,,,\n"},
}


@pytest.mark.parametrize("files", LEFT_OUT.values(), ids=list(LEFT_OUT))
def test_a_plan_whose_goods_are_left_out_is_not_called_none(
    files: dict[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(shop(tmp_path, "RR-B1,stall,60,2027-05-03,,,\n", **files)) == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.endswith("Not all of plan.csv can be planned until something is mended: listkit check says what.\n")


UNREAD = {
    "materials.csv": MATERIALS.replace("100 pieces", "1.0.0 pieces"),
    "recipes.csv": RECIPES + "RR-B1,paper band,1.9.0 pieces\n",
}


@pytest.mark.parametrize("file", UNREAD)
def test_a_list_that_lacks_what_cannot_be_read_of_materials_or_recipes_says_so(
    file: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(shop(tmp_path, "RR-B1,stall,60,2027-05-03,,,\n", **{"items.csv": TYPED, file: UNREAD[file]})) == 1
    said = capsys.readouterr()
    assert "RR-B1" in said.out
    assert said.err.endswith(
        f"Not all of {file} is reckoned with until something is mended: listkit check says what.\n"
    )


def test_a_plan_of_days_that_have_passed_and_a_year_of_closed_days_are_told_shortly(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(shop(tmp_path / "past", "RR-B1,stall,60,2027-02-03,,,\n")) == 0
    assert capsys.readouterr().out == "1 row of plan.csv is of days that have passed.\n"
    days = [f"{datetime.date(2027, 1, 1) + datetime.timedelta(at)}" for at in range(366)]
    closed = SHOP + WAYS + f"\n[workshop]\nclosed = [{', '.join(days)}]\n"
    assert run(shop(tmp_path / "closed", "RR-B1,stall,60,2027-05-03,,,\n", **{"shop.toml": closed})) == 1
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith(
        "Too late for 3 May 2027: 20 of Sedge & Salt bar soap (RR-B1) had to be begun by 31 December 2026"
    )
    assert sum(" is closed: " in line for line in lines) == 8
    assert lines[-1] == "8 more closed days until 22 March 2027 move what is poured too."


@pytest.mark.parametrize("words", [(), ("--propose", "120 %"), ("--calendar",)])
def test_what_goes_by_movements_that_cannot_all_be_read_says_so(
    words: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    moves = "day,kind,code,quantity,place,set,note,batch\n2026-03-01,sold,RR-B1,2,web,,,\n"
    folder = shop(tmp_path, "", **{"movements.csv": moves})
    run(folder, *words)
    assert "movements.csv" not in capsys.readouterr().err
    (folder / "movements.csv").write_text(f"{moves}2026-03-02,sold,RR-B1,many,web,,,\n", encoding="utf-8")
    assert run(folder, *words) == 1
    assert "Not all of movements.csv can be read" in capsys.readouterr().err


def test_a_plan_is_not_proposed_from_movements_that_cannot_be_read(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = shop(tmp_path, "", **{"movements.csv": "date,what\n2026-03-01,sold\n"})
    assert run(folder, "--propose", "120 %") == 1
    assert capsys.readouterr().err == ("nothing of movements.csv can be read. See what listkit check says of it.\n")
