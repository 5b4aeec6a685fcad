"""listkit's answers about a folder held against the second implementation's, figure by figure."""

import contextlib
import csv
import io
import json
import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

import openpyxl

from listkit.cli import main
from tests.oracle.prices import full_cost, price_of, priced, sale, wholesale
from tests.oracle.reading import GRAMS, MILLIMETRES, TODAY, Shop, Table, half_up, read_shop, sides
from tests.oracle.rows import Figures, channel_rows, ordered, shown_price, wholesale_lines
from tests.oracle.sending import fill_share, fits, is_packet, length_and_girth, packed_in, postages, weights
from tests.oracle.stock import can_make, most_of_set, stock
from tests.oracle.variants import Variant, variants_of

_NEAR = Fraction(1, 10**12)
"""A number in JSON is the nearest binary one; beyond twelve digits it says nothing."""


@dataclass
class Comparison:
    """How many figures of each kind were compared, and those that differ."""

    counted: Counter[str] = field(default_factory=Counter)
    differ: list[str] = field(default_factory=list)

    def hold(self, kind: str, where: str, theirs: object, ours: object) -> None:
        """Compare one figure: `theirs` is listkit's, `ours` the second implementation's."""
        self.counted[kind] += 1
        if not _same(theirs, ours):
            self.differ.append(f"{kind}: {where} is {theirs!r}, by the second implementation {_said(ours)}")

    @property
    def total(self) -> int:
        """All figures compared."""
        return sum(self.counted.values())


def _same(theirs: object, ours: object) -> bool:
    if isinstance(ours, Fraction) and isinstance(theirs, (Fraction, int)) and not isinstance(theirs, bool):
        return abs(ours - theirs) <= abs(ours) * _NEAR
    return type(theirs) is type(ours) and theirs == ours


def _said(ours: object) -> str:
    return f"{float(ours)} ({ours})" if isinstance(ours, Fraction) else repr(ours)


def run(*arguments: str) -> str:
    """Run one command in this process; return what it prints.

    Raises:
        AssertionError: its exit status is not 0.
    """
    printed, said = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(said):
        status = main(arguments)
    assert status == 0, f"{' '.join(arguments)}: {status}\n{said.getvalue()}{printed.getvalue()}"
    return printed.getvalue()


def read_json(text: str) -> Any:
    """Read JSON with numbers as fractions, whole ones as int."""
    return json.loads(text, parse_float=Fraction)


def compare_shop(folder: Path) -> Comparison:
    """Compare every figure of a folder, which is built into out/."""
    comparison, shop = Comparison(), read_shop(folder)
    day = ("--today", TODAY.isoformat())
    for table in read_json(run("show", "--all", "--json", "--shop", str(folder), *day)):
        _hold_set(comparison, table, shop)
    _hold_overview(comparison, run("show", "--all", "--csv", "--shop", str(folder), *day), shop)
    built = read_json(run("build", "--json", "--shop", str(folder), *day))
    for told in built["channels"]:
        _hold_sums(comparison, told, shop)
    for key, channel in shop.channels.items():
        _hold_channel(comparison, folder / "out" / key, channel, shop)
        _hold_sent(comparison, folder, key, channel)
    if shop.wholesale is not None:
        _hold_wholesale(comparison, folder / "out" / "wholesale", shop)
        _hold_order(comparison, folder, shop)
    return comparison


# show --all --json


def _hold_set(comparison: Comparison, table: Table, shop: Shop) -> None:
    mine = shop.sets[table["code"]]
    box = packed_in(mine, shop)
    comparison.hold("box", table["code"], table["box"], box["code"] if box else None)
    every = variants_of(mine, shop)
    comparison.hold("can make", table["code"], table["can_make"], most_of_set(mine, shop))
    comparison.hold("codes", table["code"], [each["code"] for each in table["variants"]], [each.code for each in every])
    for each in table["boxes"]:
        _hold_box(comparison, each, every, shop)
    for told, variant in zip(table["variants"], every, strict=True):
        _hold_variant(comparison, told, variant, shop)


def _hold_box(comparison: Comparison, told: Table, every: tuple[Variant, ...], shop: Shop) -> None:
    """Round pieces may go in by their true shape where their boxes do not."""
    box = next(box for box in shop.packaging["box"] if box["code"] == told["code"])
    code = every[0].table["code"]
    taken = {variant.code: fits(variant.pieces, box, shop) for variant in every}
    round_ones = {variant.code for variant in every if any(item.shape != "box" for item, _ in variant.pieces)}
    refused = [code for code, fit in taken.items() if not fit]
    theirs = [code for code in told["does_not_take"] if code not in round_ones]
    comparison.hold("fits", f"{code} in {box['code']}", theirs, [code for code in refused if code not in round_ones])
    comparison.hold("fits", f"{code} in {box['code']}, round", set(told["does_not_take"]) <= set(refused), True)


def _hold_variant(comparison: Comparison, told: Table, variant: Variant, shop: Shop) -> None:
    def hold(kind: str, name: str, ours: object) -> None:
        comparison.hold(kind, f"{variant.code} {name}", told[name], ours)

    price, of = priced(variant, shop), weights(variant, shop)
    steps = [
        {"label": label, "amount": shop.money(amount), "running": shop.money(running)}
        for label, amount, running in price.steps
    ]
    hold("options", "options", variant.options)
    for theirs, step in zip(told["steps"], steps, strict=True):
        for name, value in step.items():
            comparison.hold("price steps", f"{variant.code} {step['label']} {name}", theirs[name], value)
    hold("price", "price", shop.money(price.steps[-1][2]))
    hold("cost", "full_cost", shop.money(shop.rounded(full_cost(variant, shop))))
    hold("wholesale", "wholesale", shop.money(wholesale(variant, shop)))
    kept = {key: shop.money(sale(variant, channel, shop).kept) for key, channel in shop.channels.items()}
    for key, ours in kept.items():
        comparison.hold("kept", f"{variant.code} on {key}", told["kept"][key], ours)
        sold = sale(variant, shop.channels[key], shop)
        for name, amount in {"tax": sold.tax, "fee": sold.fee, "postage": sold.postage}.items():
            comparison.hold("taken", f"{variant.code} {name} on {key}", told["taken"][key][name], shop.money(amount))
    hold("status", "status", "closed" if variant.closed else "on sale")
    hold("weights", "gift_weight", of.gift)
    hold("weights", "parcel_weight", of.parcel)
    hold("weights", "volumetric_weight", of.volumetric)
    hold("weights", "chargeable_weight", of.chargeable)
    hold("fill", "fill_share", fill_share(variant, shop))
    hold("sending", "small_packet", is_packet(variant, shop))
    hold("sending", "length_and_girth", length_and_girth(variant, shop))
    _hold_postage(comparison, told, variant, shop)
    hold("stock", "can_make", can_make(variant, shop))
    back = int(shop.settings.get("stock", {}).get("hold_back", 0))
    hold("stock", "stock", stock(can_make(variant, shop), back))
    _hold_layout(comparison, told, variant, shop)


def _hold_postage(comparison: Comparison, told: Table, variant: Variant, shop: Shop) -> None:
    asked = postages(variant, shop)
    comparison.hold("postage", f"{variant.code} services", len(told["postage"]), len(asked))
    for theirs, ours in zip(told["postage"], asked, strict=False):
        where = f"{variant.code} {ours.service}"
        figures = {
            "service": ours.service,
            "zone": ours.zone,
            "counted": ours.counted,
            "up_to": ours.up_to,
            "price": shop.money(ours.price),
            "lighter": ours.lighter,
            "saves": None if ours.saves is None else shop.money(ours.saves),
        }
        for name, value in figures.items():
            comparison.hold("postage", f"{where} {name}", theirs[name], value)


def _hold_layout(comparison: Comparison, told: Table, variant: Variant, shop: Shop) -> None:
    """Every piece is there, turned as it may be, within the box, and apart from every other by its true shape."""
    box = packed_in(variant.table, shop)
    if box is None:
        comparison.hold("layout", variant.code, told["layout"], [])
        return
    pieces = sorted(code for code, quantity in variant.needs.items() for _ in range(quantity))
    comparison.hold("layout", f"{variant.code} pieces", sorted(each["item"] for each in told["layout"]), pieces)
    inside = sides(box["inside"])
    for each in told["layout"]:
        item = shop.items[each["item"]]
        size = tuple(Fraction(each[side]) for side in ("length", "width", "height"))
        upright = not item.upright or size[2] == item.size[2]
        lies = [Fraction(each[axis]) + side <= most for axis, side, most in zip("xyz", size, inside, strict=True)]
        sound = sorted(size) == sorted(item.size) and upright and all(lies)
        comparison.hold("layout", f"{variant.code} {item.code}", sound, True)
    for at, first in enumerate(told["layout"]):
        for second in told["layout"][at + 1 :]:
            apart = _apart(first, second, shop)
            comparison.hold("layout", f"{variant.code} {first['item']} {second['item']}", apart, True)


def _apart(first: Table, second: Table, shop: Shop) -> bool:
    """Whether two pieces lie apart seen from above: boxes along one axis, standing round ones by what lies between.

    Places are given to a tenth of a millimetre, so two that touch may seem to overlap by as much.
    """
    gaps, reach = [], Fraction(0)
    for axis, side in (("x", "length"), ("y", "width")):
        spans = []
        for each in (first, second):
            low, size = Fraction(each[axis]), Fraction(each[side])
            spans.append((low + size / 2, low + size / 2) if _round(each, shop) else (low, low + size))
        gaps.append(max(spans[0][0] - spans[1][1], spans[1][0] - spans[0][1], Fraction(0)))
    reach = sum((Fraction(each["length"]) / 2 for each in (first, second) if _round(each, shop)), Fraction(0))
    if not reach:
        return any(gap >= 0 for gap in _signed_gaps(first, second))
    return gaps[0] ** 2 + gaps[1] ** 2 >= max(reach - Fraction(1, 5), Fraction(0)) ** 2


def _round(each: Table, shop: Shop) -> bool:
    return shop.items[each["item"]].shape == "cylinder" and each["height"] == shop.items[each["item"]].size[2]


def _signed_gaps(first: Table, second: Table) -> list[Fraction]:
    axes = (("x", "length"), ("y", "width"))
    pairs = ((first, second), (second, first))
    return [Fraction(b[axis]) - Fraction(a[axis]) - Fraction(a[side]) for axis, side in axes for a, b in pairs]


# show --all --csv


def _hold_overview(comparison: Comparison, text: str, shop: Shop) -> None:
    """Of a set's thinnest variant, by what shops pay against its cost, it says what channels leave."""
    head, *rows = list(csv.reader(io.StringIO(text)))
    for row in rows:
        every = variants_of(shop.sets[row[0]], shop)
        cover = {each.code: Fraction(wholesale(each, shop)) / full_cost(each, shop) for each in every}
        thin = min(every, key=lambda each: (cover[each.code], each.code))
        figures = [
            _from_to(_in_force(every, shop), shop),
            _from_to([shop.rounded(full_cost(each, shop)) for each in every], shop),
            _from_to([wholesale(each, shop) for each in every], shop),
        ]
        for channel in shop.channels.values():
            sold = sale(thin, channel, shop, shown_price(thin, channel, shop))
            figures += [shop.money(sold.kept), f"{half_up(sold.margin * 100, 0)} %"]
        for name, theirs, ours in zip(head[2:], [*row[2:5], *row[6:]], figures, strict=False):
            comparison.hold("overview", f"{row[0]} {name}", theirs, ours)
        times = abs(Fraction(row[5]) - cover[thin.code]) <= Fraction(1, 200)
        comparison.hold("overview", f"{row[0]} times cost {row[5]}", times, True)


def _in_force(every: Iterable[Variant], shop: Shop) -> list[Fraction]:
    """Return what any channel asks today for any variant, the usual prices where there is no channel."""
    there = [shown_price(each, channel, shop) for channel in shop.channels.values() for each in every]
    return there or [price_of(each, shop) for each in every]


def _from_to(amounts: list[Fraction], shop: Shop) -> str:
    low, high = shop.money(min(amounts)), shop.money(max(amounts))
    return low if low == high else f"{low}–{high}"


# build: sums, records, feeds


def _hold_sums(comparison: Comparison, told: Table, shop: Shop) -> None:
    if told["key"] == "wholesale":
        prices = [Fraction(str(line["wholesalePrice"])) for line in wholesale_lines(shop)]
    elif told["key"] in shop.channels:
        prices = [Fraction(str(row["price"])) for row in channel_rows(shop.channels[told["key"]], shop)]
    else:
        return
    comparison.hold("sums", f"{told['key']} rows", told["rows"], len(prices))
    sums = (min(prices), max(prices), sum(prices, Fraction(0))) if prices else (None, None, None)
    figures = dict(zip(("lowest_price", "highest_price", "sum_of_prices"), sums, strict=True))
    for name, ours in figures.items():
        value = None if ours is None else shop.money(ours)
        comparison.hold("sums", f"{told['key']} {name}", told[name], value)


_RECORDED = {"weight", "parcelWeight", "volumetricWeight", "chargeableWeight", "width", "depth", "height"}
_RECORDED |= {"parcelLength", "parcelWidth", "parcelHeight"}


def _hold_channel(comparison: Comparison, place: Path, channel: Table, shop: Shop) -> None:
    rows = {str(row["sku"]): row for row in channel_rows(channel, shop)}
    record = [read_json(line) for line in (place / "record.jsonl").read_text(encoding="utf-8").splitlines()]
    comparison.hold("record", f"{place.name} codes", sorted(each["sku"] for each in record), sorted(rows))
    for each in record:
        comparison.hold("record", f"{place.name} {each['sku']}", each["sku"] in rows, True)
        for name, ours in rows.get(each["sku"], {}).items():
            value = ours
            if name == "pricePerMeasure":
                if name in each or ours is not None:
                    amount = re.search(r"[\d.,]+", each.get(name, ""))
                    theirs = Fraction(amount[0].replace(",", "")) if amount else None
                    comparison.hold(f"record {name}", f"{place.name} {each['sku']}", theirs, ours)
                continue
            if name in _RECORDED and isinstance(ours, Fraction):
                value = half_up(ours, 1)
            elif isinstance(ours, Fraction):
                value = half_up(ours, 4)
            theirs = each.get(name, [] if isinstance(ours, list) else None)
            if name == "highestPrice" and theirs is None:
                theirs = each["lowestPrice"]
            comparison.hold(f"record {name}", f"{place.name} {each['sku']}", theirs, value)
    kind = channel["feed"]
    if kind == "json":
        _hold_json(comparison, place, rows)
    else:
        _hold_table(comparison, place, channel, rows)


_IN_TABLE = ("sku", "inProductGroupWithID", "price", "priceCurrency", "availability", "inventoryLevel")
_MEASURED = {"weight": GRAMS, "parcelWeight": GRAMS, "width": MILLIMETRES, "height": MILLIMETRES, "depth": MILLIMETRES}
_PLACES = {"g": 1, "kg": 3, "oz": 2, "lb": 3, "mm": 1, "cm": 2, "in": 2}


def _cells(place: Path, channel: Table) -> Iterable[dict[str, Any]]:
    kind = channel["feed"]
    if kind == "csv":
        with (place / "feed.csv").open(encoding="utf-8", newline="") as file:
            yield from csv.DictReader(file, delimiter=channel["dialect"]["separator"])
    elif kind == "jsonl":
        for line in (place / "feed.jsonl").read_text(encoding="utf-8").splitlines():
            yield read_json(line)
    else:
        sheet = openpyxl.load_workbook(place / "feed.xlsx", read_only=True).worksheets[0]
        head, *lines = list(sheet.iter_rows(values_only=True))
        for cells in lines:
            yield {str(name): cell for name, cell in zip(head, cells, strict=True)}


def _number(cell: object, channel: Table) -> Fraction | None:
    """Read a number from a cell, a text with the channel's decimal sign."""
    if cell in (None, ""):
        return None
    text = str(cell)
    return Fraction(text.replace(",", ".") if channel["dialect"]["decimal"] == "," else text)


def _hold_sent(comparison: Comparison, folder: Path, key: str, channel: Table) -> None:
    """A channel that shows its feed as it was built differs in nothing."""
    shop = ("--shop", str(folder), "--today", TODAY.isoformat())
    feed = folder / "out" / key / f"feed.{channel['feed']}"
    if '"sku"' not in (folder / "out" / key / "record.jsonl").read_text(encoding="utf-8"):
        return
    told = read_json(run("compare", key, str(feed), "--json", *shop))
    for name in ("differences", "missing_there", "unknown_there", "twins"):
        comparison.hold("compare", f"{key} {name}", told[name], [])


def _hold_table(comparison: Comparison, place: Path, channel: Table, rows: dict[str, Figures]) -> None:
    kind = f"feed.{channel['feed']}"
    cells = list(_cells(place, channel))
    comparison.hold(kind, f"{place.name} codes", sorted(str(each["sku"]) for each in cells), sorted(rows))
    for each in cells:
        row = rows.get(str(each["sku"]), {})
        where = f"{place.name} {each['sku']}"
        for name in ("inProductGroupWithID", "priceCurrency", "availability"):
            comparison.hold(kind, f"{where} {name}", each.get(name), row[name])
        for name in ("price", "inventoryLevel"):
            ours = row[name]
            value = None if ours is None else Fraction(str(ours))
            comparison.hold(kind, f"{where} {name}", _number(each.get(name), channel), value)
        for name, units in _MEASURED.items():
            heading = next((head for head in each if head.startswith(f"{name} (")), None)
            ours = row[name]
            if heading is None or not isinstance(ours, Fraction):
                comparison.hold(kind, f"{where} {name}", each.get(heading or name) or None, None)
                continue
            unit = heading.partition("(")[2].rstrip(")")
            value = half_up(ours / units[unit], _PLACES[unit])
            comparison.hold(kind, f"{where} {heading}", _number(each.get(heading), channel), value)


def _hold_json(comparison: Comparison, place: Path, rows: dict[str, Figures]) -> None:
    feed = read_json((place / "feed.json").read_text(encoding="utf-8"))
    variants = [each for group in feed["itemListElement"] for each in group.get("hasVariant", [])]
    for each in variants:
        row = rows.get(each["sku"])
        if row is None:
            continue
        where, offer = f"{place.name} {each['sku']}", each["offers"]
        comparison.hold("feed.json", f"{where} price", offer["price"], row["price"])
        comparison.hold("feed.json", f"{where} currency", offer["priceCurrency"], row["priceCurrency"])
        available = f"https://schema.org/{row['availability']}"
        comparison.hold("feed.json", f"{where} availability", offer["availability"], available)
        level = offer.get("inventoryLevel", {}).get("value")
        comparison.hold("feed.json", f"{where} stock", level, row["inventoryLevel"])
        for name in ("weight", "width", "height", "depth"):
            ours = row[name]
            value = half_up(ours, 1) if isinstance(ours, Fraction) else None
            comparison.hold("feed.json", f"{where} {name}", each.get(name, {}).get("value"), value)


# wholesale/


def _hold_wholesale(comparison: Comparison, place: Path, shop: Shop) -> None:
    lines = {str(line["sku"]): line for line in wholesale_lines(shop)}
    currency = shop.settings["currency"]
    with (place / "price-list.csv").open(encoding="utf-8-sig", newline="") as file:
        listed = list(csv.DictReader(file))
    sold = [each for each in listed if not each["Code"].endswith(" display")]
    comparison.hold("price list", "codes", [each["Code"] for each in sold], list(lines))
    for each in listed:
        if each not in sold:
            price = next(line["displayPrice"] for line in lines.values() if f"{line['line']} display" == each["Code"])
            comparison.hold("display", each["Code"], each[f"Wholesale before tax ({currency})"], price)
    for each in sold:
        line = lines[each["Code"]]
        figures = {
            f"Wholesale before tax ({currency})": line["wholesalePrice"],
            f"Suggested retail ({currency})": line["suggestedRetail"],
            "Case": "" if line["case"] is None else str(line["case"]),
        }
        tiers = line["tiers"]
        assert isinstance(tiers, list)
        figures |= {f"From {start} ({currency})": price for start, price in tiers}
        for name, ours in figures.items():
            comparison.hold("price list", f"{each['Code']} {name}", each[name], ours)
        comparison.hold("price list", f"{each['Code']} weight", Fraction(each["Weight (g)"]), line["weight"])
    for text in (place / "record.jsonl").read_text(encoding="utf-8").splitlines():
        told = read_json(text)
        line = lines[told["sku"]]
        for name in ("wholesalePrice", "suggestedRetail", "fullCost", "weight", "displayPrice"):
            comparison.hold("wholesale record", f"{told['sku']} {name}", told.get(name), line.get(name))
    _hold_form(comparison, place, lines)


def _hold_form(comparison: Comparison, place: Path, lines: dict[str, Figures]) -> None:
    sheet = openpyxl.load_workbook(place / "order-form.xlsx").worksheets[0]
    table = [[cell.value for cell in cells] for cells in sheet.iter_rows()]
    head = next(row for row in table if row[0] == "Code")
    seen = []
    for row in table:
        told = dict(zip(map(str, head), row, strict=True))
        if told["Code"] not in lines:
            continue
        line = lines[told["Code"]]
        seen.append(told["Code"])
        tiers = line["tiers"]
        assert isinstance(tiers, list)
        figures = {"Wholesale": line["wholesalePrice"], "Suggested retail": line["suggestedRetail"]}
        figures |= {f"From {start}": price for start, price in tiers}
        for name, ours in figures.items():
            comparison.hold("order form", f"{told['Code']} {name}", Fraction(str(told[name])), Fraction(str(ours)))
        comparison.hold("order form", f"{told['Code']} case", told["Case"], line["case"])
    comparison.hold("order form", "codes", seen, list(lines))


def _hold_order(comparison: Comparison, folder: Path, shop: Shop) -> None:
    """An order of every second line, of 7, 14, 21 ... pieces."""
    codes = [str(line["sku"]) for line in wholesale_lines(shop)][::2]
    quantities = {code: 7 * (at % 4 + 1) for at, code in enumerate(codes)}
    form = folder / "order.csv"
    text = "".join(f"{code},{quantity}\n" for code, quantity in quantities.items())
    form.write_text(f"code,quantity\n{text}", encoding="utf-8")
    arguments = ("order", str(form), "--json", "--anyway", "--shop", str(folder), "--today", TODAY.isoformat())
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(io.StringIO()):
        main(arguments)
    told, ours = read_json(printed.getvalue()), ordered(quantities, shop)
    lines = ours["lines"]
    assert isinstance(lines, list)
    for theirs, (code, quantity, each, total) in zip(told["lines"], lines, strict=True):
        for name, value in {"code": code, "quantity": quantity, "each": each, "total": total}.items():
            comparison.hold("order", f"{code} {name}", theirs[name], value)
    comparison.hold("order", "pieces", told["pieces"], ours["pieces"])
    comparison.hold("order", "total", told["total"], ours["total"])
