"""Pages of an order are written whole or not at all, and nowhere else."""

import time
from datetime import date
from pathlib import Path

import pytest

from listkit.actions.order_book import log_of
from listkit.actions.orders import logo_of, write_pages
from listkit.ledger.orders import KeptOrder
from listkit.model.wholesale import Stockist
from listkit.present.orders import log_json
from listkit.problem import FieldError
from listkit.write.print import Layout

GOOD = '#set document(title: "A page")\n#set text(lang: "en")\n= A page'


def layout(text: str) -> Layout:
    return Layout((("print/page.typ", text),), "{}")


def test_pages_lie_in_the_folder_of_orders(tmp_path: Path) -> None:
    made = write_pages(tmp_path / "out", tmp_path, [("a.pdf", layout(GOOD)), ("b.pdf", layout(GOOD))], ())
    assert made == ["wholesale/orders/a.pdf", "wholesale/orders/b.pdf"]
    assert all((tmp_path / "out" / path).read_bytes().startswith(b"%PDF") for path in made)


def test_where_one_page_fails_none_is_put_there_and_nothing_is_left_lying(tmp_path: Path) -> None:
    write_pages(tmp_path / "out", tmp_path, [("a.pdf", layout(GOOD))], ())
    before = (tmp_path / "out/wholesale/orders/a.pdf").read_bytes()
    with pytest.raises(FieldError, match="unknown variable"):
        write_pages(tmp_path / "out", tmp_path, [("a.pdf", layout(GOOD + " new")), ("b.pdf", layout("#nobody"))], ())
    assert [path.name for path in (tmp_path / "out/wholesale/orders").iterdir()] == ["a.pdf"]
    assert (tmp_path / "out/wholesale/orders/a.pdf").read_bytes() == before


def test_a_link_that_leads_out_is_not_followed(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out/wholesale").symlink_to(tmp_path)
    with pytest.raises(FieldError):
        write_pages(tmp_path / "out", tmp_path, [("a.pdf", layout(GOOD))], ())
    assert not (tmp_path / "orders").exists()


def test_there_is_a_logo_only_where_a_build_made_one(tmp_path: Path) -> None:
    assert logo_of(tmp_path) == ()
    (tmp_path / "wholesale/pictures").mkdir(parents=True)
    (tmp_path / "wholesale/pictures/logo.png").write_bytes(b"a picture")
    assert [name for name, _ in logo_of(tmp_path)] == ["logo.png"]


def test_thousands_of_orders_find_the_shops_that_they_are_of_in_one_look() -> None:
    """Each was held against each stockist: 5,000 orders and 3,000 stockists took nine seconds."""
    stockists = tuple(Stockist.model_validate({"code": f"K{at}", "name": f"Shop {at}"}) for at in range(3_000))
    facts = {"shop": "shop  2999", "total": "1.00", "currency": "GBP", "lines": [], "pieces": 0}
    known = tuple(KeptOrder(at, f"B{at}", "", date(2026, 11, 1), facts) for at in range(5_000))
    began = time.process_time()
    log = log_of((*known, KeptOrder(5_000, "k7", "", date(2026, 11, 2), facts | {"shop": "SHOP 9"})), stockists, "GBP")
    assert time.process_time() - began < 2
    assert [buyer.code for _, buyer in log.orders[:2]] == ["K7", "K2999"]  # the first of the table that either names


def test_orders_in_another_currency_are_not_a_sum_of_nothing() -> None:
    """A shop that has had euros for a year was shown 0.00 EUR beside an order of 240.00 GBP."""
    facts = {"shop": "Sluice", "sheet": "CN69X", "asked": {}, "files": [], "lines": [], "pieces": 0}
    orders = [
        KeptOrder(at, f"B{at}", "", date(2026, 11, at), facts | {"total": total, "currency": currency})
        for at, (total, currency) in enumerate((("240.00", "GBP"), ("60.00", "GBP"), ("12.00", "EUR")), 1)
    ]
    [before], [after] = (log_of(tuple(each), (), "EUR").shops for each in (orders[:2], orders))
    assert [str(total) for total in before.totals] == ["300.00"]
    assert [(str(total), total.currency) for total in after.totals] == [("12.00", "EUR"), ("300.00", "GBP")]
    [told] = log_json(log_of(tuple(orders), (), "EUR"), date(2026, 11, 9))["shops"]
    assert (told["total"], told["in_other_currencies"]) == ("12.00", {"GBP": "300.00"})
