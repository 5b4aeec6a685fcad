"""What a pint and a stone can do once each is a row of the table; run by test_table.py in a process of its own.

US liquid pint: 473.176473 ml exactly (NIST Handbook 44, Appendix C: 231 in³ a gallon, 8 pints); on labels 473.177 ml
(16 CFR 500.19(a), from memory). Stone: 14 lb, 6.35029318 kg exactly (Weights and Measures Act 1985, Schedule 1, from
memory); no law of the United States has a factor for it.
"""

import datetime
from decimal import Decimal
from typing import Any

from listkit.compute.catalog import Piece
from listkit.compute.declaration import Rules, declaration, declaration_of_item
from listkit.compute.prices import unit_price
from listkit.fields import Kind
from listkit.learn.cell_shapes import kind_of
from listkit.learn.folding import parted
from listkit.learn.matching import match_items
from listkit.ledger.compare import alike
from listkit.listing.cells import cell_of
from listkit.listing.declared import declared
from listkit.listing.formats import weight_text
from listkit.listing.words import parse_words
from listkit.model.channel import Channel, Dialect
from listkit.model.item import Item
from listkit.model.labels import UnitPricing
from listkit.read.table_file import Form, read_table
from listkit.read.templates import own_templates
from listkit.units.money import Money
from listkit.units.weight import Weight

US = Rules("customary first")


def items(head: str, *rows: str) -> tuple[Item, ...]:
    table, problems = read_table("items.csv", "\n".join((head, *rows)).encode(), Form(Item, {}, "GBP"))
    assert problems == []
    return table.rows


def bath(net: str, weight: str = "2 stone") -> Item:
    head = "code,name,form,net,retail,cost,weight,size"
    return items(head, f"HH-1,Gorse,bath oil,{net},10.00,1.85,{weight},86 x 58 x 28 mm")[0]


def in_words(item: Item, count: int = 1) -> str:
    words, problems = parse_words("en-GB", (("words/en.toml", dict(own_templates())["words/en.toml"]),))
    assert words is not None, problems
    return declared(words, declaration((Piece(item, count),), US)).text


def test_the_items_table_reads_them_in_cells_and_headings() -> None:
    assert bath("1 1/2 pt").weight.grams == Decimal("12700.58636")
    net = bath("1 1/2 pt").net
    assert net is not None
    assert (net.measure, net.each) == ("volume", Decimal("709.7647095"))
    head = "code,name,net (pints),retail,cost,weight (st),size (mm)"
    item = items(head, "HH-1,Gorse,2,10.00,1.85,0.5,86 x 58 x 28")[0]
    assert item.weight.grams == Decimal("3175.14659")
    assert item.net is not None
    assert item.net.total == Decimal("946.352946")


def test_the_declaration_states_them_and_the_other_system_beside_them() -> None:
    """By hand: 2 × 473.177 = 946.354 ml, cut to 946; 1 stone is 6350.29318 g, cut to 6.35 kg."""
    assert in_words(bath("2 pt")) == "2 pt (946 ml)"
    assert in_words(bath("1 st")) == "1 st (6.35 kg)"
    assert in_words(bath("1/2 pint"), 3) == "3 bath oils, 0.5 pt (236 ml) each; total 1.5 pt (709 ml)"
    assert declaration_of_item(bath("4 x 1 pt"), US).groups[0].quantity is not None


def test_a_unit_price_may_be_for_one() -> None:
    """By hand: 10.00 for half a pint is 20.00 a pint; 10.00 for 7 lb, half a stone, is 20.00 a stone."""
    rule = UnitPricing.model_validate({"weight": "st", "volume": "pt"})
    for net in ("1/2 pt", "7 lb"):
        price = unit_price(Money(Decimal(10), "GBP"), (Piece(bath(net)),), rule)
        assert price is not None
        assert (price.amount, price.unit.unit) == (Decimal("20.00"), "pt" if net.endswith("pt") else "st")


def test_the_learner_knows_them_in_headings_and_cells() -> None:
    assert parted("Inhalt (Pinten)")[0].unit == "pt"
    assert parted("weight in stones")[0].unit == "st"
    assert (kind_of("1 1/2 pints"), kind_of("2 st 3 lb")) == ("volume", "mass")
    matches = match_items(("Name", "Contents", "Weight (stone)"), (("Gorse", "2 pints", "0.5"), ("Heath", "1 pt", "1")))
    assert [(match.field, match.unit) for match in matches[1:]] == [("net", ""), ("weight", "st")]
    assert matches[1].sure


def test_a_channel_may_ask_for_a_stone_and_get_it_back() -> None:
    dialect = Dialect.model_validate({"weight": "st"})
    assert cell_of(Kind.WEIGHT, dialect)(Weight(Decimal("9525.43977"))) == "1.5"
    columns: list[dict[str, Any]] = [{"heading": "Weight", "value": "weight", "unit": "st"}]
    channel = Channel.model_validate({"name": "Moor", "make": ["feed"], "column": columns}, context={"currency": "GBP"})
    assert channel.columns[0].unit == "st"
    assert weight_text(Weight(Decimal("9525.43977")), "en-GB", unit="st") == "1.5 st"
    same = alike(Kind.WEIGHT, "weight", unit="st", day=datetime.date.isoformat)
    assert same("1.5", "21 lb")
    assert not same("1.5", "22 lb")
