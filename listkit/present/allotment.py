"""The allotment as text and as JSON: who gets how many of what, what that keeps, and what more of it would."""

from collections import Counter
from collections.abc import Iterator
from decimal import ROUND_UP, Decimal
from typing import Any

from listkit.actions.allot import Allotting
from listkit.compute.allotment import Claim, Scarce, Shared
from listkit.listing.cells import money_digits
from listkit.model.allotment import SHOPS
from listkit.present.table import DASH, table
from listkit.units.money import Money


def allotment_lines(run: Allotting) -> Iterator[str]:
    """Yield the table of sets and single pieces by place, what is kept, and what is scarce."""
    shared, spoken = run.shared, run.listed.shop.settings.spoken
    if shared is None:
        return
    names = [place_name(run, place) for place in run.places]
    rows = [("code", "name", *names)]
    rows += [(code, name, *(DASH if number is None else str(number) for number in numbers))
             for code, name, numbers in unit_rows(run)]  # fmt: skip
    if len(rows) > 1:
        yield table(rows, left=2)
    yield ""
    allotment = run.listed.shop.settings.allotment
    weighed = ", as you weigh it" if allotment and any(wish.weight != 1 for wish in allotment.wishes) else ""
    yield f"Sold out, that keeps {spoken.money(shared.kept)}{weighed}; {gap_words(shared)}."
    yield from (unmet_words(run, claim, got) for claim, got in shared.unmet)
    yield from (scarce_words(run, each) for each in shared.scarce if each.worth is not None)
    if rest := [each.code for each in shared.scarce if each.worth is None]:
        yield f"Scarce too: {', '.join(rest)}."


def unit_rows(run: Allotting) -> Iterator[tuple[str, str, tuple[int | None, ...]]]:
    """Yield each set and single piece with what each place gets of it, None where it does not show it."""
    units = {variant.code: facts for facts in run.listed.catalog.listed for variant in facts.variants}
    given: dict[str, Counter[str]] = {}
    for row in run.rows:
        unit = units[row.code].code if row.code in units else row.code
        given.setdefault(unit, Counter())[row.place] += row.pieces
    known = {facts.code: facts.name for facts in run.listed.catalog.listed}
    for code in (*(code for code in known if code in given), *(code for code in given if code not in known)):
        numbers = (given[code].get(place) for place in run.places)
        yield code, known.get(code) or run.goods.names.get(code, ""), tuple(numbers)


def place_name(run: Allotting, place: str) -> str:
    """Return what people call a place, with those that are one shop with it."""
    allotment = run.listed.shop.settings.allotment
    groups = allotment.together if allotment else ()
    members = next((group for group in groups if place in group), (place,))
    return "For shops" if place == SHOPS else " + ".join(run.listed.name(member) for member in members)


def gap_words(shared: Shared) -> str:
    """Return "no other way keeps more", or by how much another may."""
    if shared.is_best:
        return "no other way keeps more"
    gap = (shared.gap * 100).quantize(Decimal("0.01"), ROUND_UP)
    return f"not proved best: another way may keep up to {gap} % more"


def unmet_words(run: Allotting, claim: Claim, got: int) -> str:
    """Return "Saturday stall gets 1 of OH-D01, not 3: there are too few"."""
    return f"{place_name(run, claim.place)} gets {got} of {claim.code}, not {claim.number}: there are too few."


def scarce_words(run: Allotting, scarce: Scarce) -> str:
    """Return "ten more of OH-S01, Tomato Leaf & Basil sugar scrub, would keep £96.00 more"."""
    worth = run.listed.shop.settings.spoken.money(scarce.worth or Decimal(0))
    return f"Ten more of {scarce.code}, {run.goods.names.get(scarce.code, '')}, would keep {worth} more."


def allotment_json(run: Allotting, *, written: bool) -> dict[str, Any]:
    """Return all numbers, in order; amounts as texts with the currency's digits."""
    shared, currency = run.shared, run.listed.shop.settings.currency
    return {
        "written": written,
        "kept": _money(shared.kept, currency) if shared else None,
        "at_most": _money(shared.most_kept, currency) if shared else None,
        "proved_best": shared is not None and shared.is_best,
        "allotted": [{"place": row.place, "code": row.code, "pieces": row.pieces} for row in run.rows],
        "unmet": [
            {"place": claim.place, "code": claim.code, "least": claim.number, "pieces": got}
            for claim, got in (shared.unmet if shared else ())
        ],
        "scarce": [
            {
                "code": each.code,
                "there": each.there,
                "ten_more_keep": None if each.worth is None else _money(each.worth, currency),
            }
            for each in (shared.scarce if shared else ())
        ],
    }


def _money(amount: Decimal, currency: str) -> str:
    return money_digits(Money(amount, currency))
