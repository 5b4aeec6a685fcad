"""The line sheet in figures: what shops may order, at which prices, how many at a time, when; in the owner's order.

Pure: a catalog gives a sheet. Nothing is invented: a term that is not stated is None or "". What is closed is left out.
Stock plays no part, so that a sheet stays the same while it is sold from.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal

from listkit.compute.catalog import Catalog, Choice, NetShare, Pack, Piece, SetFacts, Variant, packs_of
from listkit.compute.prices import in_steps, item_net, item_wholesale, tax_of, wholesale
from listkit.model.fields import Status, WholesaleRule
from listkit.model.item import Item
from listkit.model.naming import Naming
from listkit.model.settings import Prices
from listkit.model.wholesale import FREE, HALF, DisplaySet, Group, LineNote, Tier, Wholesale, Window
from listkit.units.length import Size
from listkit.units.money import Money
from listkit.units.weight import Weight

# Wholesale prices of one line, a variant or an item, by any rule: what checks, sheets and orders go by.


@dataclass(frozen=True, slots=True)
class Line:
    """An item, or a variant of a set: its prices, its full cost, and what it is made of."""

    code: str
    wholesale: Decimal
    cost: Decimal
    retail: Decimal
    net: NetShare
    currency: str
    pieces: tuple[Piece, ...]
    prices: Prices

    @property
    def shop_keeps(self) -> Decimal | None:
        """What a shop keeps of the retail price before tax, as a share; None for a price of nothing."""
        return 1 - self.wholesale * self.net.bottom / (self.retail * self.net.top) if self.retail else None


def line_of(sold: Variant | Item, prices: Prices) -> Line:
    """Return the line that a variant or an item is, at its own wholesale price."""
    if isinstance(sold, Variant):
        retail, net, money = sold.price.amount, sold.prices.net, sold.wholesale
        cost, pieces = sold.exact_cost, sold.pieces
    else:
        retail, net = sold.retail.amount, item_net(sold, prices.tax)
        money = item_wholesale(sold.retail, prices.wholesale, net, prices.wholesale_step)
        cost, pieces = sold.cost.amount, (Piece(sold),)
    return Line(
        code=sold.code,
        wholesale=money.amount,
        cost=cost,
        retail=retail,
        net=net,
        currency=money.currency,
        pieces=pieces,
        prices=prices,
    )


def price_by(line: Line, rule: WholesaleRule) -> Decimal:
    """Return what a line would cost a shop by another rule, rounded as every wholesale price."""
    sum_of_items, step = Decimal(0), line.prices.wholesale_step
    if rule.kind == "sum":
        share, tax = line.prices.wholesale, line.prices.tax
        items = sum(
            item_wholesale(p.item.retail, share, item_net(p.item, tax), step).amount * p.quantity for p in line.pieces
        )
        cost_of_items = sum(p.item.cost.amount * p.quantity for p in line.pieces)
        sum_of_items = items + line.cost - cost_of_items
    exact = wholesale(rule, line.retail, line.net, full_cost=line.cost, items_and_packing=sum_of_items)
    return in_steps(exact, line.currency, step).amount


@dataclass(frozen=True, slots=True)
class SheetLine:
    """What one code is ordered by: a variant of a set, or an item.

    `tiers` are its prices by the sheet's tiers, in their order. `retail` is our own public price, tax included.
    `outside` are the sides of what a shop puts on its shelf. `packs` are what it takes beside its pieces, and how many.
    """

    code: str
    choices: tuple[Choice, ...]
    gtin: str
    case_gtin: str
    wholesale: Money
    tiers: tuple[Money, ...]
    retail: Money
    weight: Weight
    pieces: tuple[Piece, ...]
    outside: Size | None
    packs: tuple[tuple[Pack, int], ...]


@dataclass(frozen=True, slots=True)
class Packs:
    """How many are ordered at a time: a case, and the fewest; `together` counts all lines of an entry as one."""

    case: int | None = None
    least: int | None = None
    together: bool = False


@dataclass(frozen=True, slots=True)
class Keeps:
    """How long the shortest-lived piece keeps, in months: on arrival where the sheet says how old goods are at most."""

    months: int
    on_arrival: bool


@dataclass(frozen=True, slots=True)
class SheetEntry:
    """A set with all its lines, or an item with its one; `facts` is None for an item, `item` for a set.

    `display` is what its display set costs, None where there is none. A display set of several things is an entry of
    its own with one line, and neither facts nor item; `holds` says of what, `free_from` when it costs nothing.
    """

    code: str
    name: str
    facts: SetFacts | None
    item: Item | None
    lines: tuple[SheetLine, ...]
    packs: Packs
    keeps: Keeps | None
    last_chance: bool
    lead: str
    note: str
    case_gtin: str
    display: Money | None
    holds: "tuple[Held, ...]" = ()
    free_from: Money | None = None

    @property
    def is_set(self) -> bool:
        """Whether it is a set, else an item or a display set."""
        return self.facts is not None

    @property
    def outsides(self) -> tuple[Size, ...]:
        """The sides of what stands on a shelf, each once, in the order of the lines."""
        return tuple(dict.fromkeys(line.outside for line in self.lines if line.outside))


@dataclass(frozen=True, slots=True)
class SheetGroup:
    """Entries that stand together under a title, with the days that hold for them."""

    title: str
    window: Window
    entries: tuple[SheetEntry, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """The whole sheet; `tiers` go upwards."""

    terms: Wholesale
    groups: tuple[SheetGroup, ...]
    tiers: tuple[Tier, ...]
    currency: str
    taxes: tuple[Decimal, ...]  # all rates that retail prices on it include

    @property
    def entries(self) -> Iterator[SheetEntry]:
        """Every entry, in order."""
        return (entry for group in self.groups for entry in group.entries)

    @property
    def lines(self) -> Iterator[SheetLine]:
        """Every line, in order."""
        return (line for entry in self.entries for line in entry.lines)


@dataclass(frozen=True, slots=True)
class _Source:
    """What entries are made of."""

    terms: Wholesale
    tiers: tuple[Tier, ...]
    prices: Prices
    sets: dict[str, SetFacts]
    items: dict[str, Item]
    naming: Naming
    notes: dict[str, LineNote] = field(default_factory=dict)


def build_sheet(catalog: Catalog) -> Sheet | None:
    """Return the sheet that wholesale.toml describes, without its groups one of all sets; None without that file."""
    shop = catalog.shop
    terms = shop.wholesale
    if terms is None:
        return None
    source = _Source(
        terms=terms,
        tiers=tuple(sorted(terms.tiers, key=lambda tier: tier.start)),
        prices=shop.settings.prices,
        sets={facts.code: facts for facts in catalog.sets},
        items={item.code: item for item in shop.items},
        naming=shop.naming,
        notes={note.code: note for note in terms.notes},
    )
    listed = terms.groups or (Group(title="-", lines=tuple(source.sets)),)
    seen: set[str] = set()
    groups = []
    for group in listed:
        codes = [code for code in dict.fromkeys(group.lines) if code not in seen]
        seen.update(codes)
        entries = tuple(entry for code in codes if (entry := _entry(code, source)) is not None)
        if entries:
            groups.append(SheetGroup(group.title if terms.groups else "", group.window or terms.window, entries))
    if displays := tuple(_display_entries(catalog, source)):
        groups.append(SheetGroup("", Window(), displays))
    pieces = (piece for group in groups for entry in group.entries for line in entry.lines for piece in line.pieces)
    rates = {tax_of(piece.item, source.prices.tax) for piece in pieces}
    return Sheet(terms, tuple(groups), source.tiers, shop.settings.currency, tuple(sorted(rates, reverse=True)))


def _entry(code: str, source: _Source) -> SheetEntry | None:
    """Return the entry of a code on the sheet; None for what is closed, or not there."""
    facts, item = source.sets.get(code), source.items.get(code)
    if facts is not None and facts.source.gift_set.sold_as is not Status.CLOSED:
        return _set_entry(facts, source)
    if facts is None and item is not None and item.status is not Status.CLOSED:
        return _item_entry(item, source)
    return None


def _set_entry(facts: SetFacts, source: _Source) -> SheetEntry | None:
    offered = tuple(variant for variant in facts.variants if variant.status is not Status.CLOSED)
    if not offered:
        return None
    gift_set, terms = facts.source.gift_set, source.terms
    note = source.notes.get(facts.code, LineNote(code=facts.code))
    lines = tuple(_variant_line(variant, facts, source) for variant in offered)
    pieces = tuple(piece for variant in offered for piece in variant.pieces)
    statuses = gift_set.status, *(variant.status for variant in offered), *(piece.item.status for piece in pieces)
    return SheetEntry(
        code=facts.code,
        name=facts.name,
        facts=facts,
        item=None,
        lines=lines,
        packs=Packs(
            note.case_pack or terms.case_pack.sets,
            note.minimum or terms.minimum.sets,
            terms.case_pack.mixed or len(lines) == 1,
        ),
        keeps=_keeps(pieces, terms.oldest),
        last_chance=Status.LAST_CHANCE in statuses,
        lead=note.lead,
        note=note.note,
        case_gtin=note.case_gtin,
        display=_display(lines, source) if facts.box is not None else None,
    )


def _item_entry(item: Item, source: _Source) -> SheetEntry:
    terms = source.terms
    note = source.notes.get(item.code, LineNote(code=item.code))
    return SheetEntry(
        code=item.code,
        name=source.naming.of(item),
        facts=None,
        item=item,
        lines=(_line(item, (), source, outside=item.size, packs=()),),
        packs=Packs(note.case_pack or terms.case_pack.items, note.minimum or terms.minimum.items, together=True),
        keeps=_keeps((Piece(item),), terms.oldest),
        last_chance=item.status is Status.LAST_CHANCE,
        lead=note.lead,
        note=note.note,
        case_gtin="",  # the line's own
        display=None,
    )


@dataclass(frozen=True, slots=True)
class Held:
    """What a display set holds of one thing: how many, what it is called, and the variant or item itself."""

    count: int
    name: str
    thing: Variant | Item


Things = Mapping[str, tuple[str, Variant | Item] | None]
"""What a code names in a display set: what it is called and the variant or item; None for what is closed."""


def held_in(display: DisplaySet, things: Things) -> dict[str, Held | None]:
    """Return what each code in a display set stands for, None for what is closed or not there."""
    return {code: Held(count, *each) if (each := things.get(code)) else None for code, count in display.holds.items()}


def things_of(catalog: Catalog) -> Things:
    """Return all that a display set may hold, by code: an item, a variant, a set's first variant that is offered."""
    things: dict[str, tuple[str, Variant | Item] | None] = {
        item.code: None if item.status is Status.CLOSED else (catalog.shop.naming.of(item), item)
        for item in catalog.shop.items
    }
    for facts in catalog.sets:
        closed = facts.source.gift_set.sold_as is Status.CLOSED
        offered = [each for each in facts.variants if not closed and each.status is not Status.CLOSED]
        for variant in offered:
            name = ", ".join((facts.name, *(choice.says for choice in variant.choices)))
            things[variant.code] = name, variant
        things[facts.code] = (facts.name, offered[0]) if offered else None
    return things


def _display_entries(catalog: Catalog, source: _Source) -> Iterator[SheetEntry]:
    """Yield the display sets of several things of which nothing is closed or not there."""
    displays = source.terms.display_sets
    things = things_of(catalog) if displays else {}
    facts_of = {variant.code: facts for facts in catalog.sets if displays for variant in facts.variants}
    for display in displays:
        there = held_in(display, things)
        held = tuple(each for each in there.values() if each is not None)
        if held and len(held) == len(there):
            lines = tuple((each.count, _held_line(each.thing, facts_of, source)) for each in held)
            yield _display_entry(display, held, lines, source)


def _display_entry(
    display: DisplaySet, held: tuple[Held, ...], lines: tuple[tuple[int, SheetLine], ...], source: _Source
) -> SheetEntry:
    """Return the entry of a display set; `lines` are of what it holds, and how many of each."""
    pieces = tuple(replace(piece, quantity=piece.quantity * count) for count, line in lines for piece in line.pieces)
    nothing = lines[0][1].wholesale * 0
    price = display.price or sum((line.wholesale * count for count, line in lines), nothing)
    line = SheetLine(
        code=display.code,
        choices=(),
        gtin="",
        case_gtin="",
        wholesale=price,
        tiers=(price,) * len(source.tiers),
        retail=sum((line.retail * count for count, line in lines), nothing),
        weight=Weight(sum((line.weight.grams * count for count, line in lines), Decimal(0))),
        pieces=pieces,
        outside=None,
        packs=tuple((pack, each * count) for count, line in lines for pack, each in line.packs),
    )
    return SheetEntry(
        code=display.code,
        name=display.name,
        facts=None,
        item=None,
        lines=(line,),
        packs=Packs(together=True),
        keeps=_keeps(pieces, source.terms.oldest),
        last_chance=False,
        lead="",
        note="",
        case_gtin="",
        display=None,
        holds=held,
        free_from=display.free_from,
    )


def _held_line(sold: Variant | Item, facts_of: Mapping[str, SetFacts], source: _Source) -> SheetLine:
    if isinstance(sold, Item):
        return _line(sold, (), source, outside=sold.size, packs=())
    return _variant_line(sold, facts_of[sold.code], source)


def _variant_line(variant: Variant, facts: SetFacts, source: _Source) -> SheetLine:
    outside = variant.box.outside if variant.box else _alone(facts)
    packs = tuple((pack, 1) for pack in packs_of(variant.box, facts.card))
    return _line(variant, variant.choices, source, outside=outside, packs=packs)


def _line(
    sold: Variant | Item,
    choices: tuple[Choice, ...],
    source: _Source,
    *,
    outside: Size | None,
    packs: tuple[tuple[Pack, int], ...],
) -> SheetLine:
    line = line_of(sold, source.prices)
    note = source.notes.get(sold.code)
    retail, weight = (sold.price, sold.weights.gift) if isinstance(sold, Variant) else (sold.retail, sold.weight)
    return SheetLine(
        code=sold.code,
        choices=choices,
        gtin=sold.gtin,
        case_gtin=note.case_gtin if note else "",
        wholesale=Money(line.wholesale, line.currency),
        tiers=tuple(Money(price_by(line, tier.wholesale), line.currency) for tier in source.tiers),
        retail=retail,
        weight=weight,
        pieces=line.pieces,
        outside=outside,
        packs=packs,
    )


def _alone(facts: SetFacts) -> Size | None:
    """Return the sides of the one piece that every variant of a set without box is; None where they differ."""
    single = (variant.pieces[0] for variant in facts.variants if len(variant.pieces) == 1)
    sizes = {piece.item.size for piece in single if piece.quantity == 1}
    return sizes.pop() if len(sizes) == 1 else None


def _keeps(pieces: tuple[Piece, ...], oldest: int | None) -> Keeps | None:
    lives = [piece.item.shelf_life for piece in pieces if piece.item.shelf_life is not None]
    if not lives:
        return None
    return Keeps(max(0, min(lives) - (oldest or 0)), on_arrival=oldest is not None)


def _display(lines: tuple[SheetLine, ...], source: _Source) -> Money | None:
    terms = source.terms
    price = terms.display.price if terms.display else None
    if price is None:
        return None
    lowest = min((line.wholesale for line in lines), key=lambda money: money.amount)
    if price == HALF:
        return in_steps(lowest.amount / 2, lowest.currency, source.prices.wholesale_step)
    return lowest * 0 if price == FREE else price if isinstance(price, Money) else None
