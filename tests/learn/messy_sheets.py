"""Sheets as owners keep them, invented: header and some rows, and what each column is.

"-" is what items do not have. What is in round brackets is not found today: it counts against us.
"""

# ruff: noqa: E501 - sheets are wide

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class MessySheet:
    """One sheet: its text with `|` between cells, what each column is, and which of them are not found."""

    name: str
    text: str
    fields: tuple[str | None, ...]
    missed: tuple[bool, ...]

    @property
    def rows(self) -> tuple[tuple[str, ...], ...]:
        """Header and rows."""
        return tuple(tuple(cell.strip() for cell in line.split("|")) for line in self.text.strip().splitlines())


def _sheet(name: str, text: str, fields: str) -> MessySheet:
    said = fields.split(", ")
    truth = (field.strip("()") for field in said)
    return MessySheet(
        name, text, tuple(None if field == "-" else field for field in truth), tuple(field[0] == "(" for field in said)
    )


SHEETS = (
    _sheet(
        "stall keeper, pounds and grams",
        """
        Ref  | Product             | What sort   | Made with                         | Shop price £ | Costs me | Weight g | Size mm      | In stock
        B01  | Nettle & Lime       | Soap bar    | Sodium Olivate, Aqua, Urtica      | 6.50         | 1.72     | 112      | 82 x 56 x 27 | 31
        B02  | Plain Oat           | Soap bar    | Sodium Olivate, Aqua, Avena       | 6.50         | 1.60     | 110      | 82 x 56 x 27 | 12
        P01  | Hedge End Butter    | Body butter | Butyrospermum Parkii Butter, Cera | 15.00        | 3.95     | 231      | 70 x 70 x 60 | 9
        """,
        "code, name, form, ingredients, retail, cost, weight, size, on hand",
    ),
    _sheet(
        "kitchen table, ounces and inches",
        """
        SKU    | Item name       | Scent    | Net wt | Retail | Unit cost | Ship weight | Dimensions (L x W x H)    | In hand     | Number below the bars
        SP-100 | Cedar Bar       | cedar    | 4 oz   | $8.00  | $2.10     | 4.6oz       | 3in x 2 1/2in x 1in       | 40          | 061414100007
        SP-101 | Orange Bar      | orange   | 4 oz   | $8.00  | $2.05     | 4.6oz       | 3in x 2 1/2in x 1in       | 38          | 061414100014
        BB-200 | Vanilla Butter  | vanilla  | 8 oz   | $18.50 | $5.20     | 1 lb 2 oz   | 3 in x 3 in x 2 3/4 in    | 11          | 061414199995
        """,
        "code, name, scent, net, retail, cost, weight, size, on hand, gtin",
    ),
    _sheet(
        "Seifenmanufaktur",
        """
        Art.-Nr. | Bezeichnung       | Duft      | Inhalt | Ladenpreis | Herstellkosten | Gewicht (g) | Maße in mm   | vorrätig | Haltbarkeit (Monate) | Inhaltsstoffe
        S-001    | Heublume          | Heu       | 95 g   | 6,90 €    | 1,85 €   | 104         | 80 x 55 x 26 | 54           | 24                   | Sodium Olivate, Aqua, Glycerin
        S-002    | Zirbe & Salz      | Zirbe     | 95 g   | 6,90 €    | 1,95 €   | 106         | 80 x 55 x 26 | 17           | 24                   | Sodium Olivate, Aqua, Maris Sal
        K-010    | Ringelblumencreme | Calendula | 50 ml  | 12,50 €   | 3,10 €   | 128         | 60 x 60 x 45 | 8            | 12                   | Olea Europaea Fruit Oil, Cera Alba
        """,
        "code, name, scent, net, retail, cost, weight, size, on hand, shelf life, ingredients",
    ),
    _sheet(
        "savonnerie",
        """
        Réf.  | Désignation       | Type de produit | Senteur  | Contenance | Prix de vente TTC | Prix de revient | Poids brut | Dimensions      | Stock | Code-barres   | Remarques
        SV1   | Matin de lavande  | savon           | lavande  | 100 g      | 6,50 €            | 1,70 €          | 110 g      | 80 x 55 x 25 mm | 42    | 9520000010010 | étiquette à refaire
        SV2   | Soir de figuier   | savon           | figuier  | 100 g      | 6,50 €            | 1,75 €          | 110 g      | 80 x 55 x 25 mm | 6     | 9520000010027 |
        BM1   | Karité et miel    | baume           | miel     | 50 ml      | 13,00 €           | 3,60 €          | 135 g      | 62 x 62 x 45 mm | 19    | 9520000010034 |
        """,
        "code, name, form, scent, net, retail, cost, weight, size, on hand, gtin, -",
    ),
    _sheet(
        "jabonería",
        """
        Referencia | Nombre           | Aroma    | Envase        | Contenido neto | PVP    | Coste unitario | Peso  | Medidas (cm)    | Existencias | Caducidad (meses)
        JB-1       | Romero del patio | romero   | banda de papel | 100 g         | 5,90 € | 1,55 €         | 109 g | 8 x 5,5 x 2,5   | 33          | 18
        JB-2       | Azahar           | azahar   | banda de papel | 100 g         | 5,90 € | 1,60 €         | 109 g | 8 x 5,5 x 2,5   | 21          | 18
        MC-1       | Manteca de cacao | cacao    | tarro          | 200 ml        | 16,00 €| 4,40 €         | 390 g | 8,5 x 8,5 x 7   | 7           | 12
        """,
        "code, name, scent, container, net, retail, cost, weight, size, on hand, shelf life",
    ),
    _sheet(
        "everything is called something short",
        """
        No.  | Title          | Type   | Price | Cost | Wt   | Size            | Qty
        A-1  | Moss           | soap   | 7.00  | 1.90 | 115g | 84 x 56 x 27 mm | 14
        A-2  | Fern           | soap   | 7.00  | 1.90 | 115g | 84 x 56 x 27 mm | 20
        A-9  | Moonlit Orchard | candle | 18.00 | 5.50 | 410g | 80 x 80 x 95 mm | 5
        """,
        "code, name, form, retail, cost, weight, size, on hand",
    ),
    _sheet(
        "size means contents",
        """
        Code | Product            | Size   | Trade price | RRP   | Making cost | Gross weight | Outside dimensions
        T-01 | Beeswax Tin        | 60 ml  | 5.40        | 11.00 | 2.70        | 78 g         | 68 x 68 x 24 mm
        T-02 | Towpath Tin        | 60 ml  | 5.40        | 11.00 | 2.85        | 80 g         | 68 x 68 x 24 mm
        T-03 | Big Towpath Tin    | 120 ml | 9.40        | 19.00 | 5.10        | 150 g        | 90 x 90 x 30 mm
        """,
        "code, name, net, -, retail, cost, weight, size",
    ),
    _sheet(
        "three columns for the sides, two for the prices with and without tax",
        """
        Item code | Item        | Price ex VAT | Price inc VAT | Cost price | L mm | W mm | H mm | Weight (kg) | EAN           | Supplier code
        R-1       | Rose Bar    | 5.42         | 6.50          | 1.60       | 80   | 55   | 25   | 0.109       | 9520000010010 | X-55
        R-2       | Thyme Bar   | 5.42         | 6.50          | 1.60       | 80   | 55   | 25   | 0.109       | 9520000010027 | X-56
        R-3       | Rose Butter | 11.67        | 14.00         | 3.60       | 72   | 72   | 62   | 0.230       | 9520000010034 | X-57
        """,
        "code, name, -, retail, cost, -, -, -, weight, gtin, -",
    ),
    _sheet(
        "numbers without units, a column for the shelf",
        """
        Kürzel | Produkt       | Sorte      | Ladenpreis | Herstellkosten | Gewicht | Abmessungen  | Anzahl | zerbrechlich | stehend
        SE-1   | Bienenwiese   | Seife      | 6.50       | 1.70           | 108     | 80 x 55 x 25 | 30     | nein         | nein
        SE-2   | Waldspaziergang | Seife    | 6.50       | 1.75           | 108     | 80 x 55 x 25 | 12     | nein         | nein
        CR-1   | Winterhände   | Handcreme  | 13.50      | 3.90           | 190     | 65 x 65 x 58 | 9      | ja           | ja
        """,
        "code, name, form, retail, cost, weight, size, on hand, fragile, upright",
    ),
    _sheet(
        "shouting",
        """
        STOCK CODE | PRODUCT NAME | FRAGRANCE | PACKED IN | RETAIL PRICE (GBP) | COST TO MAKE (GBP) | PACKED WEIGHT (G) | MEASUREMENTS (MM) | STOCK LEVEL | SHELF LIFE MONTHS | WARNINGS | STATUS
        LM1        | MINT FOAM    | MINT      | BOTTLE    | 9.50               | 2.40               | 310               | 60 x 60 x 150     | 22          | 12                | avoid-eyes | on sale
        LM2        | LEMON FOAM   | LEMON     | BOTTLE    | 9.50               | 2.45               | 310               | 60 x 60 x 150     | 3           | 12                | avoid-eyes | last chance
        """,
        "code, name, scent, container, retail, cost, weight, size, on hand, shelf life, cautions, status",
    ),
    _sheet(
        "French headings, dots and colons",
        """
        N° article : | Nom du produit : | Parfum : | Contenant : | Prix public : | Coût de revient : | Poids (g) : | Dimensions (mm) : | Quantité en stock : | Ingrédients : | Fragile :
        12-A         | Galet de bain    | rose     | sachet      | 4.50          | 1.05              | 130         | 70 x 70 x 60      | 80                  | Sodium Bicarbonate, Citric Acid, Parfum | non
        12-B         | Galet marin      | algue    | sachet      | 4.50          | 1.10              | 130         | 70 x 70 x 60      | 74                  | Sodium Bicarbonate, Citric Acid, Maris Sal | non
        14-C         | Huile du soir    | néroli   | flacon      | 17.00         | 4.80              | 260         | 50 x 50 x 140     | 15                  | Prunus Amygdalus Dulcis Oil, Parfum | oui
        """,
        "code, name, scent, container, retail, cost, weight, size, on hand, ingredients, fragile",
    ),
    _sheet(
        "supplier's, old and least things beside",
        """
        Our code | Name        | Old price | Selling price | Purchase price | Minimum stock | On the shelf | Supplier | Weight in oz | Dims in inches | Keeps (months) | Photo     | Notes
        D-1      | Ash Dish    | 7.00      | 8.50          | 4.10           | 5             | 14           | joiner   | 3            | 4.6 x 3.1 x 0.7 | 60             | dish.jpg  | oil it
        D-2      | Beech Dish  | 7.00      | 8.00          | 3.90           | 5             | 9            | joiner   | 3            | 4.6 x 3.1 x 0.7 | 60             | dish2.jpg |
        D-3      | Pumice      | 3.00      | 3.50          | 1.20           | 10            | 40           | quarry   | 2.2          | 3.1 x 2 x 1    | 99             | pum.jpg   |
        """,
        "code, name, -, retail, cost, -, on hand, -, weight, size, shelf life, -, -",
    ),
    _sheet(
        "Spanish, prices without a word for which",
        """
        Código | Producto        | Tipo     | Precio | Precio de compra | Peso (g) | Dimensiones (mm) | Cantidad | Código de barras | Frágil | Estado
        V-1    | Vela de higo    | vela     | 18.00  | 5.20             | 420      | 80 x 80 x 90     | 12       | 9520000010010    | si     | en venta
        V-2    | Vela de jara    | vela     | 18.00  | 5.10             | 420      | 80 x 80 x 90     | 7        | 9520000010027    | si     | en venta
        S-1    | Sales de romero | sales    | 9.50   | 2.30             | 262      | 150 x 100 x 42   | 30       | 9520000010034    | no     | agotado
        """,
        "code, name, form, retail, cost, weight, size, on hand, gtin, fragile, status",
    ),
    _sheet(
        "German shorthand",
        """
        Nr    | Artikel       | Art      | VK    | EK   | Gew. g | LxBxH mm     | Best. | MHD       | Gebinde | Lieferant
        BS-01 | Latschenbad   | Badesalz | 9,90  | 2,30 | 264    | 150x100x42   | 30    | 24 Monate | Beutel  | eigen
        BS-02 | Heubad        | Badesalz | 9,90  | 2,35 | 264    | 150x100x42   | 28    | 24 Monate | Beutel  | eigen
        LB-01 | Lippenwachs   | Balsam   | 4,50  | 1,05 | 10     | 18x18x70     | 120   | 24 Monate | Tube    | eigen
        """,
        "code, name, form, retail, cost, weight, size, on hand, shelf life, container, -",
    ),
    _sheet(
        "typed in a hurry",
        """
        cdoe | prodct nmae | scnet   | retial price | unit csot | weihgt (g) | dimesnions (mm) | on hnad | ingredeints
        H-1  | Hop Bar     | hops    | 6.00         | 1.50      | 105        | 80 x 55 x 25    | 10      | Sodium Olivate, Aqua
        H-2  | Malt Bar    | malt    | 6.00         | 1.55      | 105        | 80 x 55 x 25    | 16      | Sodium Olivate, Aqua
        """,
        "code, name, scent, retail, (cost), weight, size, on hand, ingredients",
    ),
    _sheet(
        "no words that help, only cells",
        """
        A    | B           | Kennzahl      | C                    | D
        QQ-1 | Hollow Tree | 9520000010010 | 80 x 55 x 25 mm      | Sodium Olivate, Aqua, Parfum
        QQ-2 | River Stone | 9520000010027 | 80 x 55 x 25 mm      | Sodium Cocoate, Aqua, Glycerin
        QQ-3 | Old Wall    | 9520000010034 | 72 x 72 x 62 mm      | Butyrospermum Parkii Butter, Tocopherol, Cera Alba
        """,
        "code, -, gtin, size, ingredients",
    ),
    _sheet(
        "fair list",
        """
        Line name          | Item no | Smells of  | RRP each | Cost (materials) | Cost to us | Grams packed | H x W x D (mm) | Left | Label size
        Capstan Soap       | H01     | seaweed    | £5.50    | 0.60  | 1.45 | 107 | 25 x 80 x 55 | 12 | 95 g
        Breakwater Soap    | H02     | pine       | £5.50    | 0.62  | 1.50 | 107 | 25 x 80 x 55 | 30 | 95 g
        Slipway Balm       | H10     | mint       | £8.00    | 1.10  | 2.60 | 66  | 25 x 66 x 66 | 8  | 40 ml
        """,
        "name, code, scent, retail, (-), (cost), weight, size, on hand, net",
    ),
    _sheet(
        "Preisliste Hofladen",
        """
        Produktname      | Artikelnr. | Kategorie   | Preis (inkl. MwSt.) | Selbstkosten | Versandgewicht in g | Länge x Breite x Höhe | Auf Lager | EAN-Code      | Hinweis
        Honigseife       | HS1        | Seifen      | 6,50 | 1,70 | 112 | 80 x 55 x 26 mm | 40 | 9520000010010 | nicht in die Augen
        Milchseife       | MS1        | Seifen      | 6,50 | 1,75 | 112 | 80 x 55 x 26 mm | 22 | 9520000010027 | nicht in die Augen
        Lippenpflege     | LP1        | Balsam      | 4,50 | 1,00 | 11  | 18 x 18 x 70 mm | 90 | 9520000010034 |
        """,
        "name, code, form, retail, cost, weight, size, on hand, gtin, cautions",
    ),
    _sheet(
        "marché de Noël",
        """
        Code | Libellé          | Famille | Tarif public | P.A.   | Poids unitaire (g) | Format           | Qté dispo | DDM      | Composition
        C1   | Bougie sapin     | bougie  | 19,00 €      | 5,40 € | 430                | 85 x 85 x 95 mm  | 14        | 24 mois  | Cera Alba, Parfum
        C2   | Bougie orange    | bougie  | 19,00 €      | 5,40 € | 430                | 85 x 85 x 95 mm  | 11        | 24 mois  | Cera Alba, Parfum
        S1   | Savon cannelle   | savon   | 6,00 €       | 1,55 € | 108                | 80 x 55 x 25 mm  | 50        | 18 mois  | Sodium Olivate, Aqua, Parfum
        """,
        "code, name, form, retail, cost, weight, size, on hand, shelf life, ingredients",
    ),
    _sheet(
        "feria",
        """
        Cód. | Artículo      | Fragancia | Precio venta público | Costo | Peso con envase | Tamaño           | Stock actual | Vida útil | Presentación
        A-10 | Jabón de olivo| olivo     | $6.00                | $1.50 | 110 g           | 80 x 55 x 25 mm  | 10           | 18 meses  | banda
        A-11 | Jabón de miel | miel      | $6.00                | $1.55 | 110 g           | 80 x 55 x 25 mm  | 25           | 18 meses  | banda
        B-20 | Crema de rosa | rosa      | $14.00               | $3.90 | 240 g           | 70 x 70 x 60 mm  | 7            | 12 meses  | tarro
        """,
        "code, name, scent, retail, cost, weight, size, on hand, shelf life, container",
    ),
    _sheet(
        "a nephew's database",
        """
        no  | our_code     | says         | asks       | paid      | tax      | left          | barcode       | weight_g | dims_mm      | created
        1   | TB-1         | Tea Tree Bar | 6.25       | 1.65      | 20%      | 13            | 9520000010010 | 109      | 80x55x25     | 2026-01-03
        2   | TB-2         | Clay Bar     | 6.25       | 1.70      | 20%      | 44            | 9520000010027 | 109      | 80x55x25     | 2026-01-03
        3   | TB-3         | Salt Bar     | 6.75       | 1.80      | 20%      | 8             | 9520000010034 | 116      | 80x55x25     | 2026-02-11
        """,
        "-, code, name, retail, cost, tax, on hand, gtin, weight, size, -",
    ),
    _sheet(
        "workshop book",
        """
        What            | Kind   | Comes in | Pays to stand up? | Breaks? | How long it keeps | Ready to sell | Makes at | Sells for | All-in weight | Box needed
        Elder Scrub     | scrub  | jar      | yes | yes | 12 months | 20 | 3.40 | 14.00 | 296 g | S
        Birch Scrub     | scrub  | jar      | yes | yes | 12 months | 11 | 3.45 | 14.00 | 306 g | S
        Travel Soap     | soap   | tin      | no  | no  | 18 months | 34 | 2.10 | 7.50  | 140 g | P
        """,
        "name, form, container, upright, fragile, shelf life, on hand, cost, retail, weight, -",
    ),
    _sheet(
        "lavender farm",
        """
        Stock no | What we call it | Category | Fragrance notes | Fill | Retail inc VAT | Trade ex VAT | Our cost | Boxed weight (oz) | Size in inches | Shelf life (mths) | Bar code | On shelf | Discontinued?
        LF1 | Lane End Bar | Soap | lavender, mint | 3.5 oz | 7.50 | 3.75 | 1.90 | 4.1 | 3 x 2.2 x 1 | 18 | 9520000010010 | 24 | no
        LF2 | Hayloft Bar | Soap | hay | 3.5 oz | 7.50 | 3.75 | 1.80 | 4.1 | 3 x 2.2 x 1 | 18 | 9520000010027 | 31 | no
        LF9 | Rickyard Salve | Balm | clover | 2 oz | 12.00 | 6.00 | 3.10 | 3.2 | 2.6 x 2.6 x 1 | 24 | 9520000010034 | 9 | yes
        """,
        "code, name, form, scent, net, retail, -, cost, weight, size, shelf life, gtin, on hand, -",
    ),
    _sheet(
        "Allgäuer Liste",
        """
        Nummer | Name | Warengruppe | Füllmenge | Brutto-VK | Einkauf | Versandgewicht | Außenmaß (LxBxH) | am Lager | EAN | INCI
        101 | Bergwiese | Seife | 100 g | 7,20 € | 1,95 € | 112 g | 80 x 55 x 26 mm | 33 | 9520000010010 | Sodium Olivate, Aqua
        102 | Latsche | Seife | 100 g | 7,20 € | 2,05 € | 112 g | 80 x 55 x 26 mm | 12 | 9520000010027 | Sodium Olivate, Aqua
        201 | Murmel | Salbe | 50 ml | 14,50 € | 4,10 € | 140 g | 62 x 62 x 45 mm | 20 | 9520000010034 | Cera Alba, Parfum
        """,
        "code, name, form, net, retail, cost, weight, size, on hand, gtin, ingredients",
    ),
    _sheet(
        "atelier",
        """
        Référence interne | Nom commercial | Catégorie | Prix TTC (€) | Coût matières + emballage | Poids emballé (g) | L x l x H (mm) | En stock | À tenir debout | Verre | Péremption (mois)
        BA-1 | Bain d'ardoise | sel de bain | 9,90 | 2,40 | 262 | 150 x 100 x 42 | 18 | non | non | 24
        BA-2 | Bain de paille | sel de bain | 9,90 | 2,40 | 262 | 150 x 100 x 42 | 22 | non | non | 24
        HU-1 | Huile d'été | huile | 18,00 | 5,10 | 270 | 50 x 50 x 140 | 7 | oui | oui | 12
        """,
        "code, name, form, retail, cost, weight, size, on hand, upright, fragile, shelf life",
    ),
    _sheet(
        "taller",
        """
        Ref. | Descripción | Olor | Presentación | Precio tienda | Coste fabricación | Peso bruto | Dimensiones embalado | Uds. | Fecha caducidad | Observaciones
        T1 | Jabón de higo | higo | banda | 6.50 € | 1.70 € | 110 g | 80 x 55 x 25 mm | 40 | 2027-05-01 | feria
        T2 | Jabón de tomillo | tomillo | banda | 6.50 € | 1.75 € | 110 g | 80 x 55 x 25 mm | 12 | 2027-06-01 |
        T3 | Bálsamo de abeja | miel | lata | 9.00 € | 2.60 € | 85 g | 68 x 68 x 25 mm | 15 | 2027-07-01 |
        """,
        "code, name, scent, container, retail, cost, weight, size, on hand, -, -",
    ),
)
