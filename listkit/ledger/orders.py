"""Orders of stockists in the ledger: each as it was confirmed, and what became of it.

Rows are only added: an order that is cancelled stays, with a step that says so, and so does one that is opened again.
"""

import datetime
import json
import sqlite3
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Any, Final

from listkit.ledger.faults import damaged
from listkit.ledger.file import WAIT, connected, exists, opened
from listkit.ledger.lines import LARGEST, canonical, digest_of, is_plain, line_of
from listkit.ledger.store import reading, writing
from listkit.problem import BlockedError
from listkit.units.money import amount_of


class OrderState(StrEnum):
    """How far an order is."""

    CONFIRMED = "confirmed"
    SENT = "sent"
    CANCELLED = "cancelled"


@dataclass(frozen=True, slots=True)
class KeptOrder:
    """An order that was confirmed on `day`, and each later step with its day.

    `buyer` is the stockist's code, else the shop as its form names it; `reference` the buyer's own number, "" for none.
    `facts` is what was confirmed, as JSON reads.
    """

    number: int
    buyer: str
    reference: str
    day: datetime.date
    facts: Mapping[str, Any]
    steps: tuple[tuple[OrderState, datetime.date], ...] = ()

    @property
    def state(self) -> OrderState:
        """How far it is now."""
        return self.steps[-1][0] if self.steps else OrderState.CONFIRMED

    @property
    def since(self) -> datetime.date:
        """The day since which it is so."""
        return self.steps[-1][1] if self.steps else self.day


def orders(path: Path, *, wait: float = WAIT) -> tuple[KeptOrder, ...]:
    """Return every order, oldest first; () without a ledger.

    Raises:
        BlockedError: the ledger cannot be used.
    """
    if not exists(path):
        return ()
    with opened(path, wait=wait) as connection, reading(connection):
        return _orders(connection)


def add_order(
    path: Path,
    order: KeptOrder,
    known: tuple[KeptOrder, ...],
    *,
    then: Callable[[KeptOrder], object] = lambda _order: None,
    wait: float = WAIT,
) -> KeptOrder:
    """Add an order that was confirmed; return it with its number.

    Args:
        path: the ledger, which need not be there yet.
        order: the order; its number and steps are left aside.
        known: all orders as they were when this one was decided on.
        then: called with the order; where it raises, nothing is added.
        wait: seconds to wait for another program that is writing.

    Raises:
        BlockedError: the ledger cannot be used, or holds another order or step by now.
    """
    with connected(path, wait=wait) as connection, writing(connection):
        _refuse_moved(connection, known)
        line = canonical(order.facts)
        digest = digest_of(line)
        connection.execute("INSERT INTO content (digest, text) VALUES (?, ?) ON CONFLICT DO NOTHING", (digest, line))
        query = "INSERT INTO stockist_order (buyer, reference, day, digest) VALUES (?, ?, ?, ?)"
        values = (order.buyer, order.reference, order.day.isoformat(), digest)
        number = connection.execute(query, values).lastrowid
        assert number is not None
        added = KeptOrder(number, order.buyer, order.reference, order.day, order.facts)
        then(added)
        return added


def unmoved(path: Path, known: tuple[KeptOrder, ...], *, then: Callable[[], object], wait: float = WAIT) -> None:
    """Do something while nobody else can add an order or step; `known`, `then` and raises are as of `add_order`."""
    with connected(path, wait=wait) as connection, writing(connection):
        _refuse_moved(connection, known)
        then()


def add_step(
    path: Path,
    number: int,
    state: OrderState,
    day: datetime.date,
    *,
    known: tuple[KeptOrder, ...],
    then: Callable[[], object] = lambda: None,
    wait: float = WAIT,
) -> None:
    """Add what became of an order; `known` and `then` are as of `add_order`.

    Raises:
        BlockedError: the ledger cannot be used, or holds another order or step by now.
    """
    with connected(path, wait=wait) as connection, writing(connection):
        _refuse_moved(connection, known)
        then()
        query = "INSERT INTO order_step (ordered, state, day) VALUES (?, ?, ?)"
        connection.execute(query, (number, state.value, day.isoformat()))


def _orders(connection: sqlite3.Connection) -> tuple[KeptOrder, ...]:
    fetch = line_of(connection, _refuse_other_facts)
    query = "SELECT ordered, state, day FROM order_step ORDER BY number"
    try:
        steps: dict[int, list[tuple[OrderState, datetime.date]]] = {}
        for ordered, state, day in connection.execute(query):
            steps.setdefault(ordered, []).append((OrderState(state), datetime.date.fromisoformat(day)))
        query = "SELECT number, buyer, reference, day, digest FROM stockist_order ORDER BY number"
        return tuple(
            KeptOrder(
                number,
                str(buyer),
                str(reference),
                datetime.date.fromisoformat(day),
                facts=json.loads(fetch(digest, "")),
                steps=tuple(steps.get(number, ())),
            )
            for number, buyer, reference, day, digest in connection.execute(query).fetchall()
        )
    except BlockedError:
        raise
    except (ValueError, TypeError):
        raise damaged() from None


_LETTERS: Final = 3  # of a currency (ISO 4217)


def _refuse_other_facts(facts: Mapping[str, Any], _section: str) -> None:
    """Raise ValueError, TypeError or KeyError where facts are not those that an order is kept with."""
    takes = facts.get("takes") or {}
    if not isinstance(takes, dict):
        raise ValueError("takes")
    asked, counted = facts["asked"], [takes.get("items", {}), takes.get("packs", {})]
    if not all(isinstance(counts, dict) for counts in (asked, *counted)):
        raise ValueError("counts")
    numbers = [number for counts in counted for number in counts.values()]
    amounts, texts = [facts["total"]], [facts["sheet"], facts["currency"], *facts["files"]]
    for line in facts["lines"]:
        numbers.append(line["quantity"])
        texts += [line["code"], line.get("name", "")]
        amounts += [line[name] for name in ("each", "total") if name in line]
    sound = (
        isinstance(facts["files"], list)
        and all(map(is_plain, asked.values()))  # as the form has it: "two" as well
        and all(isinstance(text, str) for text in texts)
        and all(type(number) is int and abs(number) <= LARGEST for number in (*numbers, facts["pieces"]))
        and all(amount_of(amount) is not None for amount in amounts)
        and len(facts["currency"]) == _LETTERS
        and facts["currency"].isalpha()
    )
    if not sound:
        raise ValueError("not an order")


def _refuse_moved(connection: sqlite3.Connection, known: tuple[KeptOrder, ...]) -> None:
    """Refuse to add to orders that are not those that somebody decided by: another window was quicker."""
    now = _orders(connection)
    if [(order.number, order.steps) for order in now] != [(order.number, order.steps) for order in known]:
        raise BlockedError("an order was confirmed, sent or cancelled meanwhile.", "Look again; nothing was done.")
