"""Words of the trade for headings, in English, French, German and Spanish: one table for items and for feeds.

Only words that people say and write (from memory), and those of open standards (schema.org, GS1): no program's
column names. A word with "?" behind it is used for other things as well: alone it is never sure. Words are compared
folded, so case, accents, punctuation and plural endings do not matter here.
"""

from dataclasses import dataclass
from typing import Final

# Meaning: one thing that a heading may stand for, with the words for it.


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a heading may stand for.

    `item` names a field of the items table, `feed` one of FIELDS; either is "" where there is none. `words` are
    sure when they stand alone, `weak` ones only when something else speaks for them.
    """

    name: str
    item: str
    feed: str
    words: tuple[str, ...]
    weak: tuple[str, ...]


def meaning(name: str, fields: str, *languages: str) -> Meaning:
    """Return a row of the table: `fields` is "item field / feed field", each language its words with commas between."""
    item, _, feed = (part.strip() for part in fields.partition("/"))
    said = [word.strip() for language in languages for word in language.split(",") if word.strip()]
    weak = tuple(word.removesuffix("?") for word in said if word.endswith("?"))
    return Meaning(name, item, feed, tuple(word for word in said if not word.endswith("?")), weak)


MEANINGS: Final[tuple[Meaning, ...]] = (
    meaning("code", "code / sku",
            "code, stock no, item code, product code, article code, stock code, item number, item no, product number,"
            "product no, article number, article no, stock number, SKU, our code, our ref, ref, reference,"
            "part number, item ref, product ref, product reference, style number, item ID, product ID, ID?, no?,"
            "number?, key?, short code",
            "code article, code produit, référence, réf, réf article, référence article, référence produit,"
            "numéro d'article, n° article, réf produit, n°?, numéro?",
            "Artikelnummer, Artikel-Nr, Art-Nr, Artnr, ArtikelNr, Artikelcode, Bestellnummer, Bestell-Nr,"
            "Produktnummer, Produktcode, Kürzel, Nr?, Nummer?, Kennung?",
            "código, código de artículo, código de producto, código artículo, código producto, referencia,"
            "número de artículo, clave, cód, núm?"),
    meaning("name", "name / name",
            "name, product name, item name, product title, product, item, article, item title, what it is, what?,"
            "description?, product description?, title?, variety?, fragrance name?",
            "nom, nom du produit, nom de l'article, produit, désignation, libellé, article, intitulé",
            "Bezeichnung, Artikelbezeichnung, Produktbezeichnung, Produktname, Artikelname, Produkt, Artikel,"
            "Benennung, Beschreibung?, Sorte?, Titel?",
            "nombre, nombre del producto, nombre producto, nombre del artículo, producto, artículo, denominación,"
            "descripción?, concepto?"),
    meaning("form", "form /",
            "form, product type, item type, kind, kind of product, product form, product category?, type?, category?,"
            "group?, range?, sort?, line?, product line?, family?",
            "type de produit, genre, type?, catégorie?, gamme?, famille?, forme?",
            "Produktart, Artikelart, Warenart, Produkttyp, Art?, Typ?, Kategorie?, Gruppe?, Warengruppe?, Sorte?,"
            "Form?",
            "tipo de producto, clase, tipo?, categoría?, gama?, familia?"),
    meaning("scent", "scent /",
            "scent, fragrance, aroma, smell, perfume, scented with, scent name, scent family?, flavour?, flavor?",
            "parfum, senteur, odeur, fragrance, arôme",
            "Duft, Duftrichtung, Duftnote, Geruch, Aroma, Duftsorte",
            "aroma, fragancia, olor, perfume, esencia?"),
    meaning("net", "net / netContents",
            "net, fill, net contents, net content, net weight, net wt, net quantity, fill weight, fill volume,"
            "label weight, volume, label size, net volume, nominal quantity, contents?, content?, quantity?, qty?,"
            "size?, pack size?",
            "contenu net, contenance, poids net, quantité nette, volume net, volume, contenu?, quantité?, taille?",
            "Nettoinhalt, Inhalt, Füllmenge, Nettofüllmenge, Nettogewicht, Nettomenge, Füllgewicht, Nennfüllmenge,"
            "Volumen, Menge?, Größe?, Groesse?",
            "contenido neto, contenido, peso neto, cantidad neta, volumen, cantidad?, tamaño?"),
    meaning("container", "container /",
            "container, packed in, comes in, vessel, container type, packaging?, package?, pack?, packing?, wrapper?",
            "contenant, récipient, conditionné en, emballage?, conditionnement?",
            "Gebinde, Behälter, Behältnis, Gefäß, Verpackung?, verpackt in",
            "envase, recipiente, envasado en, embalaje?, presentación?"),
    meaning("retail", "retail / price",
            "retail, retail price, shop price, selling price, sell price, consumer price, RRP, SRP, MSRP,"
            "recommended retail price, suggested retail, suggested retail price, list price?, price to customer,"
            "customer price, stall price, our price?, retail value, sells for, sells at, price?, unit price?,"
            "price each?",
            "prix de vente, prix public, tarif public, prix public conseillé, prix de vente conseillé,"
            "prix de vente TTC, prix TTC, prix au détail, prix boutique, prix client, PV TTC, PVC TTC, prix?, tarif?,"
            "prix unitaire?, PU?",
            "Verkaufspreis, Ladenpreis, Endpreis, Endkundenpreis, Bruttopreis, VK, VK-Preis, VK brutto, Brutto-VK,"
            "Preis brutto, Einzelhandelspreis, UVP, unverbindliche Preisempfehlung, Verbraucherpreis, Preis?,"
            "Stückpreis?, Einzelpreis?",
            "precio de venta, precio de venta al público, precio venta público, PVP, precio al público, precio final,"
            "precio venta, precio al por menor, precio tienda, precio con IVA, precio?, precio unitario?"),
    meaning("cost", "cost / fullCost",
            "cost, unit cost, cost price, cost to make, cost of goods, cost each, making cost, make cost,"
            "production cost, cost per unit, purchase price, buying price, buy price, bought for, costs me, costs us,"
            "landed cost, total cost?, price?, unit price?, material cost?, materials?",
            "coût, coût de revient, prix de revient, coût unitaire, coût de production, coût de fabrication,"
            "prix d'achat, prix d'achat HT, PA HT, PA?, P.A.?, coût matière?, prix?, prix unitaire?",
            "Kosten, Stückkosten, Selbstkosten, Herstellkosten, Herstellungskosten, Einkaufspreis, Einkauf?, EK,"
            "EK-Preis, EK netto, Einstandspreis, Gestehungskosten, Kosten pro Stück, Preis?, Materialkosten?",
            "coste, costo, coste fabricación, coste de fabricación, coste unitario, costo unitario, precio de coste,"
            "precio de costo, precio de compra, coste de producción, precio coste, coste por unidad, precio?,"
            "coste de materiales?"),
    meaning("wholesale", "/ wholesalePrice",
            "wholesale, wholesale price, trade price, stockist price, price to shops, reseller price, trade, WSP",
            "prix de gros, prix revendeur, prix professionnel, prix magasin, tarif revendeur, prix de cession",
            "Großhandelspreis, Händlerpreis, Wiederverkäuferpreis, Handelspreis, HEK, Händlereinkaufspreis",
            "precio al por mayor, precio mayorista, precio distribuidor, precio para tiendas"),
    meaning("weight", "weight / weight",
            "weight, gross weight, shipping weight, postal weight, weight each, packed weight, total weight,"
            "unit weight, gross wt, wt, weight gross, weight packed, boxed weight, ship weight, gross?, weighs",
            "masse?, poids, poids brut, poids total, poids emballé, poids unitaire, poids d'expédition",
            "Gewicht, Bruttogewicht, Stückgewicht, Gesamtgewicht, Versandgewicht, Gewicht brutto, Gew, Masse?",
            "peso, peso bruto, peso total, peso unitario, peso de envío"),
    meaning("size", "size /",
            "size, dimensions, dims, measurements, measures, outside size, outer size, outside dimensions, L x W x H,"
            "LxWxH, length x width x height, length width height, W x D x H, WxDxH, H x W x D?, HxWxD?, L x B x H,"
            "product size, product dimensions",
            "dimensions, dimensions extérieures, mesures, encombrement, taille, L x l x h,"
            "longueur x largeur x hauteur, format?",
            "Größe, Groesse, Maße, Masse?, Abmessungen, Abmessung, Außenmaße, Aussenmasse, LxBxH, L x B x H, BxTxH,"
            "Produktmaße, Länge x Breite x Höhe, Format?",
            "medidas, dimensiones, tamaño, medidas exteriores, largo x ancho x alto, medida, formato?"),
    meaning("length", "/", "length, L?, long", "longueur", "Länge", "largo, longitud"),
    meaning("width", "/ width", "width, W?, wide", "largeur", "Breite, B?", "ancho, anchura"),
    meaning("depth", "/ depth", "depth, D?, deep", "profondeur", "Tiefe, T?", "fondo, profundidad"),
    meaning("height", "/ height", "height, H?, tall, high", "hauteur", "Höhe", "alto, altura"),
    meaning("diameter", "/", "diameter, dia, Ø", "diamètre", "Durchmesser", "diámetro"),
    meaning("shape", "shape /",
            "shape, outline, form of piece, round or square",
            "forme, forme géométrique",
            "Form?, Umriss, Körperform, Formgebung?",
            "forma"),
    meaning("upright", "upright /",
            "upright, keep upright, this way up, must stand, stands, stand up, standing",
            "debout, vertical, à la verticale, tenir debout, toujours debout",
            "aufrecht, stehend, muss stehen, nur stehend, aufrecht stehend",
            "vertical, de pie, derecho, mantener vertical"),
    meaning("fragile", "fragile /",
            "fragile, breakable, breaks, glass?, handle with care, delicate?",
            "fragile, cassable, verre?",
            "zerbrechlich, bruchempfindlich, empfindlich?, Glas?",
            "frágil, rompible, delicado?"),
    meaning("shelf life", "shelf life / shelfLife",
            "shelf life, keeps, keeps for, keeping time, durability, shelf life months, months shelf life, lasts,"
            "use within, keeps months, period after opening?, PAO?, life?, best before?",
            "durée de conservation, conservation, durée de vie, durabilité, péremption?, DDM?, DLUO?",
            "Haltbarkeit, haltbar, Haltbarkeitsdauer, Mindesthaltbarkeit, Lagerfähigkeit, MHD?",
            "caducidad, vida útil, duración, conservación, período de conservación, consumo preferente?"),
    meaning("on hand", "on hand / inventoryLevel",
            "on hand, in hand, in stock, stock, stock level, stock on hand, pieces ready, available stock, inventory,"
            "units in stock, qty on hand, quantity on hand, qty in stock, in store, current stock, quantity in stock,"
            "ready, ready to sell, number in stock, on the shelf, on shelf, how many?, count?, quantity?, qty?,"
            "available?, pieces?, left?, units?",
            "stock, en stock, qté dispo, quantité en stock, stock disponible, stock actuel, disponible?, quantité?,"
            "nombre?, qté?, pièces?",
            "Bestand, Lagerbestand, Best?, auf Lager, am Lager, vorrätig, Vorrat, Stückzahl, Lager?, Anzahl?, Menge?,"
            "Stück?, verfügbar?",
            "existencias, en stock, stock, disponible?, cantidad?, unidades?, uds?, inventario, en almacén,"
            "stock actual, cantidad en stock"),
    meaning("gtin", "gtin / gtin",
            "GTIN, EAN, EAN code, EAN13, EAN 13, barcode, bar code, GTIN 13, GTIN13, GTIN 12, UPC, UPC A, GTIN EAN,"
            "EAN GTIN, EAN barcode, barcode number, GTIN 14, GTIN 8",
            "code-barres, code barre, code EAN, EAN",
            "Strichcode, Barcode, EAN-Code, EAN-Nummer, GTIN, EAN-Nr",
            "código de barras, código EAN, EAN, cód barras, código barras"),
    meaning("ingredients", "ingredients / ingredients",
            "ingredients, INCI, ingredient list, INCI list, ingredients INCI, made of, made from, made with,"
            "label ingredients",
            "ingrédients, liste INCI, composition, liste des ingrédients, ingrédients INCI",
            "Inhaltsstoffe, Zutaten, INCI-Liste, Bestandteile, Inhaltsstoffe INCI, Zusammensetzung",
            "ingredientes, composición, lista INCI, lista de ingredientes, ingredientes INCI"),
    meaning("cautions", "cautions / cautions",
            "cautions, warnings, safety, safety note, safety information, safety advice, precautions, caution,"
            "warning text",
            "précautions, avertissements, mises en garde, précautions d'emploi, consignes de sécurité",
            "Warnhinweise, Sicherheitshinweise, Vorsichtsmaßnahmen, Hinweise?, Warnungen, Vorsicht",
            "advertencias, precauciones, avisos, precaución"),
    meaning("foams", "foams /",
            "foams, foams in the bath, foaming, foaming surfactant, bubbles?",
            "mousse, mousse dans le bain, moussant",
            "schäumt, Schaum?, schäumend",
            "hace espuma, espuma?, espumoso"),
    meaning("rinse off", "rinse off /",
            "rinse off, rinsed off, rinsed, wash off", "à rincer, rincé", "abzuspülen, abspülen", "con aclarado"),
    meaning("from age", "from age /",
            "from age, age, ages, age grade, age from, minimum age, suitable from, for ages",
            "âge, dès l'âge de, âge minimum",
            "Alter, ab Alter, Mindestalter, Altersempfehlung",
            "edad, desde la edad, edad mínima"),
    meaning("larger", "larger /",
            "larger, full size, full size code, mini of, larger size, big sister, sample of, travel size of",
            "grand format, format entier, mini de, grande taille",
            "große Größe, Vollgröße, Mini von, Originalgröße",
            "tamaño grande, tamaño completo, mini de, formato grande"),
    meaning("status", "status / availability",
            "status, availability, on sale, still sold, for sale, state?, active?, selling?, live?",
            "statut, en vente, disponibilité, état?, actif?",
            "Status, im Verkauf, Verfügbarkeit, lieferbar, Zustand?, aktiv?",
            "estado, en venta, disponibilidad, situación?, activo?"),
    # What a feed has beside; items have no such column.
    meaning("title", "/ title",
            "title?, listing title, heading, headline",
            "titre, titre de l'annonce",
            "Titel?, Überschrift",
            "título, titular"),
    meaning("description", "/ description",
            "description, long description, full description, text, body text, story, about, product description,"
            "listing text, details?",
            "description, description longue, texte, descriptif, histoire",
            "Beschreibung, Langbeschreibung, Produktbeschreibung, Artikelbeschreibung, Text, Langtext,"
            "Beschreibungstext",
            "descripción, descripción larga, texto, descripción del producto"),
    meaning("plain text", "/ plainDescription",
            "short description, plain text, short text, summary",
            "résumé, description courte",
            "Kurzbeschreibung, Kurztext",
            "resumen, descripción corta"),
    meaning("keywords", "/ keywords",
            "keywords, search words, search terms, labels?",
            "mots-clés, mots clés",
            "Schlagworte, Schlagwörter, Stichworte, Suchbegriffe",
            "palabras clave"),
    meaning("image", "/ image",
            "image, picture, photo, image address, picture address, photo link, photo file",
            "image, photo, illustration",
            "Bild, Foto, Bildadresse, Abbildung, Bildlink",
            "imagen, foto, fotografía"),
    meaning("alt", "/ alt",
            "alt, alt text, alternative text, picture text, image description",
            "texte alternatif",
            "Alternativtext, Alt-Text, Bildbeschreibung",
            "texto alternativo"),
    meaning("url", "/ url",
            "URL, link, web address, page address, web page, product page",
            "lien, adresse web, lien web, page web",
            "Webadresse, Seitenadresse, Verweis",
            "enlace, dirección web, página web"),
    meaning("group", "/ inProductGroupWithID",
            "product group ID, in product group with ID, parent code, set code, parent, group code",
            "code du coffret, code parent",
            "Gruppencode, übergeordneter Artikel, Setnummer",
            "código de grupo"),
    meaning("set", "/ setName",
            "set name, gift set, set",
            "coffret, nom du coffret",
            "Geschenkset, Setname",
            "estuche, nombre del set"),
    meaning("theme", "/ theme",
            "theme, tagline, in one sentence, strapline",
            "thème, accroche",
            "Thema, Motto",
            "tema, lema"),
    meaning("slot", "/ slot",
            "option name, slot, choice name, what to choose",
            "nom de l'option",
            "Auswahlname, Optionsname",
            "nombre de la opción"),
    meaning("choice", "/ choice",
            "option, option value, choice, chosen, variant",
            "option, choix, variante",
            "Auswahl, Wahl, Variante",
            "opción, elección, variante"),
    meaning("contents", "/ contents",
            "what's inside, in the box, box contents, includes, set contents, what is in it",
            "contenu du coffret, composition du coffret",
            "im Paket enthalten, Lieferumfang",
            "contenido del estuche, incluye"),
    meaning("brand", "/ brand",
            "brand, maker, manufacturer, made by",
            "marque, fabricant",
            "Marke, Hersteller",
            "marca, fabricante"),
    meaning("category", "/ category",
            "category, product category, department, section",
            "catégorie, rayon",
            "Kategorie, Warengruppe, Abteilung",
            "categoría, sección"),
    meaning("currency", "/ priceCurrency",
            "currency, price currency, currency code",
            "devise, monnaie",
            "Währung",
            "moneda, divisa"),
    meaning("valid until", "/ priceValidUntil",
            "price valid until, valid until, price until",
            "prix valable jusqu'au",
            "gültig bis, Preis gültig bis",
            "válido hasta, precio válido hasta"),
    meaning("starts", "/ availabilityStarts",
            "availability starts, on sale from, available from",
            "disponible à partir du, en vente dès",
            "verfügbar ab, erhältlich ab",
            "disponible desde, a la venta desde"),
    meaning("ends", "/ availabilityEnds",
            "availability ends, on sale until, available until",
            "disponible jusqu'au",
            "verfügbar bis, erhältlich bis",
            "disponible hasta"),
    meaning("parcel weight", "/ parcelWeight",
            "parcel weight, weight of parcel, package weight",
            "poids du colis",
            "Paketgewicht",
            "peso del paquete"),
    meaning("chargeable weight", "/ chargeableWeight",
            "chargeable weight, billed weight",
            "poids taxable",
            "frachtpflichtiges Gewicht",
            "peso facturable"),
    meaning("volumetric weight", "/ volumetricWeight",
            "volumetric weight, dimensional weight",
            "poids volumétrique",
            "Volumengewicht",
            "peso volumétrico"),
    meaning("lowest", "/ lowestPrice",
            "lowest price, from price, price from",
            "à partir de, prix minimum",
            "Preis ab, ab Preis",
            "precio desde, desde"),
    meaning("highest", "/ highestPrice", "highest price, price up to", "prix maximum", "Höchstpreis", "precio máximo"),
    meaning("tax", "/ includedTax",
            "tax, VAT, included tax, sales tax, tax rate",
            "TVA, taxe, taux de TVA",
            "MwSt, Mehrwertsteuer, USt, Steuer, Steuersatz",
            "IVA, impuesto"),
    meaning("kept", "/ kept",
            "margin, profit, markup, kept",
            "marge, bénéfice",
            "Marge, Gewinn, Spanne",
            "margen, beneficio"),
    meaning("season", "/ season",
            "season, collection",
            "saison, collection",
            "Saison, Jahreszeit, Kollektion",
            "temporada, colección"),
    meaning("box", "/ box",
            "gift box, box size, box",
            "boîte, coffret cadeau",
            "Geschenkbox, Schachtel, Karton",
            "caja"),
    meaning("sellable", "/ inStock",
            "is in stock, can be bought, can be ordered, sellable",
            "commandable, achetable",
            "bestellbar, kaufbar",
            "se puede comprar, se puede pedir"),
    meaning("can make", "/ canMake", "can make", "", "herstellbar", ""),
    meaning("language", "/ language", "language", "langue", "Sprache", "idioma"),
    meaning("country", "/ country",
            "country, country of origin",
            "pays, pays d'origine",
            "Land, Herkunftsland",
            "país"),
    # Columns that owners keep for themselves.
    meaning("notes", "/",
            "notes, remarks, comments, note, to do",
            "remarques, commentaires, notes",
            "Bemerkungen, Notizen, Anmerkung, Bemerkung, Kommentar",
            "notas, observaciones, comentarios"),
    meaning("supplier", "/", "supplier, bought from, vendor", "fournisseur", "Lieferant", "proveedor"),
    meaning("batch", "/",
            "batch, batch number, lot, lot number, made on, expiry, expiry date, best before date, best before end",
            "lot, numéro de lot, date limite",
            "Charge, Chargennummer, Los, Ablaufdatum, Mindesthaltbarkeitsdatum",
            "lote, fecha de caducidad"),
    meaning("row", "/",
            "row, line, line number, position, #",
            "ligne",
            "Zeile, Pos, lfd Nr, laufende Nummer",
            "fila, línea"),
)  # fmt: skip
