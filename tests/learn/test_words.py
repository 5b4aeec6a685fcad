"""The table of trade words: complete, without contradictions, and known in four languages."""

import pytest

from listkit.fields import FIELDS
from listkit.learn.hits import hits
from listkit.learn.words import MEANINGS
from listkit.model.item import Item

# Figures of our own, which no other program's file has; they are asked for by their names here. Who answers for goods
# and where one writes to stand on a page rather than in a file of goods, where "manufacturer" heads a brand.
OURS_ALONE = {
    "itemCodes", "fillShare", "netDeclaration", "opening", "story", "allChoices", "cardAndBox", "figuresOf",
    "manufacturer", "email",
}  # fmt: skip


def test_every_column_of_the_items_table_has_words() -> None:
    columns = {name.replace("_", " ").strip() for name in Item.model_fields}
    columns.remove("story")  # notes are never published: only a column of this very name is a story
    columns.remove("old codes")  # "was" and "old" are mostly prices: only a column of this very name is one
    # how a thing is made: sheets of goods rarely say it, so only columns of these very names do
    columns -= {"batch size", "yield", "cure", "hours a batch", "ready after"}
    assert {meaning.item for meaning in MEANINGS.values()} - {""} == columns


def test_every_field_of_a_feed_has_words_but_our_own_figures() -> None:
    named = {meaning.feed for meaning in MEANINGS.values()} - {""}
    assert named <= FIELDS.keys()
    assert FIELDS.keys() - named == OURS_ALONE


@pytest.mark.parametrize(
    ("field", "said"),
    [
        ("code", ("item code", "référence", "Artikelnummer", "código")),
        ("name", ("product name", "désignation", "Bezeichnung", "nombre del producto")),
        ("form", ("product type", "type de produit", "Produktart", "tipo de producto")),
        ("scent", ("fragrance", "senteur", "Duft", "aroma")),
        ("net", ("net contents", "contenance", "Nettoinhalt", "contenido neto")),
        ("container", ("packed in", "contenant", "Gebinde", "envase")),
        ("retail", ("selling price", "prix de vente", "Verkaufspreis", "precio de venta")),
        ("cost", ("unit cost", "prix de revient", "Selbstkosten", "coste unitario")),
        ("weight", ("gross weight", "poids brut", "Bruttogewicht", "peso bruto")),
        ("size", ("dimensions", "mesures", "Abmessungen", "medidas")),
        ("shape", ("shape", "forme géométrique", "Umriss", "forma")),
        ("upright", ("keep upright", "debout", "aufrecht", "de pie")),
        ("fragile", ("breakable", "cassable", "zerbrechlich", "rompible")),
        ("shelf life", ("shelf life", "durée de conservation", "Haltbarkeit", "vida útil")),
        ("on hand", ("in hand", "quantité en stock", "Bestand", "existencias")),
        ("gtin", ("barcode", "code-barres", "Strichcode", "código de barras")),
        ("ingredients", ("ingredients", "ingrédients", "Inhaltsstoffe", "ingredientes")),
        ("cautions", ("warnings", "mises en garde", "Warnhinweise", "advertencias")),
        ("larger", ("full size", "grand format", "Vollgröße", "tamaño completo")),
        ("status", ("on sale", "en vente", "im Verkauf", "en venta")),
    ],
)
def test_each_column_is_known_in_english_french_german_and_spanish(field: str, said: tuple[str, ...]) -> None:
    assert [hits(word)[0].meaning.item for word in said] == [field] * 4
