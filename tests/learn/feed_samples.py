"""Samples such as storefronts might give out, all invented: a header, example rows, and what each column is.

"-" is nothing that a set has. What is in round brackets is not filled in today, and counts against us.
"""

# ruff: noqa: E501 - samples are wide

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class FeedSample:
    """One sample: its text with `|` between cells, what each column is, and which are not filled in."""

    name: str
    text: str
    fields: tuple[str | None, ...]
    missed: tuple[bool, ...]

    @property
    def rows(self) -> tuple[tuple[str, ...], ...]:
        """Header and rows."""
        return tuple(tuple(cell.strip() for cell in line.split("|")) for line in self.text.strip().splitlines())


def _sample(name: str, text: str, fields: str) -> FeedSample:
    said = [field.strip() for field in fields.split(",")]
    truth = (field.strip("()") for field in said)
    return FeedSample(
        name, text, tuple(None if field == "-" else field for field in truth), tuple(field[0] == "(" for field in said)
    )


SAMPLES = (
    _sample(
        "village market online, pounds and ounces",
        """
        Listing code | Item number | Title (max 72) | Story | Price GBP | Picture 1 | Picture 2 | Picture 3 | Weight (oz) | On hand | Lid colour
        K100 | K100-A | Fern & Weir gift set | A walk by the weir, boxed. Three things for one quiet evening at home. | 21.50 | https://market.example/k100-1.jpg | https://market.example/k100-2.jpg | | 18.2 | 14 | silver
        K100 | K100-B | Fern & Weir gift set | A walk by the weir, boxed. Three things for one quiet evening at home. | 22.50 | https://market.example/k100-1.jpg | https://market.example/k100-3.jpg | | 18.9 | 3 | silver
        """,
        "inProductGroupWithID, sku, title, description, price, image_1, image_2, image_3, weight, inventoryLevel, -",
    ),
    _sample(
        "shouting headings with underscores",
        """
        ITEM_NO* | PRODUCT_NAME* | SELLING_PRICE* | CURRENCY | STOCK_QTY | BAR_CODE | WIDTH_CM | DEPTH_CM | HEIGHT_CM | PARCEL_WEIGHT_KG | SHELF_NO
        00412 | Moss gift set, oat jar | 24.00 | GBP | 11 | 9520000010010 | 16.6 | 12.6 | 7.4 | 0.55 | 3
        00413 | Moss gift set, lime jar | 24.00 | GBP | 6 | 9520123456788 | 16.6 | 12.6 | 7.4 | 0.56 | 3
        """,
        "sku, name, price, priceCurrency, inventoryLevel, gtin, width, depth, height, parcelWeight, -",
    ),
    _sample(
        "slots and choices taking turns",
        """
        Set number | Variant code | Product title | What the buyer chooses 1 | Chosen value 1 | What the buyer chooses 2 | Chosen value 2 | Our price | Available from | On sale until
        S7 | S7-1 | Dusk box | Jar | Oat & Milk | Balm | Plain | 31.00 | 12/10/2026 | 24/12/2026
        S7 | S7-2 | Dusk box | Jar | Fig | Balm | Plain | 31.00 | 12/10/2026 | 24/12/2026
        """,
        "inProductGroupWithID, sku, title, slot_1, choice_1, slot_2, choice_2, (price), availabilityStarts, availabilityEnds",
    ),
    _sample(
        "Markthalle am Fluss",
        """
        Set-Nr | Varianten-Nr | Titel (Pflicht) | Beschreibung HTML | Preis in EUR | MwSt | Währung | Hauptbild | Gewicht (g) | Lagerbestand | Duftnote
        H3 | H3-01 | Abendglut | <p>Drei Stücke für einen stillen Abend, in einer Schachtel.</p> | 27,50 | 19 | EUR | https://markt.example/h3.jpg | 512,5 | 9 | Zirbe
        H3 | H3-02 | Abendglut | <p>Drei Stücke für einen stillen Abend, in einer Schachtel.</p> | 28,50 | 19 | EUR | https://markt.example/h3b.jpg | 520,0 | 4 | Zirbe
        """,
        "inProductGroupWithID, sku, title, description, price, -, priceCurrency, image, weight, inventoryLevel, -",
    ),
    _sample(
        "Hofladen-Portal, Maße in Zoll und Bilder ab null",
        """
        Artikelnummer;| Bezeichnung | Foto_00 | Foto_01 | Foto_02 | Bild-URL Rückseite | Länge (Zoll) | Breite (Zoll) | Höhe (Zoll) | EAN | Verfügbarkeit | Schlagwörter | Lieferbar ab
        A-9 | Honigmorgen | a9-0.jpg | a9-1.jpg | a9-2.jpg | a9-r.jpg | 6.5 | 5.0 | 2.9 | 9520000010010 | auf Lager | Honig, Geschenk | 01.03.2027
        A-10 | Kräuterabend | a10-0.jpg | a10-1.jpg | | | 6.5 | 5.0 | 2.9 | 9520123456788 | ausverkauft | Kräuter, Geschenk | 15.03.2027
        """.replace(";|", " |"),
        "sku, name, image_1, image_2, image_3, (image), width, depth, height, gtin, availability, keywords, availabilityStarts",
    ),
    _sample(
        "Seifenkiste, drei Stellen zum Wählen",
        """
        Hauptartikelnummer | Artikel-Nr | Produktname | Wählbar 1 | Gewählt 1 | Wählbar 2 | Gewählt 2 | Wählbar 3 | Gewählt 3 | VK brutto | UVP | Zolltarif
        G1 | G1-a | Gartenkiste | Tiegel | Minze | Seife | Fenchel | | | 19,90 € | 21,90 € | 3401
        G1 | G1-b | Gartenkiste | Tiegel | Salbei | Seife | Fenchel | | | 19,90 € | 21,90 € | 3401
        """,
        "inProductGroupWithID, sku, title, slot_1, choice_1, slot_2, choice_2, slot_3, choice_3, price, suggestedRetail, -",
    ),
    _sample(
        "Halle aux coffrets",
        """
        Réf coffret | Réf variante | Titre | Descriptif | Prix TTC (€) | Photo principale | Texte alternatif | Qté disponible | Poids d'expédition (kg) | Mots-clés | Teinte du ruban
        C12 | C12-1 | Coffret Rosée | Le premier matin chaud près des ruches, dans une seule boîte bien garnie. | 34,00 | https://halle.example/c12.jpg | Le coffret ouvert | 7 | 0,595 | miel, printemps | vert
        C12 | C12-2 | Coffret Rosée | Le premier matin chaud près des ruches, dans une seule boîte bien garnie. | 35,00 | https://halle.example/c12.jpg | Le coffret ouvert | 2 | 0,602 | miel, printemps | vert
        """,
        "inProductGroupWithID, sku, title, description, price, image, alt, inventoryLevel, parcelWeight, keywords, -",
    ),
    _sample(
        "Petites annonces du marché, sans exemple",
        """
        NUMÉRO D'ARTICLE | DÉSIGNATION | TARIF PUBLIC | DEVISE | CODE-BARRES | LARGEUR (mm) | PROFONDEUR (mm) | HAUTEUR (mm) | MARQUE | CATÉGORIE | GARANTIE
        """,
        "sku, name, price, priceCurrency, gtin, width, depth, height, brand, category, -",
    ),
    _sample(
        "Plaza de regalos",
        """
        Código del estuche | Código de variante | Título | Descripción | Precio (€) | URL imagen 1 | URL imagen 2 | Opción 1 | Valor opción 1 | Existencias | Peso (g) | Fecha de inicio | Cinta
        E5 | E5-A | Estuche Alba | Tres piezas para una tarde tranquila, en una sola caja de cartón fino. | 29,90 | https://plaza.example/e5-1.jpg | https://plaza.example/e5-2.jpg | Tarro | Avena | 12 | 507 | 15.02.2027 | roja
        E5 | E5-B | Estuche Alba | Tres piezas para una tarde tranquila, en una sola caja de cartón fino. | 29,90 | https://plaza.example/e5-1.jpg | https://plaza.example/e5-3.jpg | Tarro | Miel | 5 | 511 | 15.02.2027 | roja
        """,
        "inProductGroupWithID, sku, title, description, price, image_1, image_2, slot_1, choice_1, inventoryLevel, weight, availabilityStarts, -",
    ),
    _sample(
        "Tienda de barrio, una fila por estuche",
        """
        referencia | nombre producto | precio desde | precio máximo | contenido neto | ingredientes | advertencias | medidas | ancho (cm) | alto (cm) | fondo (cm) | color
        R1 | Lavanda en caja | 18,00 | 22,00 | 110 g | Sodium Olivate, Aqua, Parfum | Uso externo. | 16 x 12 x 7 | 16 | 7 | 12 | lila
        R2 | Romero en caja | 19,00 | 23,00 | 110 g | Sodium Cocoate, Aqua, Parfum | Uso externo. | 16 x 12 x 7 | 16 | 7 | 12 | verde
        """,
        "sku, name, lowestPrice, highestPrice, netContents, ingredients, cautions, -, width, height, depth, -",
    ),
    _sample(
        "parcels first, units in the cells",
        """
        Our ref | Full name | Brand | Made of | Box contents | Gross weight | Packed weight | Retail price | Trade price | Still sold | Country of origin | Keeps for (months)
        P-1 | Oat & Rain gift set, tall jar | Hollow Reed | Sodium Olivate, Aqua, Avena | bar, jar and balm | 0.51 kg | 0.60 kg | £26.00 | £13.00 | yes | GB | 12
        P-2 | Oat & Rain gift set, low jar | Hollow Reed | Sodium Olivate, Aqua, Avena | bar, jar and balm | 0.49 kg | 0.58 kg | £25.00 | £12.50 | yes | GB | 12
        """,
        "sku, name, brand, ingredients, contents, weight, parcelWeight, price, (wholesalePrice), (availability), -, shelfLife",
    ),
    _sample(
        "what a town's gift guide asks, in no order",
        """
        Web page | Made by | Ribbon | Photo | Set name | Season | Theme | Product ID | Option | Plain description | Lowest price | Price valid until | Language of text
        https://guide.example/fern | Hollow Reed | green | https://guide.example/fern.jpg | Fern & Weir | spring | A walk by the weir. | F-001 | oat | A walk by the weir, boxed. | 21.50 | 2027-05-10 | en-GB
        https://guide.example/dusk | Hollow Reed | blue | https://guide.example/dusk.jpg | Dusk | winter | The hour of lamps. | D-002 | fig | The hour of lamps, boxed. | 31.00 | 2026-12-24 | en-GB
        """,
        "url, (brand), -, image, setName, season, theme, sku, (choice), plainDescription, lowestPrice, priceValidUntil, language",
    ),
    _sample(
        "camel case, from a friend's script",
        """
        inventoryLevel | unitPrice | productName | stillThere | sellFrom | sellUntil | gtin | sku | slot1 | choice1 | tillKey
        12 | 22.00 | Fern & Weir | InStock | 20270301 | 20270510 | 9520000010010 | K1-A | Jar | Oat | 4
        0 | 23.00 | Fern & Weir | OutOfStock | 20270301 | 20270510 | 9520123456788 | K1-B | Jar | Fig | 4
        """,
        "inventoryLevel, price, title, (availability), availabilityStarts, availabilityEnds, gtin, sku, slot_1, choice_1, -",
    ),
    _sample(
        "Geschenkefinder, Stichworte einzeln",
        """
        Bestellnummer | Titel | Zeile unter dem Titel | Kurzbeschreibung | Stichwort 1 | Stichwort 2 | Stichwort 3 | Stichwort 4 | Preis (EUR) | Versandgewicht (kg) | auf Lager | Alter ab
        B77 | Stille Stunde | Drei Dinge für den Abend. | Bar, Tiegel und Balsam in einer Schachtel. | Honig | Abend | | | 27,50 | 0,61 | ja | 3
        B78 | Helle Stunde | Drei Dinge für den Morgen. | Bar, Tiegel und Balsam in einer Schachtel. | Minze | Morgen | | | 28,50 | 0,63 | nein | 3
        """,
        "sku, name, theme, (plainDescription), keywords_1, keywords_2, keywords_3, keywords_4, price, parcelWeight, inStock, -",
    ),
)
"""Fourteen samples in four languages."""
