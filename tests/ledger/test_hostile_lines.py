"""Lines of a ledger that somebody made to harm, each behind its right digest: told, quickly, whatever reads them.

SQLite, "Defense Against The Dark Arts", has nothing of what the rows hold: a digest proves only that who made the line
made the digest too. How deep JSON may be is left to the reader (RFC 8259, section 9).
"""

import hashlib
import json
import sqlite3
import time
from contextlib import closing, suppress
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from listkit import bounds
from listkit.ledger.faults import DamagedLedgerError
from listkit.ledger.history import channel_prices, price_history
from listkit.ledger.movements import movements
from listkit.ledger.orders import add_order, orders
from listkit.ledger.store import (
    SECTIONS,
    Facts,
    Stamp,
    difference,
    lines_of,
    priced_codes,
    record,
    recorded_sets,
    records,
    redate,
    standing,
)
from listkit.problem import FieldError
from tests.ledger.journals import everything
from tests.ledger.rows import at, facts, order, row, snapshot

SECONDS = 3.0
"""Of the processor, for all uses of one ledger together."""
DEEP = {"700": 700, "100,000": 100_000}


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    """A ledger with a record of two rows, and an order."""
    path = tmp_path / "shop" / "ledger.sqlite3"
    path.parent.mkdir()
    record(path, "web", snapshot(row("A-1"), row("A-2"), items=facts(OH_B01={"retail": "7.50"})), at(1))
    add_order(path, order("TD-1"), ())
    return path


def replaced(ledger: Path, line: str, *, where: str = "entry SET digest = ? WHERE code = 'A-1'") -> None:
    """Put a line in the place of another, with its digest."""
    digest = hashlib.sha256(line.encode("utf-8", "surrogatepass")).digest()
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        guards = connection.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute("INSERT INTO content (digest, text) VALUES (?, ?)", (digest, line))
        connection.execute(f"UPDATE {where}", (digest,))
        for _, sql in guards:
            connection.execute(sql)


def row_with(**other: Any) -> str:
    return json.dumps(row("A-1", **other))


ROWS = {
    **{f"{name} deep": '{"sku":"A-1","story":' + "[" * deep + "]" * deep + "}" for name, deep in DEEP.items()},
    "objects deep": '{"a":' * 700 + "1" + "}" * 700,
    "a list": "[1]",
    "a text": '"x"',
    "no JSON": '{"sku":',
    "a number of 6,000 digits": '{"sku":"A-1","price":' + "9" * 6000 + "}",
    "a number without end": '{"sku":"A-1","weight":1e999}',
    "not a number": '{"sku":"A-1","weight":NaN}',
    "half a sign": '{"sku":"A-1","name":"\\ud800"}',
    "a price in words": row_with(price="dear"),
    "a price beyond all": row_with(price="1e999999999"),
    "a price as a number": row_with(price=29),
    "a price without end": row_with(price="Infinity"),
    "a list that is a number": row_with(itemCodes=5),
    "a choice that is a number": row_with(choice=7),
    "no code": '{"itemCodes":5}',
    "a code that is a number": '{"sku":5}',
    "a weight in words": row_with(weight="heavy"),
    "a weight that is yes": row_with(weight=True),
    "a width as text": row_with(width="NaN"),
    "a stock of more or less": row_with(inventoryLevel="some"),
    "a price of prices": row_with(price={"amount": "1.00"}),
}


@pytest.mark.parametrize("kind", ROWS)
def test_a_row_that_is_none_of_ours_is_told_by_whatever_reads_it(ledger: Path, kind: str) -> None:
    replaced(ledger, ROWS[kind])
    before, began = everything(ledger.parent), time.process_time()
    for use in (
        lambda: difference(ledger, "web", snapshot()),
        lambda: lines_of(ledger, "A-1", "rows"),
        lambda: standing(ledger, "web", "rows"),
        lambda: price_history(ledger, "A-1", "GBP"),
    ):
        with pytest.raises(DamagedLedgerError, match=r"^ledger\.sqlite3: it does not hold what listkit wrote"):
            use()
    with suppress(DamagedLedgerError):
        channel_prices(ledger, "web", "GBP")  # which reads the prices alone
    assert time.process_time() - began < SECONDS
    assert everything(ledger.parent) == before


def test_a_line_that_is_too_long_for_any_is_not_read(ledger: Path) -> None:
    replaced(ledger, row_with(story="x" * 60_000_000))
    with pytest.raises(DamagedLedgerError, match="it does not hold"):
        standing(ledger, "web", "rows")


def test_a_line_that_names_a_long_text_thousands_of_times_is_not_put_together(ledger: Path) -> None:
    passage = json.dumps("y" * 1_000_000)
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        connection.execute(
            "INSERT INTO passage VALUES (99, ?, ?)", (hashlib.sha256(passage.encode()).digest(), passage)
        )
    replaced(ledger, "{" + ",".join(f'"{number}":{{"passage":99}}' for number in range(50_000)) + "}")
    began = time.process_time()
    with pytest.raises(DamagedLedgerError, match="it does not hold"):
        standing(ledger, "web", "rows")
    assert time.process_time() - began < SECONDS


OTHERWISE: dict[str, dict[str, Any]] = {
    "quantities in words": {"lines": [{"code": "OH-B01", "quantity": "x"}]},
    "a quantity beyond all": {"lines": [{"code": "OH-B01", "quantity": 10**300}]},
    "a sum in words": {"total": "dear"},
    "a sum beyond all": {"total": "1e99999999"},
    "takes a number": {"takes": 5},
    "no currency": {"currency": "pounds and pence"},
    "files that are none": {"files": 7},
}
ORDERS = {
    "a list": "[]",
    "nothing in it": "{}",
    "700 deep": '{"lines":' + "[" * 700 + "]" * 700 + "}",
    **{name: json.dumps({**order("TD-1").facts, **other}) for name, other in OTHERWISE.items()},
}


@pytest.mark.parametrize("kind", ORDERS)
def test_an_order_that_is_none_of_ours_is_told(ledger: Path, kind: str) -> None:
    replaced(ledger, ORDERS[kind], where="stockist_order SET digest = ?")
    with pytest.raises(DamagedLedgerError, match=r"^ledger\.sqlite3: it does not hold what listkit wrote"):
        orders(ledger)


def test_an_order_is_kept_as_its_form_has_it_a_quantity_in_words_too(ledger: Path) -> None:
    asked = {"OH-B01": 12, "OH-U01": "two", "OH-S01": 2.5}
    kept = order("TD-2")
    kept = replace(kept, facts={**kept.facts, "asked": asked})
    add_order(ledger, kept, orders(ledger))
    assert orders(ledger)[-1].facts["asked"] == asked


@pytest.mark.parametrize("fact", ["moved", "made_of"])
def test_movements_that_are_none_of_ours_are_told(fact: str) -> None:
    before, after = (
        {"OH-B01": json.dumps({"on_hand": hand, "cost": hand, fact: says})} for hand, says in (("1", "x"), ("2", "y z"))
    )
    with pytest.raises(DamagedLedgerError, match=r"^ledger\.sqlite3: it does not hold"):
        movements(Facts(items=before), Facts(items=after))


def test_pieces_of_thousands_of_digits_are_told_before_they_are_added_up() -> None:
    """Python writes no number of more than 4,300 digits, which two with as many make together."""
    before, after = (
        {f"OH-B{item:02}": json.dumps({"on_hand": hand, "moved": moved}) for item in range(9)}
        for hand, moved in (("1", [f"sold -{'9' * 4_300}"]), ("2", []))
    )
    with pytest.raises(DamagedLedgerError, match=r"^ledger\.sqlite3: it does not hold"):
        movements(Facts(items=before), Facts(items=after))


@pytest.mark.parametrize("stamp", [
    "9999-12-31T23:59:59-23:59", "0001-01-01T00:00:00+23:59", "2" * 1_000_000, "yesterday", "2026-11-25T10:30",
])  # fmt: skip
def test_a_time_that_no_calendar_of_here_has_is_told_in_a_short_sentence(ledger: Path, stamp: str) -> None:
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        connection.execute("INSERT INTO record VALUES (2, 'web', ?, '', '', NULL)", (stamp,))
    for use in (lambda: records(ledger), lambda: record(ledger, "web", snapshot(), at(5))):
        with pytest.raises(DamagedLedgerError, match="is no time") as fault:
            use()
        assert len(fault.value.message) < 200


@pytest.mark.parametrize("number", [-5, 0, 2**63 - 1])
def test_a_record_whose_number_no_other_could_follow_is_told(ledger: Path, number: int) -> None:
    """After the largest number SQLite picks any that is free ("Autoincrement"), and the order of records is lost."""
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        connection.execute("INSERT INTO record VALUES (?, 'web', ?, '', '', NULL)", (number, at(2).at))
    for use in (lambda: records(ledger), lambda: record(ledger, "web", snapshot(), at(5))):
        with pytest.raises(DamagedLedgerError, match="it does not hold"):
            use()


def test_more_codes_than_a_shop_may_have_are_told(ledger: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A million of them behind one line took half a minute to be held against the shop."""
    monkeypatch.setattr(bounds, "LEDGER_CODES", 100)
    with closing(sqlite3.connect(ledger)) as connection:
        connection.execute(
            "WITH RECURSIVE at (n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM at WHERE n < ?) "
            "INSERT INTO entry SELECT record, section, 'X-' || n, digest FROM entry, at WHERE code = 'A-1'",
            (bounds.LEDGER_CODES,),
        )
        connection.commit()
    with pytest.raises(DamagedLedgerError):
        difference(ledger, "web", snapshot(row("A-1")))


def test_a_code_that_is_no_text_is_told_by_whatever_reads_it(ledger: Path) -> None:
    """A column of texts keeps bytes as they are (SQLite, "Datatypes In SQLite", section 3.1)."""
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        for section in SECTIONS:
            connection.execute(
                "INSERT INTO entry SELECT 1, ?, x'41ff', digest FROM entry WHERE code = 'A-1'", (section,)
            )
    for use in (
        lambda: difference(ledger, "web", snapshot()),
        lambda: standing(ledger, "web", "rules"),
        lambda: channel_prices(ledger, "web", "GBP"),
        lambda: priced_codes(ledger),
        lambda: recorded_sets(ledger),
        lambda: record(ledger, "web", snapshot(), at(5)),
    ):
        with pytest.raises(DamagedLedgerError, match="it does not hold"):
            use()


def test_a_note_of_any_length_is_shown_short(ledger: Path) -> None:
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        connection.execute("INSERT INTO record VALUES (2, 'web', ?, ?, '', NULL)", (at(2).at, "n" * 40_000_000))
    assert len(records(ledger)[-1].note) < 5000


def test_a_record_of_a_clock_that_ran_years_ahead_is_put_right_without_a_tool(ledger: Path) -> None:
    ahead = snapshot(row("A-1", "31.00"))
    assert record(ledger, "web", ahead, Stamp("2029-05-01T10:00:00+00:00")) is not None
    with pytest.raises(FieldError, match="lies before the last record of web") as fault:
        record(ledger, "web", snapshot(), at(5))
    assert "listkit record web --redate --at TIME" in fault.value.hint
    was, now = redate(ledger, "web", at(4))
    assert (was.at[:4], now.at[:4]) == ("2029", "2026")
    assert record(ledger, "web", snapshot(), at(5)) is not None
