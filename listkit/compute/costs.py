"""What items cost to make, by recipes: materials, hours and the item's own packaging, step by step.

Exact in fractions; the cost of a piece is rounded once, half up, as an owner would type it. A mixture (a recipe of what
is no item) is worth what goes into it, by weight. A cost that is typed stands; an empty one is what comes out here.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Final

from listkit.model.item import FollowingCost, Item
from listkit.model.making import (
    CostFault,
    CostStep,
    ItemCost,
    MakingState,
    Material,
    RecipeRow,
    Ways,
    material_place,
    recipe_place,
)
from listkit.model.settings import Settings
from listkit.model.shop import Guess, Shop
from listkit.problem import Place, quoted
from listkit.units.amount import Amount, amount_text, rounded_at
from listkit.units.money import LARGEST, Money, minor_digits
from listkit.units.table import UnitKind

ZERO: Final = Fraction(0)
_NO_WAYS: Final = Ways(form="-")
_forms: Final[list[tuple[tuple[Ways, ...], dict[str, Ways]]]] = [((), {})]  # of the shop that was asked for last
_BY: Final = {
    UnitKind.MASS: "by weight", UnitKind.VOLUME: "by volume", UnitKind.LENGTH: "by length",
    UnitKind.COUNT: "by the piece",
}  # fmt: skip
_WEIGHED: Final = (UnitKind.MASS, UnitKind.VOLUME)


@dataclass(frozen=True, slots=True)
class Way:
    """How an item is made: by its own columns, else by its form; `batch` None where nobody says.

    `cure` is in days, `ready_after` in working days, `hours` a batch.
    """

    batch: int | None
    good: Decimal
    cure: int
    hours: Decimal
    ready_after: int

    @property
    def pieces(self) -> Fraction:
        """How many good pieces a batch gives on average."""
        return Fraction(self.batch or 0) * Fraction(self.good)


def _by_form(making: tuple[Ways, ...]) -> dict[str, Ways]:
    """Return the ways of a shop by form, made once for all its items, who may be thousands."""
    kept, forms = _forms[0]
    if kept is not making:
        forms = {ways.form.casefold(): ways for ways in reversed(making)}  # of two for one form the first
        _forms[0] = making, forms
    return forms


def way_of(item: Item, settings: Settings) -> Way:
    """Return how an item is made."""
    form = _by_form(settings.making).get(item.form.casefold(), _NO_WAYS)
    good = item.yield_ if item.yield_ is not None else form.good
    cure = item.cure if item.cure is not None else form.cure
    hours = item.hours_a_batch if item.hours_a_batch is not None else form.hours_a_batch
    after = item.ready_after if item.ready_after is not None else form.ready_after
    return Way(
        item.batch_size or form.batch_size,
        Decimal(1) if good is None else good,
        cure or 0,
        hours or Decimal(0),
        after or 0,
    )


@dataclass(frozen=True, slots=True)
class Taken:
    """So much of one thing, in the base unit of its kind: a material with its row, else an item by its code."""

    name: str
    kind: UnitKind
    size: Fraction
    material: Material | None = None


@dataclass(frozen=True, slots=True)
class _Worth:
    """What so much of a mixture or material costs: the base units and their cost, and what it lacks."""

    kind: UnitKind
    size: Fraction
    cost: Fraction
    faults: tuple[CostFault, ...] = ()
    silent: bool = False

    @property
    def sound(self) -> bool:
        return not self.faults and not self.silent


class Recipes:
    """The recipes of a shop: what a batch takes, and what that costs; each name is worked out once."""

    def __init__(self, shop: Shop) -> None:
        self.shop = shop
        self.items = {item.code: item for item in shop.items}
        self.materials = {row.material: (line, row) for line, row in shop.making.materials}
        self.rows: dict[str, list[tuple[int, RecipeRow]]] = {}
        for line, row in shop.making.recipes:
            self.rows.setdefault(row.item, []).append((line, row))
        self._mixtures: dict[str, _Worth] = {}
        self._batches: dict[str, tuple[Taken, ...]] = {}
        self._costs: dict[str, ItemCost] = {}
        self._open: list[str] = []
        self._circles: dict[tuple[str, ...], CostFault] = {}

    # what a piece costs

    def cost(self, code: str) -> ItemCost:
        """Return what an item with a recipe costs."""
        if code not in self._costs:
            self._open.append(code)
            made = self._cost(self.items[code])
            self._open.pop()
            self._costs[code] = made
        return self._costs[code]

    def _cost(self, item: Item) -> ItemCost:
        way, settings = way_of(item, self.shop.settings), self.shop.settings
        rows = self.rows.get(item.code, [])
        steps, silent = list[CostStep](), self._unsure(item.code)
        faults = dict[CostFault, None]()  # each once; of thousands of rows each may have its own
        if not way.batch and not silent:
            message = f"{item.code} has a recipe, and nobody says how many pieces a batch makes."
            of_form = f"[[making]] with form = {quoted(item.form)}"
            hint = f"Write it under batch size, or for all of its form in shop.toml: {of_form}."
            place = Place(self.shop.items_file, row=item.code, key=("batch_size",))
            faults[CostFault("batch-size", place, message, hint)] = None
        pieces = way.pieces or Fraction(1)
        for line, row in rows:
            worth = self._worth(line, row)
            faults |= dict.fromkeys(worth.faults)
            silent = silent or worth.silent
            if worth.sound:
                steps.append(
                    CostStep(row.material, row.amount.text, self.price_text(row.material), worth.cost / pieces)
                )
        if way.hours and settings.prices.wage:
            cost = Fraction(way.hours) * Fraction(settings.prices.wage.amount)
            steps.append(
                CostStep("hours", f"{way.hours.normalize():f}", f"{settings.prices.wage} an hour", cost / pieces)
            )
        if (packed := self.container(item)) is not None:
            worth = self._of_material(*packed, Amount(UnitKind.COUNT, Decimal(1), "1"), recipe_place(0))
            faults |= dict.fromkeys(worth.faults)
            steps.append(CostStep(item.container, "1 a piece", self.price_text(item.container), worth.cost))
        total = sum((step.cost for step in steps), ZERO)
        if not (faults or silent) and total >= LARGEST:
            faults[_no_price(item.code, rows)] = None
        if faults or silent:
            return ItemCost(item.code, pieces, tuple(steps), faults=tuple(faults), silent=silent)
        return ItemCost(item.code, pieces, tuple(steps), rounded(total, settings.currency))

    def _unsure(self, name: str) -> bool:
        return self.shop.making.unsure is None or name in self.shop.making.unsure

    def container(self, item: Item) -> tuple[int, Material] | None:
        """Return the material that an item comes in, one a piece; None where there is none, or its recipe has it."""
        taken = {row.material for _, row in self.rows.get(item.code, [])}
        return None if item.container in taken else self.materials.get(item.container)

    def price_text(self, name: str) -> str:
        """Return what a material goes by: "8.40 a kg"; of a mixture what a kilogram costs; "" of what has none."""
        if name in self.materials:
            row = self.materials[name][1]
            unit = _unit_text(row)
            return f"{row.price} {unit if unit.startswith('a ') else f'for {unit}'}" if row.price else ""
        if name in self.rows and name not in self.items:
            worth = self._mixture(name)
            if worth.sound and worth.kind in _WEIGHED:
                unit = "kg" if worth.kind is UnitKind.MASS else "l"
                return f"{rounded(worth.cost / worth.size * 1000, self.shop.settings.currency)} a {unit}"
        return ""

    def _worth(self, line: int, row: RecipeRow) -> _Worth:
        """Return what a row of a recipe costs."""
        place = recipe_place(line, "amount")
        if row.material in self.materials:
            return self._of_material(*self.materials[row.material], row.amount, place)
        if row.material in self._open:
            return self._circle(row)
        if row.material in self.items:
            return self._of_item(row, place)
        mixture = self._mixture(row.material)
        if not mixture.sound:
            return mixture
        if row.amount.kind is not mixture.kind:
            message = f"{quoted(row.amount.text)} is not how {row.material} is made: {_BY[mixture.kind]}."
            return replace(
                mixture, faults=(CostFault("recipe-units", place, message, f"Write it {_BY[mixture.kind]}."),)
            )
        size = Fraction(row.amount.size)
        return _Worth(mixture.kind, size, mixture.cost * size / mixture.size)

    def _of_item(self, row: RecipeRow, place: Place) -> _Worth:
        item, size = self.items[row.material], Fraction(row.amount.size)
        if row.amount.kind is not UnitKind.COUNT:
            message = f"{quoted(row.amount.text)} is no number of pieces, and {item.code} is taken by the piece."
            fault = CostFault("recipe-units", place, message, 'Write it as in "2 pieces".')
            return _Worth(UnitKind.COUNT, size, ZERO, (fault,))
        if not isinstance(item.cost, FollowingCost) and item.code not in _followed(self.shop):
            return _Worth(UnitKind.COUNT, size, Fraction(item.cost.amount) * size)
        made = self.cost(item.code)
        if made.cost is None:
            return _Worth(UnitKind.COUNT, size, ZERO, made.faults, made.silent)
        return _Worth(UnitKind.COUNT, size, Fraction(made.cost) * size)

    def _of_material(self, line: int, material: Material, amount: Amount, place: Place) -> _Worth:
        size = Fraction(amount.size)
        if material.price is None:
            message = f"{material.material} has no price, and recipes take it."
            hint = f"Write what {_unit_text(material)} costs; 0 where it costs nothing."
            return _Worth(
                amount.kind, size, ZERO, (CostFault("material-price", material_place(line, "price"), message, hint),)
            )
        bought = in_kind(amount, material)
        if bought is None:
            return _Worth(amount.kind, size, ZERO, (_units_fault(material, amount, place, line),))
        return _Worth(amount.kind, size, bought * Fraction(material.price.amount) / Fraction(material.unit.size))

    def _mixture(self, name: str) -> _Worth:
        """Return what all of a mixture weighs and costs; by volume or pieces where it cannot be weighed."""
        if name in self._mixtures:
            return self._mixtures[name]
        if name not in self.rows:  # they cannot be read, of which the file's own problem speaks
            return _Worth(UnitKind.MASS, Fraction(1), ZERO, silent=True)
        self._open.append(name)
        rows = self.rows[name]
        parts = [self._worth(line, row) for line, row in rows]
        self._open.pop()
        faults = tuple(dict.fromkeys(fault for part in parts for fault in part.faults))
        silent = self._unsure(name) or any(part.silent for part in parts)
        weights = [self._weight(row) for _, row in rows]
        kinds = {row.amount.kind for _, row in rows}
        kind, size = UnitKind.MASS, sum((weight or ZERO for weight in weights), ZERO)
        if None in weights and len(kinds) == 1:
            kind, size = next(iter(kinds)), sum((Fraction(row.amount.size) for _, row in rows), ZERO)
        elif None in weights and not silent:
            line, row = rows[weights.index(None)]
            amount = f"{quoted(row.amount.text)} is of {row.material}"
            message = f"{amount} and cannot be added to the rest of {name}, which is weighed."
            hint = "Write it by weight, or its density in materials.csv."
            faults = (*faults, CostFault("recipe-units", recipe_place(line, "amount"), message, hint))
        worth = _Worth(kind, size or Fraction(1), sum((part.cost for part in parts), ZERO), faults, silent)
        self._mixtures[name] = worth  # in a circle too: all that it takes has been walked, and its circles are told
        return worth

    def _weight(self, row: RecipeRow) -> Fraction | None:
        return _converted(row.amount, UnitKind.MASS, self.materials.get(row.material, (0, None))[1])

    def _circle(self, row: RecipeRow) -> _Worth:
        way = [*self._open[self._open.index(row.material) :], row.material]
        first = min(way[:-1])
        at = way.index(first)
        shown = (*way[at:-1], *way[:at], first)
        if shown not in self._circles:
            lines = (number for name in way[:-1] for number, each in self.rows[name] if each.material in way)
            message = f"the recipes go in a circle: {' takes '.join(shown)}."
            place = recipe_place(min(lines), "material")
            self._circles[shown] = CostFault("recipe-circle", place, message, "Take one of these rows out.")
        return _Worth(row.amount.kind, Fraction(1), ZERO, (self._circles[shown],))

    # what a batch takes

    def leaves(self, name: str, share: Fraction = Fraction(1)) -> Iterator[Taken]:
        """Yield what a share of a batch takes of each material and item; mixtures are parted into what goes in them."""
        for taken in self._batch(name):
            yield replace(taken, size=taken.size * share)

    def _batch(self, name: str) -> tuple[Taken, ...]:
        """Return what a whole batch takes of each, found once; what a recipe takes of itself is told as a circle."""
        if name not in self._batches:
            self._batches[name] = ()
            sums: dict[tuple[str, UnitKind], Taken] = {}
            for _, row in self.rows.get(name, []):
                for taken in self._parted(row):
                    before = sums.get((taken.name, taken.kind))
                    sums[taken.name, taken.kind] = replace(taken, size=taken.size + before.size) if before else taken
            self._batches[name] = tuple(sums.values())
        return self._batches[name]

    def _parted(self, row: RecipeRow) -> Iterator[Taken]:
        size = Fraction(row.amount.size)
        if row.material in self.materials:
            material = self.materials[row.material][1]
            bought = in_kind(row.amount, material)
            if bought is not None:
                yield Taken(row.material, material.unit.kind, bought, material)
        elif row.material in self.items:
            yield Taken(row.material, UnitKind.COUNT, size)
        elif row.material in self.rows:
            yield from self.leaves(row.material, size / self._mixture(row.material).size)

    def input_grams(self, code: str) -> Fraction | None:
        """Return what goes into a batch by weight; None where some of it is not weighed and has no density."""
        grams = ZERO
        for _, row in self.rows.get(code, []):
            weight = self._weight(row)
            if weight is None and row.amount.kind in _WEIGHED:
                return None
            grams += weight or ZERO  # jars and bands are no part of what is weighed
        return grams


def _no_price(code: str, rows: Sequence[tuple[int, RecipeRow]]) -> CostFault:
    """Return what is wrong where a piece comes to more than any price may be."""
    message = f"a piece of {code} comes to more than any price."
    hint = "Mend the amounts of its recipe, or what its materials cost."
    return CostFault("bad-value", recipe_place(rows[0][0] if rows else 0, "amount"), message, hint)


def _followed(shop: Shop) -> frozenset[str]:
    return shop.made.follows if shop.made is not None else frozenset()


def _unit_text(material: Material) -> str:
    return material.unit.text if material.unit.text[:1].isdigit() else f"a {material.unit.text}"


def in_kind(amount: Amount, material: Material) -> Fraction | None:
    """Return an amount in the base unit that a material is bought by; None where the units do not agree."""
    if amount.bare and material.unit.kind is not UnitKind.COUNT:
        return None
    return _converted(amount, material.unit.kind, material)


def _converted(amount: Amount, kind: UnitKind, material: Material | None) -> Fraction | None:
    """Return an amount in the base unit of a kind: weight and volume by the material's density."""
    if amount.kind is kind:
        return Fraction(amount.size)
    density = material.density if material is not None else None
    if density is None or amount.kind not in _WEIGHED or kind not in _WEIGHED:
        return None
    return (
        Fraction(amount.size) * Fraction(density)
        if kind is UnitKind.MASS
        else Fraction(amount.size) / Fraction(density)
    )


def _units_fault(material: Material, amount: Amount, place: Place, line: int) -> CostFault:
    """Return what is wrong where a recipe measures a material otherwise than it is bought."""
    bought = f"{material.material} is bought {_BY[material.unit.kind]}"
    if amount.bare:
        message, hint = f"{quoted(amount.text)} has no unit, and {bought}.", 'Write the unit with it, as in "340 g".'
        return CostFault("recipe-units", place, message, hint)
    hint = "Measure it as it is bought."
    if amount.kind in _WEIGHED and material.unit.kind in _WEIGHED:
        hint = f"Write its density (grams a millilitre) in materials.csv, line {line}, or measure it as it is bought."
    return CostFault("recipe-units", place, f"{quoted(amount.text)} is {_BY[amount.kind]}, and {bought}.", hint)


def rounded(amount: Fraction, currency: str) -> Decimal:
    """Return an exact amount in whole minor units, half up.

    >>> rounded(Fraction(1, 3), "GBP"), rounded(Fraction(1, 8), "GBP")
    (Decimal('0.33'), Decimal('0.13'))
    """
    return rounded_at(amount, minor_digits(currency))


# The shop by these costs.


def costed(shop: Shop, guess: Guess | None = None) -> Shop:
    """Return the shop with the costs that follow from recipes; the same one without recipes.

    An item whose cost is empty and does not come out is left out, with the sets that may hold it; with `guess` it costs
    nothing, as much as it sells for, or the same share of that as of the middle one of the others.
    """
    follows = _followed(shop) | {item.code for item in shop.items if isinstance(item.cost, FollowingCost)}
    if not follows and not shop.making.recipes:
        return shop
    recipes = Recipes(shop if shop.made is None else replace(shop, made=MakingState({}, follows)))
    costs = {
        item.code: recipes.cost(item.code) for item in shop.items if item.code in recipes.rows or item.code in follows
    }
    lost = frozenset(code for code in follows if costs[code].cost is None and guess is None)
    currency, kept, share = shop.settings.currency, list[Item](), _guessed_share(shop, guess)
    for item in shop.items:
        cost = costs[item.code].cost if item.code in follows else None
        if cost is None and item.code in follows and guess is not None:
            cost = rounded(Fraction(item.retail.amount) * share, currency)
        if item.code not in lost:
            kept.append(item if cost is None else item.model_copy(update={"cost": Money(cost, currency)}))
    whole = replace(shop, items=tuple(kept), made=MakingState(costs, follows))
    return _without(whole, lost) if lost else whole


def _guessed_share(shop: Shop, guess: Guess | None) -> Fraction:
    """Return which share of its price an item of unknown cost is taken to cost."""
    if guess is not Guess.USUAL:
        return Fraction(guess is Guess.LARGE)
    priced = [item for item in shop.items if item.cost.amount and item.retail.amount]
    shares = sorted(Fraction(item.cost.amount) / Fraction(item.retail.amount) for item in priced)
    return shares[len(shares) // 2] if shares else Fraction(1)


def _without(shop: Shop, lost: frozenset[str]) -> Shop:
    """Return the shop without what holds these items, which are none of its items any more."""
    minis = frozenset(item.code for item in shop.items if item.larger in lost)
    left_out = replace(shop.left_out, items=shop.left_out.items | lost | minis, codes=shop.left_out.codes | lost)
    return replace(
        shop,
        sets=tuple(folder for folder in shop.sets if not lost & set(folder.gift_set.item_codes)),
        singles=tuple(single for single in shop.singles if single.code not in lost),
        left_out=left_out,
    )


def cost_facts(cost: ItemCost, recipes: Recipes) -> tuple[str, ...]:
    """Return what a cost follows from, a line a fact that may change: "price of olive oil: 5.20 a kg"."""
    facts = {
        f"price of {taken.name}": recipes.price_text(taken.name)
        for taken in recipes.leaves(cost.code)
        if taken.material
    }
    facts |= {f"{step.label} in a batch": step.amount for step in cost.steps}
    facts |= {
        f"price of {step.label}": step.price
        for step in cost.steps
        if step.label in recipes.materials or step.label == "hours"
    }
    facts["pieces a batch"] = amount_text(UnitKind.COUNT, cost.pieces)
    return tuple(f"{name}: {value}" for name, value in sorted(facts.items()))


def all_cost_facts(shop: Shop) -> Mapping[str, tuple[str, ...]]:
    """Return the same of every item whose cost follows from its recipe."""
    if shop.made is None or not shop.made.follows:
        return {}
    recipes = Recipes(shop)
    return {
        code: cost_facts(shop.made.costs[code], recipes)
        for code in sorted(shop.made.follows)
        if shop.made.costs[code].cost is not None
    }
