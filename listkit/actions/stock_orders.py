"""What orders of shops do to the stock: reserved when confirmed, taken off when sent, freed when given up.

The lines of an order are known by a hash of its name, so that a step that was taken already changes nothing.
"""

import datetime
import hashlib
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final, Literal

from listkit.actions.stock import Added, in_batch, open_stock, reversing
from listkit.compute.movements import Goods, standing
from listkit.edit.movements import add_moves
from listkit.model.movements import MoveKind, MovesRead, StockMove
from listkit.model.shop import Shop
from listkit.problem import FieldError
from listkit.read.folder import MOVEMENTS

WHOLESALE: Final = "wholesale"

OrderStep = Literal["ordered", "sent", "cancelled", "reopened"]


@dataclass(frozen=True, slots=True)
class OrderedGoods:
    """An order of a shop: what it is known by, how many of which codes it has, and what that takes of each piece.

    `takes` has items by their codes and packs by their names, as they were when the order was confirmed.
    """

    name: str
    lines: tuple[tuple[str, int], ...]
    takes: tuple[tuple[str, int], ...] = ()


def move_order(folder: Path, order: OrderedGoods, step: OrderStep, day: datetime.date) -> Added | None:
    """Write what a step of an order does to the stock.

    `ordered` reserves, and frees first what the order reserved for other quantities; `sent` takes off and frees, and
    `cancelled` frees; `reopened` takes back that it was sent or cancelled, so that it is reserved. A step that was
    taken already changes nothing.

    Returns:
        None where the shop has no movements, or nothing changes.

    Raises:
        FieldError: an order that was sent is cancelled.
        BlockedError: the shop folder cannot be written to.
    """
    if not (folder / MOVEMENTS).is_file():
        return None
    stock = open_stock(folder)[0]
    fresh = _order_moves(stock.goods, order, day)

    def chosen(read: MovesRead) -> Sequence[StockMove]:
        there = _standing(read, order, "ordered")
        sent = _standing(read, order, "sent")
        if step == "cancelled" and sent:
            raise FieldError(f"{order.name} was sent.", "What comes back of it is added as came back.")
        if step == "cancelled":
            return reversing(there)
        if step == "reopened":
            return (*reversing(sent), *(() if there else fresh))
        if sent:
            return ()
        same = Counter(map(_asked, there)) == Counter(map(_asked, fresh))
        if step == "ordered":
            return () if same else (*reversing(there), *fresh)
        going = tuple(replace(move, kind="sent", day=day) for move in there or fresh)
        return (*(() if there else fresh), *in_batch(going, _order_digest(order, "sent")))

    before = stock.stock()
    written = add_moves(folder, chosen)
    return Added(written, before, stock.stock(written), written=True) if written else None


def _asked(move: StockMove) -> tuple[str, str, int]:
    return move.code, move.set, move.quantity


def _order_digest(order: OrderedGoods, kind: MoveKind) -> str:
    return hashlib.sha256(f"{kind} {order.name}".encode()).hexdigest()


def _order_moves(goods: Goods, order: OrderedGoods, day: datetime.date) -> tuple[StockMove, ...]:
    """Return the lines that reserve an order: by its codes, where that is what it takes, else by what it takes."""
    plain = StockMove(day=day, kind="ordered", code="", quantity=0, place=WHOLESALE, note=order.name)
    moves = [
        replace(plain, code=piece, quantity=number * quantity, set=code if code in goods.sets else "")
        for code, number in order.lines
        for piece, quantity in goods.parts.get(code, ())
    ]
    takes = Counter({goods.near.get(code, code): number for code, number in order.takes if number})
    by_codes = Counter[str]()
    for move in moves:
        by_codes[move.code] += move.quantity
    if takes and takes != by_codes:
        moves = [replace(plain, code=code, quantity=number) for code, number in takes.items()]
    return in_batch(moves, _order_digest(order, "ordered"))


def _standing(read: MovesRead, order: OrderedGoods, kind: MoveKind) -> tuple[StockMove, ...]:
    """Return the lines of a step of an order that stand, whatever it asked for when they were written."""
    ending = _order_digest(order, kind)[:8]
    return tuple(standing(move for move in read.moves if move.batch.rpartition("-")[2] == ending))


def held_for(shop: Shop, order: OrderedGoods) -> tuple[tuple[str, int], ...]:
    """Return what an order itself reserves or has taken of each code: looked at again, it lacks none of that."""
    held: Counter[str] = Counter()
    for move in _standing(shop.movements, order, "sent") or _standing(shop.movements, order, "ordered"):
        held[shop.old_codes(move.code)] += move.quantity
    return tuple(held.items())
