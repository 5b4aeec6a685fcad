"""`listkit order` and the ledger: an order twice, sent, cancelled, taken back; `listkit orders`, its log."""

import datetime
import json
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from listkit.actions import orders
from listkit.actions.order_book import cancel_order
from listkit.cli import main
from listkit.problem import BlockedError, FieldError
from listkit.save.out_folder import locked, real_folder
from tests.ledger.test_old_ledger import OLD
from tests.shops import demo_without_pictures

Run = Callable[..., tuple[int, dict[str, Any]]]
BUYER = (("Shop", "The Thistle Drawer"), ("Your order number", "TD-118"))


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return demo_without_pictures(tmp_path_factory.mktemp("orders") / "shop")


@pytest.fixture
def shop(whole: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(whole, tmp_path / "shop"))


@pytest.fixture
def run(shop: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    def run(*words: str | Path, day: str = "2027-01-20") -> tuple[int, dict[str, Any]]:
        capsys.readouterr()
        status = main([*map(str, words), "--shop", str(shop), "--today", day, "--json"])
        said = capsys.readouterr()
        return status, json.loads(said.out) if said.out else {"told": said.err}

    return run


def form(folder: Path, *lines: str, buyer: tuple[tuple[str, str], ...] = BUYER, name: str = "order.csv") -> Path:
    """A form as a CSV: what the shop says of itself above, then codes and quantities."""
    rows = [*(f'{label},"{says}"' for label, says in buyer), "code,quantity", *lines]
    (folder / name).write_text("\n".join(rows) + "\n", encoding="utf-8")
    return folder / name


def files_of(shop: Path) -> dict[str, bytes]:
    folder = shop / "out/wholesale/orders"
    return {path.name: path.read_bytes() for path in folder.iterdir()} if folder.is_dir() else {}


def test_an_order_that_is_confirmed_is_on_record_with_what_it_takes(run: Run, shop: Path, tmp_path: Path) -> None:
    """60 x 3.55 (from 24) is 213.00; 4 x 13.50 is 54.00. OHS-1-S03 holds three pieces, OH-B01 among them."""
    status, told = run("order", form(tmp_path, "OH-B01,60", "OHS-1-S03,4"))
    assert (status, told["total"]) == (0, "267.00"), told
    assert {key: told["order"][key] for key in ("number", "reference", "day", "state", "new")} == {
        "number": 1, "reference": "TD-118", "day": "2027-01-20", "state": "confirmed", "new": True,
    }  # fmt: skip
    status, log = run("orders", day="2027-04-28")
    [order] = log["orders"]
    assert (status, order["total"], order["stockist"], order["shop"]) == (0, "267.00", "ST-01", "The Thistle Drawer")
    assert order["lines"] == [
        {"code": "OHS-1-S03", "name": order["lines"][0]["name"], "quantity": 4, "each": "13.50", "total": "54.00"},
        {"code": "OH-B01", "name": order["lines"][1]["name"], "quantity": 60, "each": "3.55", "total": "213.00"},
    ]
    with closing(sqlite3.connect(shop / "ledger.sqlite3")) as ledger:
        [text] = [text for (text,) in ledger.execute("SELECT text FROM content") if '"asked"' in text]
    facts = json.loads(text)
    assert facts["takes"]["items"]["OH-B01"] == 60 + 4
    assert sum(facts["takes"]["items"].values()) == 60 + 4 * 3
    assert sorted(facts["files"]) == sorted(told["files"])


def test_the_log_says_how_long_ago_each_shop_ordered(
    run: Run, shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """From 2027-01-20 to 2027-04-28 there are 98 days, which are 14 weeks."""
    run("order", form(tmp_path, "OH-B01,60"))
    run("order", form(tmp_path, "OH-B02,60", buyer=(("Shop", "Cobnut & Lantern"),)), day="2027-02-20")
    run("order", form(tmp_path, "OH-B03,60", buyer=(*BUYER[:1], ("Your order number", "TD-119"))), day="2027-01-12")
    _, log = run("orders", day="2027-04-28")
    names = ("shop", "orders", "to_send", "total", "days_since")
    assert [tuple(each[name] for name in names) for each in log["shops"]] == [
        ("Cobnut & Lantern", 1, 1, "213.00", 67), ("The Thistle Drawer", 2, 2, "426.00", 98),
        ("Pennywort Provisions", 0, 0, "0.00", None), ("Café Mélisse", 0, 0, "0.00", None),
    ]  # fmt: skip
    capsys.readouterr()
    assert main(["orders", "--shop", str(shop), "--today", "2027-04-28"]) == 0
    lines = [" ".join(line.split()) for line in capsys.readouterr().out.splitlines()]
    assert "2027-02-20 Cobnut & Lantern – confirmed 60 213.00 GBP" in lines
    assert "The Thistle Drawer 14 weeks ago 2 2 426.00 GBP" in lines
    assert "Café Mélisse none yet 0 0 0.00 GBP" in lines


def test_a_shop_without_orders_has_an_empty_log_and_no_ledger(
    run: Run, shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, log = run("orders")
    assert (status, log["orders"]) == (0, [])
    main(["orders", "--shop", str(shop)])
    assert "No order is on record yet." in capsys.readouterr().out
    assert not (shop / "ledger.sqlite3").exists()


def test_the_same_order_again_is_told_and_adds_nothing(run: Run, shop: Path, tmp_path: Path) -> None:
    run("order", form(tmp_path, "OH-B01,60", "OH-B02,12"))
    before = files_of(shop), (shop / "ledger.sqlite3").read_bytes()
    status, told = run("order", form(tmp_path, "OH-B02,12", "OH-B01,60", name="sent again.csv"), day="2027-01-25")
    assert (status, told["order"]["new"]) == (0, False)
    assert [each["message"] for each in told["problems"] if each["code"] == "order-twice"] == [
        "it is on record already, confirmed on 20 January 2027."
    ]
    assert (files_of(shop), (shop / "ledger.sqlite3").read_bytes()) == before


def test_another_order_under_the_same_number_is_told_and_never_confirmed(run: Run, shop: Path, tmp_path: Path) -> None:
    run("order", form(tmp_path, "OH-B01,60"))
    before = files_of(shop), (shop / "ledger.sqlite3").read_bytes()
    changed = form(tmp_path, "OH-B01,72", "OH-B02,12", name="changed.csv")
    for more in ((), ("--anyway",), ("--sent",)):
        status, told = run("order", changed, *more)
        assert status == 1
        assert "OH-B01 60, not 72, OH-B02 0, not 12." in json.dumps(told)
        assert (files_of(shop), (shop / "ledger.sqlite3").read_bytes()) == before
    status, told = run("order", changed, "--cancel", day="2027-01-22")
    assert (status, told["order"]["state"], told["order"]["since"]) == (0, "cancelled", "2027-01-22")
    status, told = run("order", changed, day="2027-01-22")
    assert (status, told["order"]["number"], told["order"]["new"]) == (0, 2, True)
    _, log = run("orders", day="2027-01-22")
    assert [(each["number"], each["state"]) for each in log["orders"]] == [(2, "confirmed"), (1, "cancelled")]
    assert log["shops"][0]["total"] == "300.60"  # 72 x 3.55 and 12 x 3.75; what is cancelled counts no more


def test_an_order_is_sent_once_and_what_was_a_slip_is_taken_back(run: Run, tmp_path: Path) -> None:
    file = form(tmp_path, "OH-B01,60")
    status, told = run("order", file, "--sent")
    assert (status, told) == (1, {"told": "this order is not on record. Confirm it first: listkit order FORM.\n"})
    run("order", file)
    status, told = run("order", file, "--sent", day="2027-01-19")
    assert "19 January 2027 lies before 20 January 2027, when it was confirmed." in told["told"]
    status, told = run("order", file, "--sent", day="2027-02-01")
    assert (status, told["order"]["state"], told["order"]["since"]) == (0, "sent", "2027-02-01")
    assert "it is sent already, since 1 February 2027." in run("order", file, "--sent", day="2027-02-02")[1]["told"]
    assert (
        "it was sent on 1 February 2027. If that was a slip"
        in run("order", file, "--cancel", day="2027-02-02")[1]["told"]
    )
    status, told = run("order", file, "--undo", day="2027-02-02")
    assert (status, told["order"]["state"]) == (0, "confirmed")
    assert "There is nothing to take back." in run("order", file, "--undo", day="2027-02-02")[1]["told"]
    assert run("order", file, "--cancel", day="2027-02-02")[0] == 0


def test_an_order_cancelled_does_not_come_back_beside_another_of_its_number(
    run: Run, shop: Path, tmp_path: Path
) -> None:
    first, second = form(tmp_path, "OH-B01,60"), form(tmp_path, "OH-B01,72", name="second.csv")
    run("order", first)
    run("order", first, "--cancel")
    run("order", second)
    status, told = run("order", first, "--undo")
    assert (status, "another order goes by TD-118 by now." in told["told"]) == (1, True)
    with pytest.raises(FieldError, match="there is no order 9"):
        cancel_order(shop, 9, datetime.date(2027, 1, 20))


def test_an_order_without_number_is_the_same_until_it_is_sent_then_a_new_one(run: Run, tmp_path: Path) -> None:
    file = form(tmp_path, "OH-B01,60", buyer=BUYER[:1])
    assert run("order", file)[1]["order"]["new"]
    assert not run("order", file, day="2027-01-21")[1]["order"]["new"]
    run("order", file, "--sent", day="2027-01-22")
    _, told = run("order", file, day="2027-03-20")
    assert (told["order"]["number"], told["order"]["new"]) == (2, True)
    assert "the same was ordered before, and sent on 22 January 2027." in json.dumps(told)


def test_a_table_that_names_nobody_is_of_the_stockist_who_is_named(run: Run, tmp_path: Path) -> None:
    file = form(tmp_path, "OH-B01,60", buyer=())
    assert 'there is no stockist "ST-99".' in run("order", file, "--stockist", "ST-99")[1]["told"]
    run("order", file, "--stockist", "st-03")
    _, log = run("orders")
    assert (log["orders"][0]["stockist"], log["shops"][0]["shop"]) == ("ST-03", "Pennywort Provisions")


def test_whoever_ordered_before_orders_no_first_time(run: Run, tmp_path: Path) -> None:
    """The least sum is 240 for a first order, 90 for later ones; nobody in stockists.csv is called Inkwell."""
    buyer = (("Shop", "Inkwell"), ("Your order number", "1"))
    run("order", form(tmp_path, "OH-B01,72", buyer=buyer))
    again = form(tmp_path, "OH-B01,30", buyer=(buyer[0], ("Your order number", "2")), name="second.csv")
    _, told = run("order", again)
    assert "order-sum" not in [each["code"] for each in told["problems"]]


def test_a_code_that_is_another_one_now_makes_no_other_order(run: Run, shop: Path, tmp_path: Path) -> None:
    file = form(tmp_path, "OH-B01,60")
    run("order", file)
    assert main(["rename", "OH-B01", "OH-B77", "--shop", str(shop), "--apply"]) == 0
    status, told = run("order", form(tmp_path, "OH-B77,60"), "--sent")
    assert (status, told["order"]["state"]) == (0, "sent")


def test_nothing_is_written_while_a_build_runs_or_a_ledger_is_newer(run: Run, shop: Path, tmp_path: Path) -> None:
    file = form(tmp_path, "OH-B01,60")
    with locked(real_folder(shop / "out")):
        status, told = run("order", file)
    assert (status, "another build is writing into out just now." in told["told"]) == (1, True)
    assert not (shop / "ledger.sqlite3").exists()
    assert files_of(shop) == {}
    run("order", file)
    with closing(sqlite3.connect(shop / "ledger.sqlite3")) as newer:
        newer.execute("PRAGMA user_version = 99")
        newer.commit()
    before = files_of(shop), (shop / "ledger.sqlite3").read_bytes()
    for words in (("order", form(tmp_path, "OH-B02,60", name="2.csv")), ("order", file, "--sent"), ("orders",)):
        status, told = run(*words)
        assert (status, "newer listkit" in told["told"]) == (1, True), words
    assert (files_of(shop), (shop / "ledger.sqlite3").read_bytes()) == before


def test_a_ledger_that_cannot_be_written_leaves_no_confirmation_behind(
    run: Run, shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*args: object, **kwargs: object) -> None:
        raise BlockedError("ledger.sqlite3: the disk is full.", "Make room; nothing of this record was kept.")

    monkeypatch.setattr(orders, "add_order", full)
    status, told = run("order", form(tmp_path, "OH-B01,60"))
    assert (status, "the disk is full" in told["told"]) == (1, True)
    assert files_of(shop) == {}


def test_a_ledger_of_an_earlier_version_takes_orders_and_keeps_its_records(
    run: Run, shop: Path, tmp_path: Path
) -> None:
    """The old ledger has a line sheet on record by which somebody orders: OH-B01 cost 4.00 then, 3.75 today."""
    shutil.copyfile(OLD, shop / "ledger.sqlite3")
    with closing(sqlite3.connect(shop / "ledger.sqlite3")) as ledger:
        lines = [text for (text,) in ledger.execute("SELECT text FROM content") if '"version"' in text]
    versions = {json.loads(line)["version"] for line in lines}
    totals = {}
    for number, version in enumerate(sorted(versions)):
        buyer = (BUYER[0], ("Your order number", f"{number}"))
        _, told = run("order", form(tmp_path, "OH-B01,18", buyer=buyer), "--sheet", version, "--anyway")
        assert told["order"]["new"], told
        totals[version] = told["total"]
    assert set(totals.values()) == {"67.50", "72.00"}
    _, log = run("orders")
    assert {each["sheet"]: each["total"] for each in log["orders"]} == totals
    assert run("history", "OH-B01")[0] == 0
