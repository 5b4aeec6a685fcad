"""Every box of the shop, and whether a set's variants go into it: which fit, with what to spare, how full."""

from dataclasses import dataclass
from typing import Any

from listkit.cli.figures import DASH, percent, plain_number
from listkit.cli.table import table
from listkit.compute.box.fit import Verdict, lies_at, smallest_for, verdict_in
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.model.item import Item
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


def larger_text(found: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> str:
    """Return which variants alone ask for a larger box than the others; "" when one box is the smallest for all."""
    if not found.source.gift_set.boxed:
        return ""
    shop, stacked = catalog.shop, found.source.gift_set.stacked
    needs: dict[str, list[str]] = {}
    boxes: dict[str, GiftBox] = {}
    for one in variants:
        box = smallest_for((one.pieces,), shop.packaging.boxes, shop.settings.packing, stacked=stacked)
        needs.setdefault(box.code if box else "", []).append(one.code)
        if box:
            boxes[box.code] = box
    if len(needs) < 2:
        return ""
    largest = "" if "" in needs else max(boxes.values(), key=lambda box: (box.inside.volume, box.code)).code
    alone = needs.pop(largest)
    needed = f"box {largest}" if largest else "a larger box than there is"
    return f"{', '.join(alone)} alone {'needs' if len(alone) == 1 else 'need'} {needed}; {_others(needs)}."


def _others(needs: dict[str, list[str]]) -> str:
    """Return "the others fit in S" or, where they differ, each box with its variants."""
    if len(needs) == 1:
        return f"the others fit in {next(iter(needs))}"
    return "; ".join(f"{', '.join(codes)} fit in {box}" for box, codes in needs.items())


def layout_text(found: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> str:
    """Return where each piece lies in the set's box, in words; variants that lie alike are told once."""
    if found.box is None:
        return ""
    packing, stacked = catalog.shop.settings.packing, found.source.gift_set.stacked
    alike: dict[tuple[str, ...], list[Variant]] = {}
    for one in variants:
        verdict = verdict_in(found.box, one.pieces, packing, stacked=stacked)
        if verdict.fits:
            lies = (lies_at(item, laid) for item, laid in zip(_items(one), verdict.layout, strict=True))
            alike.setdefault(tuple(lies), []).append(one)
    return "\n".join(_laid_alike(lies, together) for lies, together in alike.items())


def _laid_alike(lies: tuple[str, ...], together: list[Variant]) -> str:
    rows = [[f"{', '.join(one.code for one in together)}:", ""]]
    for at, words in enumerate(lies):
        codes = dict.fromkeys(_items(one)[at].code for one in together)
        rows.append([f"  {' or '.join(codes)}", words])
    return table(rows, left=2)


def _items(one: Variant) -> list[Item]:
    """Return every single piece's item, in the order of a layout."""
    return [piece.item for piece in one.pieces for _ in range(piece.quantity)]
