"""Lines: what shops may order, with the figures that wholesale prices are held against."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from listkit.check.places import SHOP, item_place, line_codes, offered, offered_variants, set_place
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.wholesale_prices import Line, line_of
from listkit.model.fields import WholesaleRule
from listkit.model.item import Item
from listkit.model.settings import Prices
from listkit.problem import Place


@dataclass(frozen=True, slots=True)
class Lines:
    """The variants of one set, or one item: the rule of their wholesale prices, where it stands, where to mend them."""

    things: tuple[Variant | Item, ...]
    rule: WholesaleRule
    rule_place: Place
    place: Place
    prices: Prices

    def __iter__(self) -> Iterator[Line]:
        return (line_of(thing, self.prices) for thing in self.things)

    def __len__(self) -> int:
        return len(self.things)

    @property
    def alike(self) -> tuple[Line, ...]:
        """Lines that stand for all: where the rule is a share of the price, any one does."""
        return tuple(islice(self, 1)) if self.rule.kind == "share" else tuple(self)


def all_lines(catalog: Catalog) -> Iterator[Lines]:
    """Yield the lines of wholesale.toml, those of one set together; without its groups all sets that are offered."""
    if catalog.shop.wholesale is None or not catalog.shop.wholesale.groups:
        yield from (_set_lines(catalog, facts) for facts in offered(catalog))
        return
    sets = {facts.code: facts for facts in catalog.sets}
    items = {item.code: item for item in catalog.shop.items}
    for code in line_codes(catalog):
        if code in sets:
            yield _set_lines(catalog, sets[code])
        elif code in items:
            yield _item_line(catalog, items[code])


def _set_lines(catalog: Catalog, facts: SetFacts) -> Lines:
    prices, own = catalog.shop.settings.prices, facts.source.gift_set.wholesale
    rule = own or prices.set_wholesale
    place = set_place(facts, "wholesale")
    by_shop = own is None and rule.kind == "share"
    rule_place = Place(SHOP, key=("prices", "set_wholesale")) if by_shop else place
    return Lines(tuple(offered_variants(facts)), rule, rule_place, place, prices)


def _item_line(catalog: Catalog, item: Item) -> Lines:
    prices = catalog.shop.settings.prices
    rule = WholesaleRule("share", prices.wholesale)
    rule_place = Place(SHOP, key=("prices", "wholesale"))
    return Lines((item,), rule, rule_place, item_place(catalog.shop, item, "retail"), prices)
