"""One set as text, JSON and drawings: the price step by step, what each channel leaves, weights, boxes, contents."""

import datetime
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from textwrap import wrap
from typing import Any, Final

from listkit.compute.box.fit import (
    Laid,
    Verdict,
    grams_of,
    judged_in,
    kinds,
    lies_at,
    smallest_alone,
    tried_in_words,
    verdict_in,
)
from listkit.compute.catalog import Catalog, Piece, SetFacts, Variant
from listkit.compute.ingredients import allergens_by_name, named_allergens, origins_of, shared_allergens
from listkit.compute.reductions import on_channel
from listkit.compute.sales import sale_on
from listkit.compute.stock import published
from listkit.model.gift_set import SMALLEST_EACH
from listkit.model.item import Item
from listkit.model.packaging import GiftBox
from listkit.model.shop import Photo, Shop
from listkit.present.sending import cases_json, cases_text, sending_json, sending_lines, sending_rows, sending_text
from listkit.present.table import DASH, count, percent, plain_number, stock_on, table, weight_text
from listkit.units.money import Money
from listkit.units.shown import Measures
from listkit.write.box_drawing import drawing

# What the pieces of a variant are made with: allergens that all hold, nuts, bees and the like.


def made_with_text(variant: Variant, shop: Shop) -> str:
    """Return a line for what all products with ingredients name, and one for each thing people ask for; "" for none."""
    return _made_with(tuple(piece.item for piece in variant.pieces), shop)


def _made_with(items: tuple[Item, ...], shop: Shop) -> str:
    rows = [[f"made with {of.key}", ", ".join(item.code for item in of.items)] for of in origins_of(items)]
    if shared := shared_allergens(items, allergens_by_name(shop)):
        rows.insert(0, ["all hold", ", ".join(shared)])
    return table(rows) if rows else ""


def made_with_json(variant: Variant, shop: Shop) -> dict[str, Any]:
    """Return the same by item code, and the fragrance allergens that the ingredients of any piece name."""
    items = tuple(piece.item for piece in variant.pieces)
    known = allergens_by_name(shop)
    return {
        "allergens": list(dict.fromkeys(name for item in items for name in named_allergens(item, known))),
        "shared_allergens": list(shared_allergens(items, known)),
        "made_with": {of.key: [item.code for item in of.items] for of in origins_of(items)},
    }


# Every box of the shop, and whether a set's variants go into it: which fit, with what to spare, how full.


@dataclass(frozen=True, slots=True)
class BoxVerdict:
    """One box: the verdict of the tightest variant, the variants that do not go in, and those that may or may not.

    `tried` is what was tried for the latter, of the one for which most was, in words; "" where there are none.
    `too_heavy` are the variants that the box does not carry, whether they go in or not.
    """

    box: GiftBox
    verdict: Verdict
    outside: tuple[str, ...]
    undecided: tuple[str, ...]
    tried: str
    too_heavy: tuple[str, ...]


def boxes_for(facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> tuple[BoxVerdict, ...]:
    """Return every box, the smallest inside first; none for a set without box."""
    if not facts.source.gift_set.boxed:
        return ()
    packing, stacked = catalog.shop.settings.packing, facts.source.gift_set.stacked
    kind_of = kinds(packing, stacked=stacked)
    kind_of_variant = {variant.code: kind_of(variant.pieces) for variant in variants}
    samples: dict[tuple[int, ...], tuple[Piece, ...]] = {}
    for variant in variants:
        samples.setdefault(kind_of_variant[variant.code], variant.pieces)
    verdicts_of_boxes = []
    for box in sorted(catalog.shop.packaging.boxes, key=lambda box: (box.inside.volume, box.code)):
        verdicts = {
            kind: judged_in(box, pieces, packing, catalog.searches, stacked=stacked) for kind, pieces in samples.items()
        }
        unfit = {code: verdicts[kind] for code, kind in kind_of_variant.items() if not verdicts[kind].fits}
        outside = tuple(code for code, verdict in unfit.items() if verdict.proof != "not decided")
        undecided = tuple(code for code, verdict in unfit.items() if verdict.proof == "not decided")
        tried = max((unfit[code] for code in undecided), key=lambda verdict: len(verdict.tried), default=None)
        tightest = min(verdicts, key=lambda kind: (verdicts[kind].fits, -verdicts[kind].fill_share))
        laid = verdict_in(box, samples[tightest], packing, stacked=stacked, searches=catalog.searches)
        words = tried_in_words(tried) if tried is not None else ""
        most = box.most_weight
        heavy = tuple(each.code for each in variants if most is not None and grams_of(each.pieces) > most.grams)
        verdicts_of_boxes.append(BoxVerdict(box, laid, outside, undecided, tried=words, too_heavy=heavy))
    return tuple(verdicts_of_boxes)


def boxes_text(facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> str:
    """Return a row a box; the set's own is marked."""
    measures = catalog.shop.settings.measures
    rows = [["box", "fits", "to spare", "filled", "does not take"]]
    for each in boxes_for(facts, variants, catalog):
        inside = [variant.code for variant in variants if variant.box and variant.box.code == each.box.code]
        which = "this one" if len(inside) == len(variants) else f"of {', '.join(inside)}"
        marked = f" ({which})" if inside else ""
        fits = "yes" if not each.outside else "some" if len(each.outside) < len(variants) else "no"
        named = ", ".join(each.outside) if fits == "some" else ""
        if each.undecided:
            which = f"not all; {', '.join(each.undecided)} " if each.outside else ""
            fits = f"{which}not decided: {each.tried}"
        spare = measures.sides(each.verdict.spare) if fits == "yes" else DASH
        if each.too_heavy and fits != "no":
            all_heavy = len(each.too_heavy) == len(variants)
            named = "; ".join(filter(None, (named, f"too heavy: {'all' if all_heavy else ', '.join(each.too_heavy)}")))
        rows.append([each.box.code + marked, fits, spare, percent(each.verdict.fill_share), named])
    return table(rows, left=2) if len(rows) > 1 else ""


def boxes_json(facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> list[dict[str, Any]]:
    """Return the same for scripts: millimetres, shares from 0 to 1."""
    return [
        {
            "code": each.box.code,
            "fits": not each.outside and not each.undecided,
            "proof": each.verdict.proof,
            "spare": [plain_number(side) for side in each.verdict.spare],
            "fill_share": plain_number(each.verdict.fill_share),
            "does_not_take": list(each.outside),
            "too_heavy": list(each.too_heavy),
        }
        for each in boxes_for(facts, variants, catalog)
    ]


def larger_text(facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> str:
    """Return which variants alone ask for a larger box than the others; "" when one box is the smallest for all."""
    if not facts.source.gift_set.boxed or facts.source.gift_set.box == SMALLEST_EACH:
        return ""
    shop, stacked = catalog.shop, facts.source.gift_set.stacked
    stock, packing = shop.packaging.boxes, shop.settings.packing
    pieces = (variant.pieces for variant in variants)
    smallest = smallest_alone(pieces, stock, packing, stacked=stacked, searches=catalog.searches)
    needs: dict[str, list[str]] = {}
    for variant, box in zip(variants, smallest, strict=True):
        needs.setdefault(box.code if box else "", []).append(variant.code)
    if len(needs) < 2:
        return ""
    boxes = filter(None, smallest)
    largest = "" if "" in needs else max(boxes, key=lambda box: (box.inside.volume, box.code)).code
    alone = needs.pop(largest)
    needed = f"box {largest}" if largest else "a larger box than there is"
    return f"{', '.join(alone)} alone {'needs' if len(alone) == 1 else 'need'} {needed}; {_others(needs)}."


def _others(needs: dict[str, list[str]]) -> str:
    """Return "the others fit in S" or, where they differ, each box with its variants."""
    if len(needs) == 1:
        return f"the others fit in {next(iter(needs))}"
    return "; ".join(f"{', '.join(codes)} fit in {box}" for box, codes in needs.items())


def layout_text(facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> str:
    """Return where each piece lies in its box, in words; variants that lie alike are told once."""
    alike: dict[tuple[str, ...], list[Variant]] = {}
    for one in variants:
        verdict = _verdict(one, facts, catalog)
        if verdict and verdict.fits:
            laid_items = zip(_items(one), verdict.layout, strict=True)
            lies = (lies_at(item, laid, catalog.shop.settings.measures) for item, laid in laid_items)
            alike.setdefault(tuple(lies), []).append(one)
    return "\n".join(_laid_alike(lies, together) for lies, together in alike.items())


def _laid_alike(lies: tuple[str, ...], together: list[Variant]) -> str:
    rows = [[f"{', '.join(one.code for one in together)}:", ""]]
    for at, words in enumerate(lies):
        codes = dict.fromkeys(_items(one)[at].code for one in together)
        rows.append([f"  {' or '.join(codes)}", words])
    return table(rows, left=2)


def _items(variant: Variant) -> list[Item]:
    """Return every single piece's item, in the order of a layout."""
    return [piece.item for piece in variant.pieces for _ in range(piece.quantity)]


def set_text(
    facts: SetFacts,
    variants: tuple[Variant, ...],
    catalog: Catalog,
    *,
    today: datetime.date | None = None,
    width: int = 100,
) -> str:
    """Return the set with these of its variants as lines: one alone step by step, several side by side.

    Prices are those in force on `today`, the usual ones with None; tables go on `width` columns.
    """
    codes = [box.code for box in facts.boxes]
    box = f"{'box' if len(codes) == 1 else 'boxes'} {', '.join(codes)}" if codes else "no box"
    currency = catalog.shop.settings.currency
    lines = [f"{facts.code} {facts.name} · {box} · {count(facts.can_make)} can be made · amounts in {currency}"]
    if len(variants) == 1:
        lines += _one_text(facts, variants[0], catalog, today)
    else:
        side_by_side = variants_text(facts, variants, catalog, today=today, width=width - 2)
        lines += ["", _indented(side_by_side)]
        more = sending_lines(facts, variants, catalog)
        lines += ["", *(f"  {line}" for line in more)] if more else []
        pieces = {piece.item.code: piece.item for variant in variants for piece in variant.pieces}
        if made := _made_with(tuple(pieces.values()), catalog.shop):
            lines += ["", _indented(made)]
        lines += ["", f"  Step by step: listkit show {facts.code} --variant {variants[0].code}"]
    for told in (boxes_text, larger_text, layout_text, cases_text):
        if text := told(facts, variants, catalog):
            lines += ["", _indented(text)]
    return "\n".join(lines)


def _one_text(facts: SetFacts, variant: Variant, catalog: Catalog, today: datetime.date | None) -> list[str]:
    """Return one variant step by step, as lines."""
    chosen = ", ".join(f"{choice.slot}: {choice.says}" for choice in variant.choices)
    lines = ["", f"{variant.code}  {chosen}".rstrip(), _indented(_price_table(variant, facts, catalog, today)), ""]
    lines += [_indented(_weight_table(variant, catalog.shop.settings.measures))]
    more = (sending_text(facts, variant, catalog), made_with_text(variant, catalog.shop))
    return lines + [_indented(text) for text in more if text]


def _price_table(variant: Variant, facts: SetFacts, catalog: Catalog, today: datetime.date | None) -> str:
    """Return the steps to the price in force, and what each channel leaves of it.

    Where channels differ, the steps are those of the usual price, and what a reduction takes off is in its channels.
    """
    channels = catalog.shop.channels
    by_channel = in_force(facts, (variant,), catalog.shop, today)
    there = [by_channel[channel.key][0] for channel in channels]
    alike = bool(there) and all(each.prices == there[0].prices for each in there)
    variant = there[0] if alike else variant
    sales = [sale_on(channel, each, facts, catalog.shop) for channel, each in zip(channels, there, strict=True)]
    rows = [["", "", "price", *(channel.name for channel in channels)]]
    blank = [""] * len(channels)
    rows += [[step.label, str(step.amount), str(step.running), *blank] for step in variant.prices.steps]
    if not alike and any(each.usual for each in there):
        rows.append(["reduction", "", "", *(str(each.prices.steps[-1].amount) if each.usual else "" for each in there)])
    whole = [str(each.price) for each in there]
    rows += [
        ["sold at", "", str(variant.prices.price), *whole],
        ["included tax", "", _less(variant.prices.tax), *(_less(sale.tax) for sale in sales)],
        ["fee", "", "", *(_less(sale.fee) for sale in sales)],
        *(
            [["free postage", "", "", *(_less(sale.postage) for sale in sales)]]
            if any(s.postage.amount for s in sales)
            else []
        ),
        ["full cost", "", *([_less(variant.full_cost)] * (1 + len(channels)))],
    ]
    rows += [
        ["kept", "", "", *(str(sale.kept) for sale in sales)],
        ["margin", "", "", *(percent(sale.margin) for sale in sales)],
        ["stock", "", "", *(count(stock_on(channel, variant, catalog)) for channel in channels)],
    ]
    return table(rows)


def _less(money: Money) -> str:
    """Return what goes off; nothing at all without a sign."""
    return f"-{money}" if money.amount else str(money)


def _weight_table(variant: Variant, measures: Measures) -> str:
    weights = variant.weights
    return table(
        [
            ["wholesale, before tax", str(variant.wholesale)],
            ["gift weight", weight_text(weights.gift, measures)],
            ["parcel weight", weight_text(weights.parcel, measures)],
            ["weight by volume", weight_text(weights.volumetric, measures)],
            ["chargeable weight", weight_text(weights.chargeable, measures)],
            ["box filled", percent(variant.fill_share)],
            ["GTIN", variant.gtin or DASH],
            ["can be made", count(variant.can_make)],
        ]
    )


def _indented(text: str) -> str:
    return "\n".join(f"  {line}".rstrip() for line in text.splitlines())


# One set as JSON: money as text, grams and millimetres as numbers, shares from 0 to 1.


def set_json(facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> dict[str, Any]:
    """Return the set with these of its variants."""
    return {
        "code": facts.code,
        "name": facts.name,
        "box": facts.box.code if facts.box else None,
        "can_make": facts.can_make,
        "boxes": boxes_json(facts, variants, catalog),
        "cases": cases_json(facts, variants, catalog),
        "photos": [_photo_json(one) for one in facts.source.photos],
        "variants": [_variant_json(one, facts, catalog) for one in variants],
    }


def _variant_json(variant: Variant, facts: SetFacts, catalog: Catalog) -> dict[str, Any]:
    weights, verdict = variant.weights, _verdict(variant, facts, catalog)
    sales = {channel.key: sale_on(channel, variant, facts, catalog.shop) for channel in catalog.shop.channels}
    grams = {
        "gift_weight": weights.gift,
        "parcel_weight": weights.parcel,
        "volumetric_weight": weights.volumetric,
        "chargeable_weight": weights.chargeable,
    }
    return {
        "code": variant.code,
        "options": {choice.slot: choice.item.code for choice in variant.choices},
        "status": variant.status.value,
        "gtin": variant.gtin,
        "price": str(variant.prices.price),
        "box": variant.box.code if variant.box else None,
        "steps": [{"label": s.label, "amount": str(s.amount), "running": str(s.running)} for s in variant.prices.steps],
        "full_cost": str(variant.full_cost),
        "wholesale": str(variant.wholesale),
        "taken": {
            key: {"tax": str(sale.tax), "fee": str(sale.fee), "postage": str(sale.postage)}
            for key, sale in sales.items()
        },
        "kept": {key: str(sale.kept) for key, sale in sales.items()},
        **{name: plain_number(weight.grams if weight else None) for name, weight in grams.items()},
        "fill_share": plain_number(variant.fill_share),
        "fits": verdict.fits if verdict else None,
        "proof": verdict.proof if verdict else None,
        **sending_json(facts, variant, catalog),
        **made_with_json(variant, catalog.shop),
        "layout": [_laid_json(laid) for laid in verdict.layout] if verdict else [],
        "can_make": variant.can_make,
        "stock": published(variant.can_make, catalog.shop.settings.stock.hold_back),
    }


def _photo_json(photo: Photo) -> dict[str, Any]:
    """What is known of a photo, and why it is cut where it is."""
    facts, focus = photo.facts, photo.focus or photo.facts.found
    return {
        "file": photo.file,
        "shot": photo.shot,
        "width": facts.width,
        "height": facts.height,
        "focus": [float(side) for side in (focus.left, focus.top, focus.right, focus.bottom)],
        "how": "stated" if photo.focus else facts.how_found,
        "sharpness": float(facts.sharpness),
        "brightness": float(facts.brightness),
        "profile": facts.profile,
        "shows": list(photo.shows),
    }


def _verdict(variant: Variant, facts: SetFacts, catalog: Catalog) -> Verdict | None:
    if variant.box is None:
        return None
    stacked = facts.source.gift_set.stacked
    packing = catalog.shop.settings.packing
    return verdict_in(variant.box, variant.pieces, packing, stacked=stacked, searches=catalog.searches)


def _laid_json(laid: Laid) -> dict[str, Any]:
    sides = {"x": laid.x, "y": laid.y, "z": laid.z, "length": laid.length, "width": laid.width, "height": laid.height}
    return {"item": laid.code, **{side: plain_number(mm) for side, mm in sides.items()}}


# Drawings


def set_drawings(
    facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog
) -> tuple[tuple[tuple[str, str], ...], tuple[str, ...]]:
    """Return a file name and an SVG for each variant that lies in its box, and why the others do not."""
    drawings, refusals = [], []
    for variant in variants:
        verdict = _verdict(variant, facts, catalog)
        if verdict is not None and verdict.fits:
            parts = "".join(f"-{choice.part}" for choice in variant.choices)
            svg = drawing(facts, variant, verdict, catalog.shop)
            drawings.append((f"{facts.source.folder}{parts}.svg", svg))
        else:
            why = "has no box" if variant.box is None else f"does not fit in box {variant.box.code}"
            if variant.box is not None and verdict is not None and verdict.proof == "not decided":
                why = f"may or may not fit in box {variant.box.code}: {tried_in_words(verdict)}"
            refusals.append(f"{variant.code} {why}.")
    return tuple(drawings), tuple(refusals)


# Its variants side by side, a column each: what is in force first, then how it comes about, and weights. Pure text; the
# width is an argument.


Rows = list[list[str]]
_CHOICE: Final = 18  # letters of what is chosen, on one line


def in_force(
    facts: SetFacts, variants: tuple[Variant, ...], shop: Shop, today: datetime.date | None
) -> dict[str, tuple[Variant, ...]]:
    """Return by channel the variants as they cost there on a day; with None as usual."""
    wanted = {variant.code for variant in variants}
    on_day = {channel.key: on_channel(facts, shop.settings, channel.key, today)[1] for channel in shop.channels}
    return {key: tuple(variant for variant in there if variant.code in wanted) for key, there in on_day.items()}


def variants_text(
    facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog, *, today: datetime.date | None, width: int
) -> str:
    """Return the variants as one table, in parts below each other where they do not go on `width` columns."""
    rows = _rows(facts, variants, catalog, today)
    label = max(len(row[0]) for row in rows)
    parts: list[list[int]] = [[]]
    room = width - label
    for at in range(1, len(rows[0])):
        needs = 2 + max(len(row[at]) for row in rows)
        if needs > room and parts[-1]:
            parts.append([])
            room = width - label
        parts[-1].append(at)
        room -= needs
    return "\n\n".join(table([[row[0], *(row[at] for at in part)] for row in rows]) for part in parts)


def _rows(facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog, today: datetime.date | None) -> Rows:
    measures, channels = catalog.shop.settings.measures, catalog.shop.channels

    def of_each(label: str, cell: Callable[[Variant], str]) -> list[str]:
        return [label, *map(cell, variants)]

    stock = [(channel.name, [count(stock_on(channel, each, catalog)) for each in variants]) for channel in channels]
    return [
        of_each("", lambda variant: variant.code),
        *_choices(variants),
        *_prices(facts, variants, catalog, today),
        of_each("gift weight", lambda variant: weight_text(variant.weights.gift, measures)),
        of_each("parcel weight", lambda variant: weight_text(variant.weights.parcel, measures)),
        of_each("weight by volume", lambda variant: weight_text(variant.weights.volumetric, measures)),
        of_each("chargeable weight", lambda variant: weight_text(variant.weights.chargeable, measures)),
        *sending_rows(variants, catalog),
        *([of_each("box", lambda variant: variant.box.code if variant.box else DASH)] if len(facts.boxes) > 1 else []),
        of_each("box filled", lambda variant: percent(variant.fill_share)),
        of_each("GTIN", lambda variant: variant.gtin or DASH),
        of_each("can be made", lambda variant: count(variant.can_make)),
        *_alike("stock", stock),
    ]


def _choices(variants: tuple[Variant, ...]) -> Iterator[list[str]]:
    """Yield what is chosen of each slot, in as many lines as the longest takes."""
    for choices in zip(*(variant.choices for variant in variants), strict=True):
        lines = [wrap(choice.says, _CHOICE) for choice in choices]
        for at in range(max(map(len, lines))):
            yield ["" if at else choices[0].slot, *(said[at] if at < len(said) else "" for said in lines)]


def _prices(facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog, today: datetime.date | None) -> Rows:
    """Return the prices in force, how the usual ones come about, and what each channel leaves."""
    shop = catalog.shop
    there = in_force(facts, variants, shop, today)
    sold = [(channel.name, [str(each.price) for each in there[channel.key]]) for channel in shop.channels]
    usual = [str(each.price) for each in variants]
    rows = list(_alike("sold at", sold)) or [["sold at", *usual]]
    if any(prices != usual for _, prices in sold):
        rows.append(["usual price", *usual])
    steps = [{step.label: str(step.amount) for step in variant.prices.steps} for variant in variants]
    labels = dict.fromkeys(label for amounts in steps for label in amounts)
    rows += [[f"  {label}", *(amounts.get(label, "") for amounts in steps)] for label in labels]
    rows.append(["full cost", *(str(variant.full_cost) for variant in variants)])
    for channel in shop.channels:
        sales = [sale_on(channel, variant, facts, shop) for variant in there[channel.key]]
        rows.append([f"kept, {channel.name}", *(f"{sale.kept}  {percent(sale.margin):>4}" for sale in sales)])
    rows.append(["wholesale, before tax", *(str(variant.wholesale) for variant in variants)])
    return rows


def _alike(label: str, by_name: Sequence[tuple[str, list[str]]]) -> Iterator[list[str]]:
    """Yield one row where all channels say the same, else a row a channel."""
    cells = [row for _, row in by_name]
    if cells and all(row == cells[0] for row in cells):
        yield [label, *cells[0]]
    else:
        yield from ([f"{label}, {name}", *row] for name, row in by_name)
