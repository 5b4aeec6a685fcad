"""Who gets which piece: what each place may sell of each set and single piece today, and what there is too little of.

The numbers are those of allotment.csv as the feeds publish them; sharing out anew is what `listkit allot` does.
"""

import datetime
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from listkit.actions.allot import allot
from listkit.check.stock import short_of_pieces
from listkit.compute.allotment import counted_needs, hold_of
from listkit.compute.catalog import Catalog
from listkit.compute.movements import Goods, goods_of, sheet_stock
from listkit.desk.page import Desk, in_full, page, page_of, say, set_address, went_well
from listkit.desk.shelf import PAGE
from listkit.model.allotment import SHOPS, Allotment
from listkit.problem import FieldError

ADDRESS: Final = "/shelf/allotment"


@dataclass(frozen=True, slots=True)
class Piece:
    """Something that is counted: how many may go to places, how many are given, and whether all sets want more of it.

    `wanted` is how many all sets could use of it and of what may lie in its place, if all of them sold out, and how
    many of these there are; None where that suffices.
    """

    code: str
    name: str
    there: int
    given: int
    wanted: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class Unit:
    """A set or single piece: what each place may sell of it, None where it has no number, and what it is short of."""

    code: str
    name: str
    address: str
    numbers: tuple[int | None, ...]
    short: tuple[str, ...]

    @property
    def total(self) -> int:
        """What all places may sell of it."""
        return sum(number or 0 for number in self.numbers)


@dataclass(frozen=True, slots=True)
class Shares:
    """All that was shared out: the places by name, what each gets, and the pieces behind it, scarce ones first."""

    places: tuple[str, ...]
    units: tuple[Unit, ...]
    pieces: tuple[Piece, ...]


def show(desk: Desk, request: Request, *, refused: tuple[str, ...] = ()) -> Response:
    """Return the page; `refused` is why it could not be shared out anew."""
    catalog = desk.shop_state.look().catalog
    shares = shares_of(catalog, desk.today())
    count = len(shares.units) if shares else 0
    at, pages = page_of(request, "page", count, PAGE), max(1, -(-count // PAGE))
    return page(
        desk,
        request,
        "shelf",
        template="allotment",
        wished=catalog.shop.settings.allotment is not None,
        shares=shares,
        units=shares.units[(at - 1) * PAGE : at * PAGE] if shares else (),
        at=at,
        pages=pages,
        refused=refused,
    )


def change(desk: Desk, request: Request, _form: FormData) -> Response:
    """Share out what there is now, and keep it in place of the last allotment."""
    try:
        run = allot(desk.shop_state.folder, desk.today())
        if run.problems:
            return show(desk, request, refused=tuple(in_full(each) for each in run.problems))
        now = desk.now()
        number = run.write(now)
    except FieldError as fault:
        return show(desk, request, refused=(in_full(fault),))
    return went_well(
        desk, ADDRESS, say("allotment.done" if number else "allotment.same"), change=number, when=now.isoformat()
    )


def shares_of(catalog: Catalog, today: datetime.date) -> Shares | None:
    """Return what was shared out, as it is today; None where nothing was."""
    allotment, allotted = catalog.shop.settings.allotment, catalog.allotted
    if allotment is None or allotted is None:
        return None
    goods, have = goods_of(catalog), sheet_stock(catalog.shop.items, catalog.shop.packaging)
    wanted = {
        goods.near.get(code.strip("\0"), code): (short.needed, short.there)
        for short in short_of_pieces(catalog, today)
        for code in short.items
    }
    pieces = {
        piece.code: replace(piece, wanted=wanted.get(piece.code))
        for piece in _pieces(catalog, allotted.numbers, goods, have)
    }
    keys = allotment.in_order({place for place, _ in allotted.numbers})
    return Shares(
        tuple(_name(catalog, allotment, key) for key in keys),
        tuple(_units(catalog, allotted.numbers, keys, pieces)),
        tuple(sorted(pieces.values(), key=lambda piece: piece.wanted is None)),
    )


def _pieces(
    catalog: Catalog, numbers: Mapping[tuple[str, str], int], goods: Goods, have: Mapping[str, int]
) -> Iterator[Piece]:
    settings, given = catalog.shop.settings, Counter[str]()
    held = min((hold_of(channel, settings) for channel in (*catalog.shop.channels, None)), default=0)
    for (_, code), number in numbers.items():
        given.update({piece: each * number for piece, each in counted_needs(goods, code, have)})
    for code in given:
        yield Piece(code, goods.names.get(code, ""), max(0, have[code] - held), given[code])


def _units(
    catalog: Catalog, numbers: Mapping[tuple[str, str], int], keys: tuple[str, ...], pieces: Mapping[str, Piece]
) -> Iterator[Unit]:
    for facts in catalog.listed:
        codes = [variant.code for variant in facts.variants]
        got = tuple(
            sum(numbers.get((key, code), 0) for code in codes)
            if any((key, code) in numbers for code in codes)
            else None
            for key in keys
        )
        held = dict.fromkeys(item.code for item in facts.items)
        short = tuple(code for code in held if code in pieces and pieces[code].wanted)
        if any(number is not None for number in got):
            yield Unit(facts.code, facts.name, set_address(facts.code), got, short)


def _name(catalog: Catalog, allotment: Allotment, key: str) -> str:
    """Return what a place is called, with those that are one shop with it."""
    names = {channel.key: channel.name for channel in catalog.shop.channels}
    members = next((group for group in allotment.together if key in group), (key,))
    return say("allotment.shops") if key == SHOPS else " + ".join(names.get(member, member) for member in members)
