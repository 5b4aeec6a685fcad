"""`listkit order` and the stock: confirmed is reserved, sent is gone, given up is free, reopened is reserved."""

import json
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from listkit import bounds
from listkit.actions import order_book
from listkit.actions import orders as order_forms
from listkit.cli import main
from listkit.ledger.orders import KeptOrder
from listkit.ledger.store import LEDGER
from tests.disks import files_end_at
from tests.shops import clean_shop


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return clean_shop(tmp_path / "shop")


def order(shop: Path, *words: str) -> int:
    form = shop.parent / "form.csv"
    form.write_text("code,quantity\nRRS-1-J1,4\nRR-B1,30\n", encoding="utf-8")
    return main(["order", str(form), "--shop", str(shop), "--today", "2027-03-01", "--stockist", "MILL", *words])


def figures(shop: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, tuple[int, int]]:
    capsys.readouterr()
    assert main(["stock", "--shop", str(shop), "--json"]) == 0
    stock: list[dict[str, Any]] = json.loads(capsys.readouterr().out)["stock"]
    return {figure["code"]: (figure["on_hand"], figure["reserved"]) for figure in stock}


def test_an_order_goes_through_the_stock_with_its_steps(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["stock", "start", "--day", "2027-02-28", "--shop", str(shop)]) == 0
    assert order(shop) == 0
    assert figures(shop, capsys)["RR-B1"] == (40, 34)
    assert order(shop) == 0, "looked at again it lacks nothing that is put by for it"
    assert figures(shop, capsys)["RR-B1"] == (40, 34)
    assert order(shop, "--sent") == 0
    assert figures(shop, capsys)["RR-B1"] == (6, 0)
    assert figures(shop, capsys)["RR-J1"] == (21, 0)
    assert order(shop, "--undo") == 0
    assert figures(shop, capsys)["RR-B1"] == (40, 34)
    assert order(shop, "--cancel") == 0
    assert figures(shop, capsys)["RR-B1"] == (40, 0)


@pytest.mark.parametrize(("words", "looks"), [(["--sent"], order_book), ([], order_forms)], ids=["sent", "again"])
def test_an_order_that_another_program_cancels_meanwhile_is_cancelled_in_the_stock_too(
    shop: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, words: list[str], looks: ModuleType
) -> None:
    """The other one comes between the look at the orders on record and the writing."""
    assert main(["stock", "start", "--day", "2027-02-28", "--shop", str(shop)]) == 0
    assert order(shop) == 0
    known, others = looks.orders, [order_book.cancel_order]

    def then_cancelled(ledger: Path) -> tuple[KeptOrder, ...]:
        looked: tuple[KeptOrder, ...] = known(ledger)
        while others:
            others.pop()(shop, 1, looked[0].day)
        return looked

    monkeypatch.setattr(looks, "orders", then_cancelled)
    assert order(shop, *words) == 1
    assert [state.value for state, _ in known(shop / LEDGER)[0].steps] == ["cancelled"]
    assert figures(shop, capsys)["RR-B1"] == (40, 0)


def test_without_movements_an_order_writes_none(shop: Path) -> None:
    assert order(shop) == 0
    assert order(shop, "--sent") == 0
    assert not (shop / "movements.csv").exists()


def test_what_others_have_put_by_is_not_on_hand(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["stock", "start", "--day", "2027-02-28", "--shop", str(shop)])
    with (shop / "movements.csv").open("a", encoding="utf-8") as file:
        file.write("2027-02-28,ordered,RR-B1,10,wholesale,,by hand,\n")
    assert order(shop) == 1
    assert "34 pieces of RR-B1 are ordered, 30 are on hand." in capsys.readouterr().err


def test_a_step_that_the_ledger_has_no_room_for_is_told_as_half_done_and_done_once_later(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The stock's line is short and has room where the ledger has none (setrlimit(2), RLIMIT_FSIZE)."""
    assert main(["stock", "start", "--day", "2027-02-28", "--shop", str(shop)]) == 0
    assert order(shop) == 0
    before = (shop / "ledger.sqlite3").read_bytes()
    room = (shop / "movements.csv").stat().st_size + 500
    assert room < len(before)
    with files_end_at(room):
        assert order(shop, "--sent") == 1
    told = capsys.readouterr().err
    assert "The stock alone has it so far." in told
    assert "Then do the same again: the stock takes it once." in told
    assert (shop / "ledger.sqlite3").read_bytes() == before
    assert figures(shop, capsys)["RR-B1"] == (6, 0)
    assert order(shop, "--sent") == 0
    assert figures(shop, capsys)["RR-B1"] == (6, 0)
    assert order(shop, "--undo") == 0
    assert figures(shop, capsys)["RR-B1"] == (40, 34)


def test_an_order_whose_pieces_cannot_be_put_by_is_not_on_record_either(
    shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The ledger had it already when the movements refused, and "Nothing was added" was untrue."""
    main(["stock", "start", "--day", "2027-02-28", "--shop", str(shop)])
    before = (shop / "movements.csv").read_bytes()
    monkeypatch.setattr(bounds, "MOVE_LINES", before.count(b"\n"))
    capsys.readouterr()
    assert order(shop, "--out", str(tmp_path / "out")) == 1
    assert "Nothing was added." in capsys.readouterr().err
    assert main(["orders", "--shop", str(shop), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["orders"] == []
    assert (shop / "movements.csv").read_bytes() == before
    assert not [*(tmp_path / "out").rglob("*.pdf")]
