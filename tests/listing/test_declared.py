"""Declarations in words: our own wording, and the regulator's from a template that says it."""

from listkit.compute.catalog import Piece
from listkit.compute.declaration import Rules, declaration, declaration_of_item
from listkit.listing.declared import declared
from listkit.listing.words import Words, parse_words
from listkit.model.item import Item
from listkit.read.templates import own_templates

TEXTS = dict(own_templates())
US = Rules("customary first")
# The wording of 16 CFR 500.28 and 500.29, as an owner might put it over ours.
REGULATION = """
[net]
mass = "Net Wt. {size}"
one = "{count} {what} {size}"
many = "{count} {what} {size} each"
end = "."
total = "Total: {count} bars {size}"

[net.units]
oz = "ozs."
"fl oz" = "fl. ozs."
ml = "mL"
"""


def words(language: str = "en-GB", own: str = "") -> Words:
    files = [("words/en.toml", TEXTS["words/en.toml"])]
    files += [("words/en-US.toml", TEXTS["words/en-US.toml"])] if language == "en-US" else []
    made, problems = parse_words(language, (*files, *([("words/own.toml", own)] if own else [])))
    assert made is not None, problems
    return made


def item(form: str, net: str, *, name: str = "Gorse", container: str = "") -> Item:
    row = {"code": f"HH-{name}{net[:1]}", "name": name, "form": form, "retail": "7.50", "cost": "2.00", "net": net}
    row |= {"weight": "2 kg", "size": "86 x 58 x 28 mm", "container": container}
    row = {key: value for key, value in row.items() if value} | {"code": row["code"].replace(" ", "")}
    return Item.model_validate(row, context={"currency": "USD"})


def test_the_soap_line_of_16_cfr_500_28_comes_out_byte_for_byte() -> None:
    """16 CFR 500.28(a)."""
    made = declaration((Piece(item("soap bar", "3.2 oz"), 2), Piece(item("soap bar", "5.0 oz"))), US)
    assert declared(words("en-US", REGULATION), made).text == (
        "2 soap bars Net Wt. 3.2 ozs. (90 g) each; 1 soap bar Net Wt. 5.0 ozs. (141 g). "
        "Total: 3 bars Net Wt. 11.4 ozs. (323 g)."
    )


def test_the_polish_line_of_16_cfr_500_28_comes_out_byte_for_byte() -> None:
    """16 CFR 500.28(a): each colour by its name, and the total without a count."""
    colours = (("Brown", "3 fl oz"), ("Black", "3 fl oz"), ("White", "5 fl oz"))
    own = REGULATION.replace("Total: {count} bars {size}", "Total: {size}") + (
        '\n[forms.brown]\nmany = "Brown"\n[forms.black]\nmany = "Black"\n[forms.white]\nmany = "White"\n'
    )
    made = declaration(tuple(Piece(item("", net, name=name)) for name, net in colours), US)
    text = declared(words("en-US", own), made).text
    assert text == "1 Brown 3 fl. ozs. (88 mL); 1 Black 3 fl. ozs. (88 mL); 1 White 5 fl. ozs. (147 mL)."
    whole = declaration((Piece(item("polish", "3 fl oz"), 2), Piece(item("polish", "5 fl oz"))), US)
    assert declared(words("en-US", own), whole).total == "Total: 11 fl. ozs. (325 mL)"


def test_the_cleaner_line_of_16_cfr_500_29_has_the_figures_printed_and_no_total() -> None:
    """16 CFR 500.29(a): 2 sponges 4 in. × 6 in. × 1 in. (10.1 × 15.2 × 2.5 cm); 1 box cleaner, 6 ozs. (170 g)."""
    sponge, cleaner = item("sponge", "4 x 6 x 1 in"), item("box cleaner", "6 oz", name="Broom")
    made = declared(words("en-US", REGULATION), declaration((Piece(sponge, 2), Piece(cleaner)), US))
    assert made.text == "2 sponges 4 × 6 × 1 in (10.1 × 15.2 × 2.5 cm) each; 1 box cleaner Net Wt. 6 ozs. (170 g)."
    assert made.total == ""


def test_a_gift_set_of_the_trade_is_told_without_ounces_and_fluid_ounces_added_up() -> None:
    """Figures worked by hand from the factors of 16 CFR 500.19."""
    rows = ((2, "bar soap", "4 oz"), (1, "lotion", "8 fl oz"), (1, "lip balm", "0.15 oz"), (1, "candle", "6 oz"))
    made = declaration(tuple(Piece(item(form, net), count) for count, form, net in rows), US)
    assert declared(words(), made).text == (
        "2 bars of soap, 4 oz (113 g) each; 1 lotion, 8 fl oz (236 ml); "
        "1 lip balm, 0.15 oz (4.2 g); 1 candle, 6 oz (170 g)"
    )


def test_metric_alone_and_metric_first_in_british_english() -> None:
    soap, salts = Piece(item("bar soap", "110 g"), 3), Piece(item("bath salts", "250 g", container="pouch"))
    metric = declared(words(), declaration((soap, salts), Rules())).text
    assert metric == "3 bars of soap, 110 g each; 1 pouch of bath salts, 250 g"
    assert declared(words(), declaration((soap,), Rules("metric first"))).text == (
        "3 bars of soap, 110 g (3.88 oz) each; total 330 g (11.64 oz)"
    )


def test_a_single_item_is_its_quantity_alone_and_a_count_is_told_in_pieces() -> None:
    assert declared(words("en-US"), declaration_of_item(item("bar soap", "110 g"), US)).text == "Net wt 3.88 oz (110 g)"
    assert declared(words(), declaration_of_item(item("wipes", "6 pieces"), Rules())).text == "6 pieces"
    assert declared(words(), declaration_of_item(item("sachets", "4 x 25 g"), Rules())).text == "4 × 25 g; total 100 g"


def test_something_without_a_quantity_is_told_by_its_number() -> None:
    dish = item("soap dish", "110 g").model_copy(update={"net": None})
    made = declaration((Piece(item("bar soap", "110 g")), Piece(dish, 2)), Rules())
    assert declared(words(), made).lines == ("1 bar of soap, 110 g", "2 soap dishes")


def test_a_form_that_a_language_names_with_its_container_is_told_so_behind_a_number() -> None:
    own = '[forms."bath salts"]\none = "a pouch of bath salts"\nmany = "pouches of bath salts"\n'
    salts = item("bath salts", "250 g")
    soap = item("bar soap", "110 g", name="Whin")
    told = [str(declared(words(own=own), declaration((Piece(soap), Piece(salts, count)), Rules()))) for count in (1, 2)]
    assert "1 pouch of bath salts" in told[0]
    assert "2 pouches of bath salts" in told[1]
