"""Every box of the shop, and whether a set's variants go into it: which fit, with what to spare, how full."""

from dataclasses import dataclass
from typing import Any

from listkit.cli.figures import DASH, percent, plain_number
from listkit.cli.table import table
from listkit.compute.box_pieces import Verdict
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.packing import verdict_in
from listkit.model.packaging import GiftBox


@dataclass(frozen=True, slots=True)
class BoxTold:
    """One box: the verdict of the tightest variant, and the variants that do not go in."""

    box: GiftBox
    verdict: Verdict
    outside: tuple[str, ...]


def boxes_for(found: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> tuple[BoxTold, ...]:
    """Return every box, the smallest inside first; none for a set without box."""
    if not found.source.gift_set.boxed:
        return ()
    packing, stacked = catalog.shop.settings.packing, found.source.gift_set.stacked
    told = []
    for box in sorted(catalog.shop.packaging.boxes, key=lambda box: (box.inside.volume, box.code)):
        verdicts = [(one.code, verdict_in(box, one.pieces, packing, stacked=stacked)) for one in variants]
        outside = tuple(code for code, verdict in verdicts if not verdict.fits)
        tightest = min((verdict for _, verdict in verdicts), key=lambda verdict: (verdict.fits, -verdict.fill_share))
        told.append(BoxTold(box, tightest, outside))
    return tuple(told)


def boxes_text(found: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> str:
    """Return a row a box; the set's own is marked."""
    rows = [["box", "fits", "to spare", "filled", "does not take"]]
    for told in boxes_for(found, variants, catalog):
        own = " (this one)" if found.box is not None and told.box.code == found.box.code else ""
        spare = " × ".join(f"{side.normalize():f}" for side in told.verdict.spare) + " mm"
        some = "some" if told.outside and len(told.outside) < len(variants) else "no" if told.outside else "yes"
        named = ", ".join(told.outside) if some == "some" else ""
        filled = percent(told.verdict.fill_share)
        rows.append([told.box.code + own, some, DASH if told.outside else spare, filled, named])
    return table(rows, left=2) if len(rows) > 1 else ""


def boxes_json(found: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> list[dict[str, Any]]:
    """Return the same for scripts: millimetres, shares from 0 to 1."""
    return [
        {
            "code": told.box.code,
            "fits": not told.outside,
            "proof": told.verdict.proof,
            "spare": [plain_number(side) for side in told.verdict.spare],
            "fill_share": plain_number(told.verdict.fill_share),
            "does_not_take": list(told.outside),
        }
        for told in boxes_for(found, variants, catalog)
    ]
