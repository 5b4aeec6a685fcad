"""Words for the columns of a feed: those of the trade, less what in a feed means something else, and more of its own.

In an owner's sheet "price" may be a cost, and "product" is a name; a feed has its own doubts. What is told here is
again only what people say and write (from memory) and words of open standards; a word with "?" is never sure alone.
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
    "retail": _words("price, prix, tarif, Preis, precio, our price, Verkaufspreis, Einzelpreis, Stückpreis,"
                     "price each, unit price, prix unitaire, precio unitario"),
    "title": _words("title, Titel"),
    "description": _words("description"),
}  # fmt: skip
# In a feed these belong to a meaning of their own, below.
_ELSEWHERE: Final = _words(
    "RRP, SRP, MSRP, recommended retail price, suggested retail, suggested retail price, retail value, list price,"
    "UVP, unverbindliche Preisempfehlung, prix public conseillé, prix de vente conseillé",
    "shipping weight, postal weight, packed weight, weight packed, boxed weight, ship weight, poids emballé,"
    "poids d'expédition, Versandgewicht, peso de envío",
)
_OWN: Final = (
    meaning("code", "/ sku",
            "variant code, variant number, variant ref, variant ID?",
            "code variante, réf variante, référence variante",
            "Variantennummer, Varianten-Nr, Variantencode, Varianten-Artikelnummer",
            "código de variante, código variante, referencia variante"),
    meaning("group", "/ inProductGroupWithID",
            "set number, set ref, listing code, parent number, parent ref, family code?, belongs to?, product ID?,"
            "product code?, product number?, product no?, product ref?, item ID?, ID?",
            "réf coffret, référence coffret, code groupe, réf parent, article parent, code produit?, réf produit?",
            "Set-Nr, Hauptartikel, Hauptartikelnummer, Hauptartikel-Nr, Elternartikel, Gruppe?, Produktnummer?,"
            "Produktcode?",
            "código padre, referencia padre, código del estuche, grupo?, código de producto?, código producto?"),
    meaning("name", "/ name",
            "variant name, full name, variant title",
            "nom de la variante, nom complet",
            "Variantenname, vollständiger Name",
            "nombre de la variante, nombre completo"),
    meaning("suggested retail", "/ suggestedRetail",
            "RRP, SRP, MSRP, recommended retail price, suggested retail, suggested retail price, retail value?,"
            "list price?",
            "prix public conseillé, prix de vente conseillé, PVC",
            "UVP, unverbindliche Preisempfehlung, empfohlener Verkaufspreis",
            "PVP recomendado, precio de venta recomendado, precio recomendado"),
    meaning("prior price", "/ priorPrice",
            "price before, price before reduction, old price, former price, was price, struck-through price",
            "prix barré, ancien prix, prix avant réduction, prix avant remise",
            "Streichpreis, alter Preis, vorheriger Preis, Preis vor Reduzierung",
            "precio anterior, precio tachado, precio antes de la rebaja"),
    meaning("parcel weight", "/ parcelWeight",
            "shipping weight, postal weight, packed weight, weight packed, boxed weight, ship weight, parcel wt",
            "poids emballé, poids d'expédition, poids envoi",
            "Versandgewicht, Gewicht verpackt, Paketgewicht",
            "peso de envío, peso embalado, peso con embalaje"),
    meaning("image", "/ image",
            "image URL, picture URL, photo URL, picture link, link to picture, image file, picture file, link to image,"
            "picture name, main picture, main image, main photo, first picture, cover picture, more pictures?",
            "URL image, URL de l'image, lien image, lien photo, URL photo, image principale, photo principale",
            "Bild-URL, URL Bild, Foto-URL, Bilddatei, Hauptbild, Titelbild, weitere Bilder?",
            "URL imagen, URL de la imagen, enlace imagen, enlace foto, URL foto, imagen principal, foto principal"),
    meaning("alt", "/ alt",
            "picture alt text, photo alt text, alt text picture, alt text image, picture description,"
            "picture alt, image alt, words for picture",
            "texte alternatif image, texte alternatif photo, alt image, description image",
            "Bild Alternativtext, Alternativtext Bild, Bild Alt, Bildtext",
            "texto alternativo imagen, texto alternativo foto, descripción imagen"),
    meaning("url", "/ url",
            "product URL, listing URL, page URL, item URL, listing link, product link, listing address",
            "URL produit, URL du produit, URL de la page, lien produit",
            "Produkt-URL, Artikel-URL, Seiten-URL, Produktlink",
            "URL producto, URL del producto, URL de la página, enlace producto"),
    meaning("on hand", "/ inventoryLevel",
            "inventory level, stock quantity, stock qty, quantity available, available quantity, number available,"
            "to sell, pieces to sell",
            "quantité disponible, quantité stock, stock dispo, nombre disponible",
            "verfügbare Menge, Bestandsmenge, Lagermenge, verkaufbarer Bestand, Menge auf Lager",
            "cantidad disponible, cantidad en almacén, unidades disponibles, nivel de existencias"),
    meaning("sellable", "/ inStock",
            "in stock?, available?, buyable?, in stock yes no",
            "en stock?, disponible?, disponible oui non",
            "auf Lager?, lieferbar?, verfügbar?",
            "en stock?, disponible?"),
    meaning("status", "/ availability",
            "availability status, stock status",
            "état du stock, statut du stock",
            "Lagerstatus, Bestandsstatus",
            "estado de existencias"),
    meaning("slot", "/ slot",
            "option label, what the buyer chooses, choice label, option title, choose what",
            "nom option, libellé option, nom du choix, intitulé du choix",
            "Option Name, Auswahl Name, Merkmal, Optionsbezeichnung, Auswahltitel",
            "nombre opción, título opción"),
    meaning("choice", "/ choice",
            "choice value, option choice, chosen value, choose from?",
            "valeur option, valeur de l'option, valeur choisie",
            "Optionswert, Option Wert, Auswahl Wert, Auswahlwert, Merkmalswert, Ausprägung",
            "valor opción, valor de la opción, valor elegido"),
    meaning("theme", "/ theme",
            "subtitle, short line?, teaser, one line", "sous-titre, phrase d'accroche", "Untertitel", "subtítulo"),
    meaning("plain text", "/ plainDescription",
            "plain description, description plain, description without marks",
            "description sans balises",
            "Beschreibung ohne HTML, Reintext",
            "descripción sin formato"),
    meaning("keywords", "/ keywords",
            "keyword, keyword list, search keywords",
            "mot clé, mots de recherche",
            "Suchwörter, Schlagwort, Stichwort",
            "palabra clave, términos de búsqueda"),
    meaning("brand", "/ brand",
            "brand name", "nom de la marque", "Markenname, Hersteller?", "nombre de la marca"),
    meaning("category", "/ category",
            "category name, product type?, item type?, type of goods",
            "nom de catégorie, type de produit?",
            "Produktkategorie, Produktgruppe, Produktart?",
            "categoría de producto, tipo de producto?"),
    meaning("currency", "/ priceCurrency",
            "currency of price, ISO currency", "code devise", "Währungscode, Währungskürzel", "código de moneda"),
    meaning("valid until", "/ priceValidUntil",
            "price ends, price end date, price valid to",
            "fin de prix, date de fin du prix",
            "Preis bis, Preisende",
            "fin del precio"),
    meaning("starts", "/ availabilityStarts",
            "sale starts, from date, available since, on sale since, first day",
            "en vente à partir du, début de vente, date de début",
            "Verkaufsstart, ab Datum, Verkauf ab, lieferbar ab",
            "inicio de venta, fecha de inicio, en venta desde"),
    meaning("ends", "/ availabilityEnds",
            "sale ends, until date, last day, on sale till",
            "en vente jusqu'au, fin de vente, date de fin",
            "Verkaufsende, bis Datum, Verkauf bis, lieferbar bis",
            "fin de venta, fecha de fin, en venta hasta"),
    meaning("net", "/ netContents",
            "net contents each, sizes of items, contents and sizes",
            "contenances", "Füllmengen, Nettoinhalte", "contenidos netos"),
    meaning("language", "/ language", "language of text, text language", "langue du texte", "Textsprache",
            "idioma del texto"),
    meaning("country", "/ country", "country of sale, selling country, market", "pays de vente", "Verkaufsland",
            "país de venta"),
)  # fmt: skip
_FORMAT_WORDS: Final = frozenset(
    {"html", "text", "texte", "texto", "list", "liste", "utf", "iso", "format", "column", "spalte", "colonne", "feld",
     "champ", "campo", "field", "set", "variant", "variante", "listing"}
)  # fmt: skip
"""Words beside a heading's own that say how it is written, or of what; they change nothing."""


def _for_feeds(one: Meaning) -> Meaning:
    """Return a meaning of the trade's words as a feed has it; "" for the items' part, which a feed has not."""
    doubtful, plain = _DOUBTFUL.get(one.name, frozenset()), _PLAIN.get(one.name, frozenset())
    said = [word for word in one.words if words_of(word) not in _ELSEWHERE]
    weak = [word for word in one.weak if words_of(word) not in _ELSEWHERE]
    sure = [word for word in said if words_of(word) not in doubtful] + [w for w in weak if words_of(w) in plain]
    unsure = [word for word in weak if words_of(word) not in plain] + [w for w in said if words_of(w) in doubtful]
    return replace(one, item="", words=tuple(sure), weak=tuple(unsure))


FEED_MEANINGS: Final = (*map(_for_feeds, MEANINGS), *_OWN)
FEED_WORDS: Final = Vocabulary(FEED_MEANINGS, _FORMAT_WORDS)
"""The words of feeds; several rows may be of one field."""
