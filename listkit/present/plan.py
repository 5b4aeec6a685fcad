"""The make list and what a recipe costs, as text and as JSON."""

import datetime
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from listkit.compute.catalog import SetFacts
from listkit.compute.costs import rounded
from listkit.compute.plan import ORDERS, Buy, Make, MakePlan
from listkit.compute.season_plan import Advice, SoldAlready
from listkit.compute.working_days import Week
from listkit.model.making import ItemCost
from listkit.model.shop import Shop
from listkit.present.table import DASH, plain_number, table
from listkit.problem import times
from listkit.units.amount import amount_text, rounded_at
from listkit.units.money import Money
from listkit.units.spoken import Spoken
from listkit.units.table import UnitKind
from listkit.units.weight import Weight

_FINE = 4
_GRAIN = 3
_CLOSED = 8  # closed days that are told one by one


def number_text(exact: Fraction, digits: int = 2) -> str:
    """Return an exact number to so many digits, half up, none that say nothing.

    >>> number_text(Fraction(7, 3)), number_text(Fraction(3))
    ('2.33', '3')
    """
    return f"{rounded_at(exact, digits).normalize():f}"


# What an item costs by its recipe.


def cost_rows(cost: ItemCost, shop: Shop) -> list[tuple[str, str, str, str]]:
    """Return the steps: what, how much a batch, what it goes by, a piece to a hundredth of a penny; the sum last."""
    rows = [(step.label, step.amount, step.price, f"{rounded_at(step.cost, _FINE):f}") for step in cost.steps]
    total = DASH if cost.cost is None else str(Money(cost.cost, shop.settings.currency))
    return [*rows, ("together", f"{number_text(cost.pieces)} good pieces a batch", "", total)]


def cost_lines(cost: ItemCost, shop: Shop) -> Iterator[str]:
    """Yield what an item with a recipe costs, step by step, and whether its own cost is another."""
    item = next((item for item in shop.items if item.code == cost.code), None)
    yield f"{cost.code} {item.name if item else ''} · amounts in {shop.settings.currency}".replace("  ", " ")
    yield table([("", "a batch", "price", "a piece"), *cost_rows(cost, shop)], left=3)
    for fault in cost.faults:
        yield f"{fault.place}: {fault.message} {fault.hint}"
    if item is not None and shop.made is not None and cost.code not in shop.made.follows:
        yield f"{shop.settings.spoken.money(item.cost)} is typed in {shop.items_file}, and counts."


def cost_json(cost: ItemCost, shop: Shop) -> dict[str, Any]:
    """Return the same for scripts; costs a piece are exact to four digits."""
    steps = [
        {"label": step.label, "amount": step.amount, "price": step.price, "cost": str(rounded_at(step.cost, _FINE))}
        for step in cost.steps
    ]
    follows = shop.made is not None and cost.code in shop.made.follows
    total = None if cost.cost is None else str(Money(cost.cost, shop.settings.currency))
    return {"code": cost.code, "pieces": number_text(cost.pieces), "steps": steps, "cost": total, "follows": follows}


def costs_of(facts: SetFacts, shop: Shop) -> tuple[ItemCost, ...]:
    """Return the costs of the items of a set that follow from their recipes."""
    made = shop.made
    codes = dict.fromkeys(item.code for item in facts.items)
    return tuple(made.costs[code] for code in codes if code in made.follows) if made is not None else ()


# The make list.


def plan_lines(plan: MakePlan, shop: Shop) -> Iterator[str]:
    """Yield the make list: what is too late, what to make, what to buy, full weeks, closed days, advice."""
    if not plan.wanted and not plan.sold:
        if plan.past:
            yield _past(plan)
        elif not shop.making.plan:
            columns = "set or item, place, how many, by when"
            yield f"Nothing is planned. Write plan.csv: {columns}; or see listkit plan --help."
        return
    spoken = shop.settings.spoken
    yield from (late_text(make, spoken) for make in plan.late)
    if plan.late:
        yield ""
    yield from _made(plan)
    yield from _bought(plan, shop)
    yield from _weeks(plan, spoken)
    yield from _closed(plan, spoken)
    for part in plan.coming:
        yield f"{part.pieces} of {part.name} ({part.code}) are poured, ready on {spoken.day(part.ready_on)}."
    yield from (_sold(part, spoken) for part in plan.sold)
    for each in plan.wanted:
        if each.advice is not None:
            yield f"{each.code}, {each.place}: {advice_text(each.advice, spoken)}."
    if plan.past:
        yield _past(plan)


def _closed(plan: MakePlan, spoken: Spoken) -> Iterator[str]:
    for closed in plan.closed[:_CLOSED]:
        moved = "; ".join(
            f"{code} poured by {spoken.day(pour)}, else {spoken.day(without)}" for code, pour, without in closed.moves
        )
        yield f"{spoken.day(closed.day)} is closed: {moved}."
    if len(plan.closed) > _CLOSED:
        last = spoken.day(plan.closed[-1].day)
        yield f"{times(len(plan.closed) - _CLOSED, 'more closed day')} until {last} move what is poured too."
    if plan.closed_unseen is not None:
        first = spoken.day(plan.closed_unseen)
        yield f"Not all that closed days from {first} on move was looked at: it is too much."


def _past(plan: MakePlan) -> str:
    rows = times(len(plan.past), "row")
    return f"{rows} of plan.csv {'is' if len(plan.past) == 1 else 'are'} of days that have passed."


def late_text(make: Make, spoken: Spoken) -> str:
    """Return what can no longer be met, when it had to be begun, and when it can be ready."""
    ready = f"; begun now it is ready on {spoken.day(make.earliest)}" if make.earliest else ""
    what = f"{make.short} of {make.name} ({make.code})"
    return (
        f"Too late for {spoken.day(make.by)}: {what} had to be begun by {spoken.day(make.start_by or make.by)}{ready}."
    )


def advice_text(advice: Advice, spoken: Spoken) -> str:
    """Return how many to make, with the fraction that says so: "make 50: £18.00 ÷ (£18.00 + £7.00) = 0.72"."""
    under, over = spoken.money(advice.under), spoken.money(advice.over)
    share = f"{under} ÷ ({under} + {over}) = {number_text(advice.share, 4)}"
    if advice.under <= 0:
        return "make none: nothing is lost where it is sold out"
    return f"make {DASH if advice.quantity is None else advice.quantity}, enough in so many of all seasons: {share}"


def _made(plan: MakePlan) -> Iterator[str]:
    if not plan.makes:
        yield "Nothing has to be made." if plan.buys else "All that is planned is there."
        return
    rows = [("code", "name", "pour by", "ready", "for", "short", "batches", "pieces", "hours")]
    for make in plan.makes:
        pour, ready = (DASH if day is None else str(day) for day in (make.pour_by, make.ready_on))
        figures = (str(make.short), str(make.batches), str(make.pieces), f"{make.hours.normalize():f}")
        rows.append((make.code, make.name, pour, ready, str(make.by), *figures))
    yield table(rows, left=5)


def _sold(part: SoldAlready, spoken: Spoken) -> str:
    """Return "OHS-1, stall: 12 of 40 are sold since 15 February 2027, so 28 are wanted."."""
    at = f"{part.code}, {part.place}" if part.place else part.code
    rest = f"so {part.wanted} are wanted" if part.wanted else "so no more are wanted"
    return f"{at}: {part.sold} of {part.asked} are sold since {spoken.day(part.since)}, {rest}."


def _bought(plan: MakePlan, shop: Shop) -> Iterator[str]:
    if not plan.buys:
        return
    yield "\nTo buy"
    rows = [("what", "order by", "for", "needed", "there", "to get", f"in {shop.settings.currency}")]
    rows += [
        (
            buy.name, str(buy.order_by) if buy.days is not None else DASH, str(buy.by),
            _amount(buy.kind, buy.needed, shop), _amount(buy.kind, buy.there, shop) if buy.counted else "not counted",
            to_get(buy, shop), _price(buy, shop) or DASH,
        )
        for buy in plan.buys
    ]  # fmt: skip
    yield table(rows, left=3)


def to_get(buy: Buy, shop: Shop) -> str:
    """Return how much to get, in packs where it is bought so."""
    return f"{buy.packs} × {buy.unit}" if buy.packs is not None and buy.unit else _amount(buy.kind, buy.short, shop)


def _amount(kind: UnitKind, size: Fraction, shop: Shop) -> str:
    """Return an amount in the shop's measure, of which only weights have another than the metric one."""
    measures = shop.settings.measures
    if kind is UnitKind.MASS and measures.customary:
        return measures.weight(Weight(rounded_at(size, _GRAIN)), rounded=True)
    return amount_text(kind, size)


def _price(buy: Buy, shop: Shop) -> str:
    currency = shop.settings.currency
    return "" if buy.price is None else str(Money(rounded(buy.price, currency), currency))


def _weeks(plan: MakePlan, spoken: Spoken) -> Iterator[str]:
    full = [week for week in plan.weeks if week.full]
    if full:
        yield "\nWeeks fuller than there are hours"
        for week in full:
            there = number_text(week.has or Fraction(0))
            yield f"  from {spoken.day(week.monday)}: {number_text(week.hours)} hours, {there} there"


def plan_json(plan: MakePlan, shop: Shop, day: datetime.date) -> dict[str, Any]:
    """Return the make list for scripts: days as ISO 8601, amounts in grams, millilitres, millimetres or pieces."""
    return {
        "day": str(day),
        "wanted": [
            {
                "code": each.code, "name": each.name, "place": "" if each.place == ORDERS else each.place,
                "orders": each.place == ORDERS, "by": str(each.by), "quantity": each.quantity,
                "advice": _advice_json(each.advice),
            }
            for each in plan.wanted
        ],
        "makes": [_make_json(make) for make in plan.makes],
        "buys": [_buy_json(buy, shop) for buy in plan.buys],
        "weeks": [_week_json(week) for week in plan.weeks],
        "closed": [
            {
                "day": str(closed.day),
                "moves": [{"code": each[0], "pour_by": str(each[1]), "else": str(each[2])} for each in closed.moves],
            }
            for closed in plan.closed
        ],
        **({"closed_in_part_from": str(plan.closed_unseen)} if plan.closed_unseen is not None else {}),
        "sold": [
            {
                "code": each.code, "place": each.place, "asked": each.asked, "sold": each.sold,
                "since": str(each.since), "wanted": each.wanted,
            }
            for each in plan.sold
        ],
        "coming": [
            {"code": each.code, "pieces": each.pieces, "poured": str(each.poured), "ready_on": str(each.ready_on)}
            for each in plan.coming
        ],
        "past": len(plan.past),
    }  # fmt: skip


def _advice_json(advice: Advice | None) -> dict[str, Any] | None:
    if advice is None:
        return None
    share = [advice.share.numerator, advice.share.denominator]
    return {"sold_out": str(advice.under), "left_over": str(advice.over), "share": share, "quantity": advice.quantity}


def _make_json(make: Make) -> dict[str, Any]:
    days = {name: getattr(make, name) for name in ("pour_by", "ready_on", "by", "start_by", "earliest")}
    shown = {name: None if day is None else str(day) for name, day in days.items()}
    figures = {"short": make.short, "batches": make.batches, "pieces": make.pieces, "hours": plain_number(make.hours)}
    return {"code": make.code, "name": make.name, **figures, **shown, "late": make.late}


def _buy_json(buy: Buy, shop: Shop) -> dict[str, Any]:
    sizes = {"needed": buy.needed, "there": buy.there if buy.counted else None, "short": buy.short}
    amounts = {name: None if size is None else rounded_at(size, _GRAIN) for name, size in sizes.items()}
    return {
        "name": buy.name, "kind": buy.kind.value,
**{name: plain_number(size) for name, size in amounts.items()},
        "unit": buy.unit, "packs": buy.packs, "by": str(buy.by), "days": buy.days,
        "order_by": None if buy.days is None else str(buy.order_by), "price": _price(buy, shop) or None,
    }  # fmt: skip


def _week_json(week: Week) -> dict[str, Any]:
    hours, has = (None if size is None else plain_number(rounded_at(size, _FINE)) for size in (week.hours, week.has))
    return {"monday": str(week.monday), "hours": hours, "has": has, "full": week.full}
