"""The declaration of net contents of one item, or of a package of several by its kind.

Kinds as 16 CFR 500.27 to 500.29 tell them apart: a multiunit package holds one item several times, a variety
package pieces that are alike but not the same (here: of one form), a combination package unlike pieces. The
first two end with a total, summed in the stated unit and converted once; a combination has none. Figures
only: `listing.declared` puts them into words. The rules in force where one sells decide, not this module.
"""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from listkit.compute.catalog import Piece
from listkit.model.item import Item
from listkit.model.labels import NetContents
from listkit.units.declared import Figure, Rounding, base_amount, in_large_units, other, stated, summed
from listkit.units.net import Measure, NetContent


class Kind(StrEnum):
    """What is declared: one piece, or which kind of package."""

    SINGLE = "single"
    MULTIUNIT = "multiunit"
    VARIETY = "variety"
    COMBINATION = "combination"


@dataclass(frozen=True, slots=True)
class Rules:
    """How quantities are declared: `order` is "metric", "metric first" or "customary first"."""

    order: str = "metric"
    rounding: Rounding = "down"

    @classmethod
    def of(cls, settings: NetContents, country: str) -> "Rules":
        """Return the rules of a shop, or of a channel, in `country`."""
        return cls(settings.order_in(country), settings.rounding)


@dataclass(frozen=True, slots=True)
class Quantity:
    """One quantity as it is printed: `times` of `figures`, of which the second stands in brackets.

    "4 x 25 g" has times 4. `measure` says what is measured.
    """

    measure: Measure
    figures: tuple[Figure, ...]
    times: int = 1


@dataclass(frozen=True, slots=True)
class Group:
    """Pieces that are declared together: `count` of what `item` is; `quantity` of each, None where none is stated.

    `item` is the first of them, `alike` whether all are that very item.
    """

    item: Item
    count: int
    quantity: Quantity | None
    alike: bool


@dataclass(frozen=True, slots=True)
class Declaration:
    """The whole declaration. `total` is None where the rule asks for none; `count` is all pieces."""

    kind: Kind
    groups: tuple[Group, ...]
    total: Quantity | None
    count: int


def declaration_of_item(item: Item, rules: Rules) -> Declaration:
    """Return what a single item declares; "4 x 25 g" is a multiunit package of its own, with its total."""
    return declaration((Piece(item),), rules)


def declaration(pieces: tuple[Piece, ...], rules: Rules) -> Declaration:
    """Return what a package of `pieces` declares; pieces of one form and one quantity are one group."""
    gathered: dict[tuple[str, ...], list[Piece]] = {}
    for piece in pieces:
        gathered.setdefault(_sameness(piece.item), []).append(piece)
    groups = tuple(_group(tuple(same), rules) for same in gathered.values())
    count = sum(group.count for group in groups)
    kind = _kind(groups, count)
    total = None if kind in {Kind.SINGLE, Kind.COMBINATION} else _total(groups, rules)
    return Declaration(kind, groups, total, count)


def _sameness(item: Item) -> tuple[str, ...]:
    net = item.net.text if item.net else ""
    return (item.form, item.container, net) if item.form else (item.code,)


def _group(pieces: tuple[Piece, ...], rules: Rules) -> Group:
    item = pieces[0].item
    quantity = _quantity(item.net, rules) if item.net else None
    return Group(
        item, sum(piece.quantity for piece in pieces), quantity, len({piece.item.code for piece in pieces}) == 1
    )


def _kind(groups: tuple[Group, ...], count: int) -> Kind:
    first = groups[0]
    if count == 1:
        return Kind.MULTIUNIT if first.quantity and first.quantity.times > 1 else Kind.SINGLE
    if len(groups) == 1:
        return Kind.MULTIUNIT if first.alike else Kind.VARIETY
    measures = {group.quantity.measure if group.quantity else None for group in groups}
    forms = {group.item.form for group in groups}
    return Kind.VARIETY if len(forms) == 1 and "" not in forms and len(measures) == 1 else Kind.COMBINATION


def _quantity(net: NetContent, rules: Rules) -> Quantity:
    times = net.count if net.measure in {Measure.MASS, Measure.VOLUME} else 1
    return Quantity(net.measure, in_order(stated(net), rules), times)


def in_order(figure: Figure, rules: Rules) -> tuple[Figure, ...]:
    """Return a stated figure with the other system's, in the order the rules want; a count stands alone."""
    if not figure.unit or (rules.order == "metric" and figure.metric):
        return (figure,)
    second = other(figure, rules.rounding)
    if second is None or rules.order == "metric":
        return (second or figure,)
    return (figure, second) if figure.metric == (rules.order == "metric first") else (second, figure)


def _total(groups: tuple[Group, ...], rules: Rules) -> Quantity | None:
    """Return the sum of all, None where sizes or pieces without a quantity have none."""
    parts, measure = [], Measure.SIZE
    for group in groups:
        if group.quantity is None or group.item.net is None:
            return None
        measure = group.quantity.measure
        parts.append((group.count * group.quantity.times, stated(group.item.net)))
    total = summed(tuple(parts))
    if total is None or measure is Measure.SIZE:
        return None
    return Quantity(measure, in_order(in_large_units(total), rules))


def total_amount(pieces: tuple[Piece, ...]) -> tuple[Measure, Decimal] | None:
    """Return what a package holds in all, exactly, in grams or millilitres; None where it has no such sum.

    That is what a unit price goes by: pieces of unlike forms or measures have none.
    """
    made = declaration(pieces, Rules())
    nets = [(piece.quantity, piece.item.net) for piece in pieces]
    if made.kind is Kind.COMBINATION or any(net is None for _, net in nets):
        return None
    measure = made.groups[0].quantity.measure if made.groups[0].quantity else Measure.COUNT
    if measure not in {Measure.MASS, Measure.VOLUME}:
        return None
    amounts = (count * net.count * base_amount(stated(net)) for count, net in nets if net is not None)
    return measure, sum(amounts, Decimal(0))
