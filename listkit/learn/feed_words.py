"""Words for the columns of a feed: the common table, less what means something else in a feed, and words of its own.

In an owner's sheet "price" may be a cost, and "product" is a name; in a feed other words are doubtful. Again these are
only words that people use (from memory) and those of open standards; a word with "?" is never sure alone.
"""

from dataclasses import replace
from typing import Final

from listkit.learn.folding import words_of
from listkit.learn.hits import Vocabulary
from listkit.learn.words import MEANINGS, Meaning, meaning


def _words(*lines: str) -> frozenset[tuple[str, ...]]:
    return frozenset(words_of(word) for line in lines for word in line.split(",") if word.strip())


# In a feed these are said of other things as well, so that they are never sure there without cells that tell.
_DOUBTFUL: Final = {
    "code": _words("product ID, product code, product number, product no, product ref, product reference, item ID, ID,"
                   "code produit, réf produit, référence produit, Produktnummer, Produktcode, código de producto,"
                   "código producto, Bestellnummer, Bestell-Nr, part number, style number"),
    "name": _words("product, item, article, produit, Artikel, Produkt, producto, artículo"),
    "on hand": _words("in stock, en stock, auf Lager, stock, on the shelf, in store, ready, en almacén"),
    "status": _words("status, on sale, for sale, still sold, statut, en vente, im Verkauf, estado, en venta"),
    "url": _words("URL, link, lien, enlace"),
    "net": _words("net weight, net wt, poids net, Nettogewicht, peso neto, volume, volumen, volume net, net volume"),
    "choice": _words("variant, variante"),
    "season": _words("collection, colección, Kollektion"),
    "country": _words("country of origin, pays d'origine, Herkunftsland"),
    "box": _words("box, caja, boîte, Karton, Schachtel, box size"),
    "group": _words("parent, group code"),
    "set": _words("set, gift set, coffret, Geschenkset, estuche"),
    "plain text": _words("short description, short text, summary, résumé, description courte, Kurzbeschreibung,"
                         "Kurztext, resumen, descripción corta"),
    "tax": _words("tax, VAT, sales tax, tax rate, TVA, taxe, taux de TVA, MwSt, Mehrwertsteuer, USt, Steuer,"
                  "Steuersatz, IVA, impuesto"),
    "brand": _words("maker, made by"),
    "weight": _words("total weight, poids total, peso total, Gesamtgewicht"),
    "contents": _words("includes, incluye"),
    "title": _words("heading, headline"),
}  # fmt: skip
# Alone these are doubtful in a sheet, and plain in a feed.
_PLAIN: Final = {
    "retail": _words("price, prix, tarif, Preis, precio, Verkaufspreis, Einzelpreis, Stückpreis,"
                     "price each, unit price, prix unitaire, precio unitario"),
    "title": _words("title, Titel"),
    "description": _words("description"),
}  # fmt: skip
_OWN: Final = (
    meaning("code", "/ sku",
            en="variant code, variant number, variant ref, variant ID?",
            fr="code variante, réf variante, référence variante",
            de="Variantennummer, Varianten-Nr, Variantencode, Varianten-Artikelnummer",
            es="código de variante, código variante, referencia variante"),
    meaning("group", "/ inProductGroupWithID",
            en="set number, set ref, listing code, parent number, parent ref, family code?, belongs to?, product ID?,"
            "product code?, product number?, product no?, product ref?, item ID?, ID?",
            fr="réf coffret, référence coffret, code groupe, réf parent, article parent, code produit?, réf produit?",
            de="Set-Nr, Hauptartikel, Hauptartikelnummer, Hauptartikel-Nr, Elternartikel, Gruppe?, Produktnummer?,"
            "Produktcode?",
            es="código padre, referencia padre, código del estuche, grupo?, código de producto?, código producto?"),
    meaning("name", "/ name",
            en="variant name, full name, variant title",
            fr="nom de la variante, nom complet",
            de="Variantenname, vollständiger Name",
            es="nombre de la variante, nombre completo"),
    meaning("suggested retail", "/ suggestedRetail",
            en="RRP, SRP, MSRP, recommended retail price, suggested retail, suggested retail price, retail value?,"
            "list price?",
            fr="prix public conseillé, prix de vente conseillé, PVC",
            de="UVP, unverbindliche Preisempfehlung, empfohlener Verkaufspreis",
            es="PVP recomendado, precio de venta recomendado, precio recomendado"),
    meaning("prior price", "/ priorPrice",
            en="price before, price before reduction, old price, former price, was price, struck-through price",
            fr="prix barré, ancien prix, prix avant réduction, prix avant remise",
            de="Streichpreis, alter Preis, vorheriger Preis, Preis vor Reduzierung",
            es="precio anterior, precio tachado, precio antes de la rebaja"),
    meaning("parcel weight", "/ parcelWeight",
            en="shipping weight, postal weight, packed weight, weight packed, boxed weight, ship weight, parcel wt",
            fr="poids emballé, poids d'expédition, poids envoi",
            de="Versandgewicht, Gewicht verpackt, Paketgewicht",
            es="peso de envío, peso embalado, peso con embalaje"),
    meaning("image", "/ image",
            en="image URL, picture URL, photo URL, picture link, link to picture, image file, picture file,"
            "link to image,"
            "picture name, main picture, main image, main photo, first picture, cover picture, more pictures?",
            fr="URL image, URL de l'image, lien image, lien photo, URL photo, image principale, photo principale",
            de="Bild-URL, URL Bild, Foto-URL, Bilddatei, Hauptbild, Titelbild, weitere Bilder?",
            es="URL imagen, URL de la imagen, enlace imagen, enlace foto, URL foto, imagen principal, foto principal"),
    meaning("alt", "/ alt",
            en="picture alt text, photo alt text, alt text picture, picture description,"
            "picture alt, words for picture",
            fr="texte alternatif image, texte alternatif photo, alt image, description image",
            de="Bild Alternativtext, Alternativtext Bild, Bild Alt, Bildtext",
            es="texto alternativo imagen, texto alternativo foto, descripción imagen"),
    meaning("url", "/ url",
            en="product URL, listing URL, page URL, item URL, listing link, product link, listing address",
            fr="URL produit, URL du produit, URL de la page, lien produit",
            de="Produkt-URL, Artikel-URL, Seiten-URL, Produktlink",
            es="URL producto, URL del producto, URL de la página, enlace producto"),
    meaning("on hand", "/ inventoryLevel",
            en="inventory level, stock quantity, stock qty, quantity available, available quantity, number available,"
            "to sell, pieces to sell",
            fr="quantité disponible, quantité stock, stock dispo, nombre disponible",
            de="verfügbare Menge, Bestandsmenge, Lagermenge, verkaufbarer Bestand, Menge auf Lager",
            es="cantidad disponible, cantidad en almacén, unidades disponibles, nivel de existencias"),
    meaning("sellable", "/ inStock",
            en="in stock?, available?, buyable?, in stock yes no",
            fr="en stock?, disponible?, disponible oui non",
            de="auf Lager?, lieferbar?, verfügbar?",
            es="en stock?, disponible?"),
    meaning("status", "/ availability",
            en="availability status, stock status",
            fr="état du stock, statut du stock",
            de="Lagerstatus, Bestandsstatus",
            es="estado de existencias"),
    meaning("slot", "/ slot",
            en="what the buyer chooses, choose, choose what", fr="au choix, à choisir", de="Wählbar, zu wählen",
            es="a elegir"),
    meaning("choice", "/ choice",
            en="chosen value, choose from?", fr="valeur choisie, choisi", de="Gewählt, Ausprägung",
            es="valor elegido, elegido"),
    meaning("theme", "/ theme",
            en="line below the title, short line?, teaser, one line",
            fr="ligne sous le titre, phrase d'accroche",
            de="Zeile unter dem Titel",
            es="línea bajo el título"),
    meaning("plain text", "/ plainDescription",
            en="plain description, description plain, description without marks",
            fr="description sans balises",
            de="Beschreibung ohne HTML, Reintext",
            es="descripción sin formato"),
    meaning("keywords", "/ keywords",
            en="keyword, keyword list, search keywords",
            fr="mot clé, mots de recherche",
            de="Suchwörter, Schlagwort, Stichwort",
            es="palabra clave, términos de búsqueda"),
    meaning("brand", "/ brand",
            en="brand name", fr="nom de la marque", de="Markenname, Hersteller?", es="nombre de la marca"),
    meaning("category", "/ category",
            en="category name, product type?, item type?, type of goods",
            fr="nom de catégorie, type de produit?",
            de="Produktkategorie, Produktgruppe, Produktart?",
            es="categoría de producto, tipo de producto?"),
    meaning("currency", "/ priceCurrency",
            en="currency of price, ISO currency", fr="code devise", de="Währungscode, Währungskürzel",
            es="código de moneda"),
    meaning("valid until", "/ priceValidUntil",
            en="price ends, price end date, price valid to",
            fr="fin de prix, date de fin du prix",
            de="Preis bis, Preisende",
            es="fin del precio"),
    meaning("starts", "/ availabilityStarts",
            en="sale starts, sell from, from date, available since, on sale since, first day",
            fr="en vente à partir du, début de vente, date de début",
            de="Verkaufsstart, ab Datum, Verkauf ab, lieferbar ab",
            es="inicio de venta, fecha de inicio, en venta desde"),
    meaning("ends", "/ availabilityEnds",
            en="sale ends, sell until, until date, last day, on sale till",
            fr="en vente jusqu'au, fin de vente, date de fin",
            de="Verkaufsende, bis Datum, Verkauf bis, lieferbar bis",
            es="fin de venta, fecha de fin, en venta hasta"),
    meaning("net", "/ netContents",
            en="net contents each, sizes of items, contents and sizes",
            fr="contenances", de="Füllmengen, Nettoinhalte", es="contenidos netos"),
    meaning("language", "/ language", en="language of text, text language", fr="langue du texte", de="Textsprache",
            es="idioma del texto"),
    meaning("country", "/ country", en="country of sale, selling country, market", fr="pays de vente",
            de="Verkaufsland",
            es="país de venta"),
)  # fmt: skip
# In a feed the words of these are theirs alone: in a sheet they mean the price and the weight.
_ELSEWHERE: Final = frozenset(
    words_of(word)
    for row in _OWN
    if row.name in ("suggested retail", "parcel weight")
    for word in (*row.words, *row.weak)
)
_FORMAT_WORDS: Final = frozenset(
    {"html", "text", "texte", "texto", "list", "liste", "utf", "iso", "format", "column", "spalte", "colonne", "feld",
     "champ", "campo", "field", "set", "variant", "variante", "listing"}
)  # fmt: skip
"""Words beside a heading's own that say how it is written, or of what; they change nothing."""


def _for_feeds(row: Meaning) -> Meaning:
    """Return a row of the common table as it holds for feeds: some words are less sure there, some more."""
    doubtful, plain = _DOUBTFUL.get(row.name, frozenset()), _PLAIN.get(row.name, frozenset())
    words = [word for word in row.words if words_of(word) not in _ELSEWHERE]
    weak = [word for word in row.weak if words_of(word) not in _ELSEWHERE]
    sure = [word for word in words if words_of(word) not in doubtful] + [w for w in weak if words_of(w) in plain]
    unsure = [word for word in weak if words_of(word) not in plain] + [w for w in words if words_of(w) in doubtful]
    return replace(row, item="", words=tuple(sure), weak=tuple(unsure))


FEED_MEANINGS: Final = (*map(_for_feeds, MEANINGS), *_OWN)
FEED_WORDS: Final = Vocabulary(FEED_MEANINGS, _FORMAT_WORDS)
"""The words of feeds; several rows may be of one field."""
