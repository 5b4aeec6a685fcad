"""Allotting: every place gets numbers of its own, kept in allotment.csv, which stays until a new one is whole.

What is on hand and free is shared out, so orders of shops come before all: what they reserve is not there. Prices,
fees and what each place shows are those of the day.
"""

import datetime
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from listkit import bounds
from listkit.actions.order_book import goods_of_order
from listkit.compute.allotment import Claim, Refusal, Shared, Sharing, Ware, counted_needs, hold_of, share_out
from listkit.compute.build import build_catalog
from listkit.compute.movements import Goods, goods_of, sheet_stock
from listkit.compute.seasons import Phase
from listkit.compute.wholesale import build_sheet
from listkit.edit.past import opened
from listkit.edit.past_lines import FileChange, digest_of
from listkit.ledger.orders import OrderState, orders
from listkit.ledger.store import LEDGER
from listkit.model.allotment import SHOPS, Allotment, AllottedRow
from listkit.model.shop import Shop
from listkit.pipeline import Listed, draft_folders, list_catalog, open_shop
from listkit.problem import BlockedError, FieldError, Place, Problem, must_fix
from listkit.read.allotment import written_allotment
from listkit.read.folder import ALLOTMENT, CHANNELS, ITEMS, MOVEMENTS, PACKAGING, SETS, SHOP
from listkit.read.lines import with_lines
from listkit.read.source import read_bytes
from listkit.read.wording import listed as named
from listkit.units.money import minor_digits

_CODE: Final = "allotment-impossible"
_MOST_CLAIMS: Final = 4


@dataclass(frozen=True, slots=True)
class Allotting:
    """A run of the allotment: the shop, what was shared out, the rows that are kept of it, and those of before.

    `shared` is None where `problems` keep it from being settled. `read` is the digest of the last allotment's file.
    """

    read: str
    listed: Listed
    goods: Goods
    have: Mapping[str, int]
    shared: Shared | None = None
    rows: tuple[AllottedRow, ...] = ()
    problems: tuple[Problem, ...] = ()

    @property
    def before(self) -> tuple[AllottedRow, ...]:
        """The rows of the last allotment."""
        return self.listed.shop.allotment.rows

    @property
    def places(self) -> tuple[str, ...]:
        """The places that have numbers, in the order in which they come first."""
        return tuple(dict.fromkeys(row.place for row in self.rows))

    def write(self, now: datetime.datetime) -> int:
        """Put the rows in place of the last allotment; return the number of the change, 0 where nothing changes.

        Raises:
            BlockedError: the file was changed meanwhile, or cannot be written.
        """
        root, content = self.listed.shop.root, written_allotment(self.rows)
        with opened(root) as past:
            if _last_allotment(root) == content:
                return 0
            change = FileChange(ALLOTMENT, self.read, content)
            return past.write([change], what="the allotment", when=now).number


def _last_allotment(root: Path) -> bytes | None:
    """Return the file of the last allotment, None where there is none; raises BlockedError where it cannot be read."""
    content = read_bytes(root, ALLOTMENT) if os.path.lexists(root / ALLOTMENT) else None
    if isinstance(content, Problem):
        raise BlockedError(f"{ALLOTMENT}: {content.message}", content.hint)
    return content


def allot(folder: Path, day: datetime.date) -> Allotting:
    """Share out what is free of the shop in `folder` among its places; nothing is written.

    Raises:
        FieldError: shop.toml asks for no allotment, or the ledger cannot be read.
        BlockedError: there is no solver, it stopped before it had an answer that holds, or the last allotment
            cannot be read.
    """
    read = digest_of(_last_allotment(folder))  # before the shop is: what comes between is not written over
    seen = open_shop(folder, measure_at_most=0)
    catalog, drafts = build_catalog(seen.shop), draft_folders(seen.shop)
    finished = tuple(facts for facts in catalog.sets if facts.source.folder not in drafts)
    listed = list_catalog(replace(catalog, sets=finished, allotted=None), day, seen.problems)
    shop, allotment = listed.shop, listed.shop.settings.allotment
    goods = goods_of(listed.catalog)
    have = _free(listed, goods)
    run = Allotting(read, listed, goods, have)
    of_stock = _of_stock(shop, drafts)
    if stopping := tuple(
        each for each in listed.problems if must_fix((each,)) and each.place.file.startswith(of_stock)
    ):
        return replace(run, problems=tuple(with_lines(folder, stopping)))
    if allotment is None:
        raise FieldError("shop.toml has no [allotment].", "Write [allotment] in it, and what you wish below it.")
    sharing = Sharing(tuple(_wares(listed, allotment, goods, have)), have, allotment)
    if unseen := tuple(_unseen(sharing, listed)):
        return replace(run, problems=tuple(with_lines(folder, unseen)))
    if asked := tuple(_beyond_what_is_solved(sharing)):
        return replace(run, problems=tuple(with_lines(folder, asked)))
    shared = share_out(sharing, minor_digits(shop.settings.currency))
    if isinstance(shared, Refusal):
        return replace(run, problems=tuple(with_lines(folder, (_impossible(shared, sharing, run),))))
    after = max((move.line for move in shop.movements.moves), default=0)
    rows = tuple(AllottedRow(place, code, number, after) for (place, code), number in shared.numbers.items())
    return replace(run, shared=shared, rows=rows)


def _of_stock(shop: Shop, drafts: frozenset[str]) -> tuple[str, ...]:
    """Return the files and folders that the allotment goes by: a set that cannot be read would give its pieces away."""
    read = {each.folder for each in shop.sets} | drafts
    unread = (f"{SETS}/{each.folder}/" for each in shop.folders if each.folder not in read and not each.is_single)
    return SHOP, PACKAGING, MOVEMENTS, shop.items_file or ITEMS[0], f"{CHANNELS}/", *unread


def _free(listed: Listed, goods: Goods) -> dict[str, int]:
    """Return what is free of all that is counted; without movements, less what shops ordered that is not sent yet."""
    shop = listed.shop
    have = sheet_stock(shop.items, shop.packaging)
    if shop.stock is None:
        for order in orders(shop.root / LEDGER):
            for name, number in goods_of_order(order).takes if order.state is OrderState.CONFIRMED else ():
                code = goods.near.get(name, name)
                if code in have:
                    have[code] = max(0, have[code] - number)
    return have


def _wares(listed: Listed, allotment: Allotment, goods: Goods, have: Mapping[str, int]) -> Iterator[Ware]:
    """Yield what each place shows of all that is counted, in the order of places and codes.

    Places that are one shop are one: each code as the first of them that shows it has it.
    """
    places = {allotment.counted_at(channel.key) for channel in listed.shop.channels}
    places |= {SHOPS} if any(wish.place == SHOPS for wish in allotment.wishes) else set()
    for place in allotment.in_order(places):
        members = next((group for group in allotment.together if place in group), (place,))
        wares: dict[str, Ware] = {}
        for sold in (_lines(listed),) if place == SHOPS else (_offers(listed, key) for key in members):
            for code, unit, kept, hold in sold:
                needs = counted_needs(goods, code, have)
                wares.setdefault(code, Ware(place=place, code=code, unit=unit, needs=needs, kept=kept, hold=hold))
        yield from (wares[code] for code in sorted(wares) if wares[code].needs)


def _offers(listed: Listed, key: str) -> Iterator[tuple[str, str, int, int]]:
    """Yield what a channel shows that can be sold yet: its code, its set, what a sale keeps, what is held back."""
    channel, digits = listed.channel(key), minor_digits(listed.shop.settings.currency)
    hold = hold_of(channel, listed.shop.settings)
    for listing in listed.listings_of(key):
        for offer in listing.offers if listing.phase is not Phase.OVER else ():
            yield offer.variant.code, listing.facts.code, int(offer.kept.amount.scaleb(digits)), hold


def _lines(listed: Listed) -> Iterator[tuple[str, str, int, int]]:
    """Yield the same of what shops may order, at the wholesale price."""
    sheet, digits = build_sheet(listed.catalog), minor_digits(listed.shop.settings.currency)
    hold = hold_of(None, listed.shop.settings)
    for entry in sheet.entries if sheet else ():
        costs = {variant.code: variant.full_cost for variant in entry.facts.variants} if entry.facts else {}
        costs |= {entry.item.code: entry.item.cost} if entry.item else {}
        for line in entry.lines:
            if line.code in costs:
                kept = (line.wholesale.amount - costs[line.code].amount).scaleb(digits)
                yield line.code, entry.code, int(kept), hold


# Wishes that cannot be kept.


def _unseen(sharing: Sharing, listed: Listed) -> Iterator[Problem]:
    """Yield the wishes for at least so many of what their place does not show."""
    for at, wish in enumerate(sharing.allotment.wishes):
        if not wish.least:
            continue
        codes = {code for codes in sharing.named(wish).values() for code in codes}
        for number, code in enumerate(wish.of):
            if code not in codes:
                where = f"{listed.name(wish.place)} shows" if wish.place else "the places show"
                message = f"at least {wish.least} of {code} are asked for, and {where} none that are counted."
                place = Place(SHOP, key=("allotment", "wish", at, "of", number))
                yield Problem(place, _CODE, message, "Take it out here, show it there, or count its pieces.")


def _beyond_what_is_solved(sharing: Sharing) -> Iterator[Problem]:
    """Yield that wishes ask more, counted for each code at each place, than the solver takes seconds for."""
    wishes = (wish for wish in sharing.allotment.wishes if wish.least or wish.most is not None)
    asked = sum(len(codes) for wish in wishes for codes in sharing.named(wish).values())
    if asked > bounds.CLAIMS:
        message = (
            f"its wishes ask for something of {asked:,} codes, each counted at each place and in each wish, and at "
            f"most {bounds.CLAIMS:,} are shared out."
        )
        hint = "Take out wishes, or write in them under place and of what they are about."
        yield Problem(Place(SHOP, key=("allotment",)), _CODE, message, hint)


def _impossible(refusal: Refusal, sharing: Sharing, run: Allotting) -> Problem:
    """Return why wishes cannot be kept together, in the owner's words."""
    claims = refusal.claims
    if not claims:
        return Problem(Place(SHOP, key=("allotment",)), _CODE, "it cannot be settled.", "Take out wishes one by one.")
    first = claims[0]
    held = min(ware.hold for ware in sharing.wares)
    short = named(
        [
            f"{max(0, run.have[code] - held)} of {run.goods.names.get(code, '')} ({code})"
            for code in refusal.short[:_MOST_CLAIMS]
        ],
        "and",
    )
    there = f"to share out there are {short}" if short else "the two contradict each other"
    place = Place(SHOP, key=("allotment", "wish", first.wish, first.key))
    if len(claims) == 1:
        message = f"{_words(first, run)} are asked for, and {refusal.reachable} can be had"
        return Problem(
            place, _CODE, f"{message}{f' ({there})' if short else ''}.", f"Write {refusal.reachable} or less."
        )
    asked = named([_words(claim, run) for claim in claims[:_MOST_CLAIMS]], "and")
    message = f"{asked} cannot {'both' if len(claims) == 2 else 'all'} be kept: {there}."
    return Problem(place, _CODE, message, "Write less in one of them, or make more.")


def _words(claim: Claim, run: Allotting) -> str:
    """Return "at least 3 of First Nectar (OHS-1) at Saturday stall"."""
    names = {facts.code: facts.name for facts in run.listed.catalog.listed}
    name = names.get(claim.code) or run.goods.names.get(claim.code, "")
    what = f"{name} ({claim.code})" if name else claim.code
    where = "for shops" if claim.place == SHOPS else f"at {run.listed.name(claim.place)}"
    return f"at {claim.key} {claim.number} of {what} {where}"
