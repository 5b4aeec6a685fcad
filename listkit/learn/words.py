"""Words of the trade for headings, in English, French, German and Spanish: one table for items and for feeds.

Only words that people say and write (from memory), and those of open standards (schema.org, GS1): no program's
column names. A word with "?" behind it is used for other things as well: alone it is never sure. Words are compared
folded, so case, accents, punctuation and plural endings do not matter here.
"""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Meaning:
    """One thing that a heading may stand for.

    `item` names a field of the items table, `feed` one of FIELDS; either is "" where there is none. `words` are
    sure when they stand alone, `weak` ones only together with other evidence.
    """

    name: str
    item: str
    feed: str
    words: tuple[str, ...]
    weak: tuple[str, ...]


def meaning(name: str, fields: str, **languages: str) -> Meaning:
    """Return a row of the table: `fields` is "item field / feed field", each language's words have commas between.

    >>> meaning("scent", "scent /", en="scent, perfume?", fr="parfum")
    Meaning(name='scent', item='scent', feed='', words=('scent', 'parfum'), weak=('perfume',))
    """
    item, _, feed = (part.strip() for part in fields.partition("/"))
    listed = [word.strip() for text in languages.values() for word in text.split(",") if word.strip()]
    weak = tuple(word.removesuffix("?") for word in listed if word.endswith("?"))
    return Meaning(name, item, feed, tuple(word for word in listed if not word.endswith("?")), weak)


MEANINGS: Final[tuple[Meaning, ...]] = (
    meaning("code", "code / sku",
            en="code, stock no, item code, product code, article code, stock code, item number, item no,"
            "product number,"
            "product no, article number, article no, stock number, SKU, our code, our ref, ref, reference,"
            "part number, item ref, product ref, product reference, style number, item ID, product ID, ID?, no?,"
            "number?, key?, short code",
            fr="code article, code produit, référence, réf, réf article, référence article, référence produit,"
            "numéro d'article, n° article, réf produit, n°?, numéro?",
            de="Artikelnummer, Artikel-Nr, Art-Nr, Artnr, ArtikelNr, Artikelcode, Bestellnummer, Bestell-Nr,"
            "Produktnummer, Produktcode, Kürzel, Nr?, Nummer?, Kennung?",
            es="código, código de artículo, código de producto, código artículo, código producto, referencia,"
            "número de artículo, clave, cód, núm?"),
    meaning("name", "name / name",
            en="name, product name, item name, product title, product, item, article, item title, what it is, what?,"
            "description?, product description?, title?, variety?, fragrance name?",
            fr="nom, nom du produit, nom de l'article, produit, désignation, libellé, article, intitulé",
            de="Bezeichnung, Artikelbezeichnung, Produktbezeichnung, Produktname, Artikelname, Produkt, Artikel,"
            "Benennung, Beschreibung?, Sorte?, Titel?",
            es="nombre, nombre del producto, nombre producto, nombre del artículo, producto, artículo, denominación,"
            "descripción?, concepto?"),
    meaning("form", "form /",
            en="form, product type, item type, kind, kind of product, product form, product category?, type?,"
            "category?,"
            "group?, range?, sort?, line?, product line?, family?",
            fr="type de produit, genre, type?, catégorie?, gamme?, famille?, forme?",
            de="Produktart, Artikelart, Warenart, Produkttyp, Art?, Typ?, Kategorie?, Gruppe?, Warengruppe?, Sorte?,"
            "Form?",
            es="tipo de producto, clase, tipo?, categoría?, gama?, familia?"),
    meaning("scent", "scent /",
            en="scent, fragrance, aroma, smell, perfume, scented with, scent name, scent family?, flavour?, flavor?",
            fr="parfum, senteur, odeur, fragrance, arôme",
            de="Duft, Duftrichtung, Duftnote, Geruch, Aroma, Duftsorte",
            es="aroma, fragancia, olor, perfume, esencia?"),
    meaning("net", "net / netContents",
            en="net, fill, net contents, net content, net weight, net wt, net quantity, fill weight, fill volume,"
            "label weight, volume, label size, net volume, nominal quantity, contents?, content?, quantity?, qty?,"
            "size?, pack size?",
            fr="contenu net, contenance, poids net, quantité nette, volume net, volume, contenu?, quantité?, taille?",
            de="Nettoinhalt, Inhalt, Füllmenge, Nettofüllmenge, Nettogewicht, Nettomenge, Füllgewicht, Nennfüllmenge,"
            "Volumen, Menge?, Größe?, Groesse?",
            es="contenido neto, contenido, peso neto, cantidad neta, volumen, cantidad?, tamaño?"),
    meaning("container", "container /",
            en="container, packed in, comes in, vessel, container type, packaging?, package?, pack?, packing?,"
            "wrapper?",
            fr="contenant, récipient, conditionné en, emballage?, conditionnement?",
            de="Gebinde, Behälter, Behältnis, Gefäß, Verpackung?, verpackt in",
            es="envase, recipiente, envasado en, embalaje?, presentación?"),
    meaning("retail", "retail / price",
            en="retail, retail price, shop price, selling price, sell price, consumer price, RRP, SRP, MSRP,"
            "recommended retail price, suggested retail, suggested retail price, list price?, price to customer,"
            "customer price, stall price, our price?, retail value, sells for, sells at, price?, unit price?,"
            "price each?",
            fr="prix de vente, prix public, tarif public, prix public conseillé, prix de vente conseillé,"
            "prix de vente TTC, prix TTC, prix au détail, prix boutique, prix client, PV TTC, PVC TTC, prix?, tarif?,"
            "prix unitaire?, PU?",
            de="Verkaufspreis, Ladenpreis, Endpreis, Endkundenpreis, Bruttopreis, VK, VK-Preis, VK brutto, Brutto-VK,"
            "Preis brutto, Einzelhandelspreis, UVP, unverbindliche Preisempfehlung, Verbraucherpreis, Preis?,"
            "Stückpreis?, Einzelpreis?",
            es="precio de venta, precio de venta al público, precio venta público, PVP, precio al público,"
            "precio final,"
            "precio venta, precio al por menor, precio tienda, precio con IVA, precio?, precio unitario?"),
    meaning("cost", "cost / fullCost",
            en="cost, unit cost, cost price, cost to make, cost of goods, cost each, making cost, make cost,"
            "production cost, cost per unit, purchase price, buying price, buy price, bought for, costs me, costs us,"
            "landed cost, total cost?, price?, unit price?, material cost?, materials?",
            fr="coût, coût de revient, prix de revient, coût unitaire, coût de production, coût de fabrication,"
            "prix d'achat, prix d'achat HT, PA HT, PA?, P.A.?, coût matière?, prix?, prix unitaire?",
            de="Kosten, Stückkosten, Selbstkosten, Herstellkosten, Herstellungskosten, Einkaufspreis, Einkauf?, EK,"
            "EK-Preis, EK netto, Einstandspreis, Gestehungskosten, Kosten pro Stück, Preis?, Materialkosten?",
            es="coste, costo, coste fabricación, coste de fabricación, coste unitario, costo unitario, precio de coste,"
            "precio de costo, precio de compra, coste de producción, precio coste, coste por unidad, precio?,"
            "coste de materiales?"),
    meaning("wholesale", "/ wholesalePrice",
            en="wholesale, wholesale price, trade price, stockist price, price to shops, reseller price, trade, WSP",
            fr="prix de gros, prix revendeur, prix professionnel, prix magasin, tarif revendeur, prix de cession",
            de="Großhandelspreis, Händlerpreis, Wiederverkäuferpreis, Handelspreis, HEK, Händlereinkaufspreis",
            es="precio al por mayor, precio mayorista, precio distribuidor, precio para tiendas"),
    meaning("weight", "weight / weight",
            en="weight, gross weight, shipping weight, postal weight, weight each, packed weight, total weight,"
            "unit weight, gross wt, wt, weight gross, weight packed, boxed weight, ship weight, gross?, weighs",
            fr="masse?, poids, poids brut, poids total, poids emballé, poids unitaire, poids d'expédition",
            de="Gewicht, Bruttogewicht, Stückgewicht, Gesamtgewicht, Versandgewicht, Gewicht brutto, Gew, Masse?",
            es="peso, peso bruto, peso total, peso unitario, peso de envío"),
    meaning("size", "size /",
            en="size, dimensions, dims, measurements, measures, outside size, outer size, outside dimensions,"
            "L x W x H,"
            "LxWxH, length x width x height, length width height, W x D x H, WxDxH, H x W x D?, HxWxD?, L x B x H,"
            "product size, product dimensions",
            fr="dimensions, dimensions extérieures, mesures, encombrement, taille, L x l x h,"
            "longueur x largeur x hauteur, format?",
            de="Größe, Groesse, Maße, Masse?, Abmessungen, Abmessung, Außenmaße, Aussenmasse, LxBxH, L x B x H, BxTxH,"
            "Produktmaße, Länge x Breite x Höhe, Format?",
            es="medidas, dimensiones, tamaño, medidas exteriores, largo x ancho x alto, medida, formato?"),
    meaning("length", "/", en="length, L?, long", fr="longueur", de="Länge", es="largo, longitud"),
    meaning("width", "/ width", en="width, W?, wide", fr="largeur", de="Breite, B?", es="ancho, anchura"),
    meaning("depth", "/ depth", en="depth, D?, deep", fr="profondeur", de="Tiefe, T?", es="fondo, profundidad"),
    meaning("height", "/ height", en="height, H?, tall, high", fr="hauteur", de="Höhe", es="alto, altura"),
    meaning("diameter", "/", en="diameter, dia, Ø", fr="diamètre", de="Durchmesser", es="diámetro"),
    meaning("shape", "shape /",
            en="shape, outline, form of piece, round or square",
            fr="forme, forme géométrique",
            de="Form?, Umriss, Körperform, Formgebung?",
            es="forma"),
    meaning("upright", "upright /",
            en="upright, keep upright, this way up, must stand, stands, stand up, standing",
            fr="debout, vertical, à la verticale, tenir debout, toujours debout",
            de="aufrecht, stehend, muss stehen, nur stehend, aufrecht stehend",
            es="vertical, de pie, derecho, mantener vertical"),
    meaning("fragile", "fragile /",
            en="fragile, breakable, breaks, glass?, handle with care, delicate?",
            fr="fragile, cassable, verre?",
            de="zerbrechlich, bruchempfindlich, empfindlich?, Glas?",
            es="frágil, rompible, delicado?"),
    meaning("shelf life", "shelf life / shelfLife",
            en="shelf life, keeps, keeps for, keeping time, durability, shelf life months, months shelf life, lasts,"
            "use within, keeps months, period after opening?, PAO?, life?, best before?",
            fr="durée de conservation, conservation, durée de vie, durabilité, péremption?, DDM?, DLUO?",
            de="Haltbarkeit, haltbar, Haltbarkeitsdauer, Mindesthaltbarkeit, Lagerfähigkeit, MHD?",
            es="caducidad, vida útil, duración, conservación, período de conservación, consumo preferente?"),
    meaning("on hand", "on hand / inventoryLevel",
            en="on hand, in hand, in stock, stock, stock level, stock on hand, pieces ready, available stock,"
            "inventory,"
            "units in stock, qty on hand, quantity on hand, qty in stock, in store, current stock, quantity in stock,"
            "ready, ready to sell, number in stock, on the shelf, on shelf, how many?, count?, quantity?, qty?,"
            "available?, pieces?, left?, units?",
            fr="stock, en stock, qté dispo, quantité en stock, stock disponible, stock actuel, disponible?, quantité?,"
            "nombre?, qté?, pièces?",
            de="Bestand, Lagerbestand, Best?, auf Lager, am Lager, vorrätig, Vorrat, Stückzahl, Lager?, Anzahl?,"
            "Menge?,"
            "Stück?, verfügbar?",
            es="existencias, en stock, stock, disponible?, cantidad?, unidades?, uds?, inventario, en almacén,"
            "stock actual, cantidad en stock"),
    meaning("gtin", "gtin / gtin",
            en="GTIN, EAN, EAN code, EAN13, EAN 13, barcode, bar code, GTIN 13, GTIN13, GTIN 12, UPC, UPC A, GTIN EAN,"
            "EAN GTIN, EAN barcode, barcode number, number below the bars, GTIN 14,"
            "GTIN 8",
            fr="code-barres, code barre, code EAN, EAN",
            de="Strichcode, Barcode, EAN-Code, EAN-Nummer, GTIN, EAN-Nr",
            es="código de barras, código EAN, EAN, cód barras, código barras"),
    meaning("ingredients", "ingredients / ingredients",
            en="ingredients, INCI, ingredient list, INCI list, ingredients INCI, made of, made from, made with,"
            "label ingredients",
            fr="ingrédients, liste INCI, composition, liste des ingrédients, ingrédients INCI",
            de="Inhaltsstoffe, Zutaten, INCI-Liste, Bestandteile, Inhaltsstoffe INCI, Zusammensetzung",
            es="ingredientes, composición, lista INCI, lista de ingredientes, ingredientes INCI"),
    meaning("cautions", "cautions / cautions",
            en="cautions, warnings, safety, safety note, safety information, safety advice, precautions, caution,"
            "warning text",
            fr="précautions, avertissements, mises en garde, précautions d'emploi, consignes de sécurité",
            de="Warnhinweise, Sicherheitshinweise, Vorsichtsmaßnahmen, Hinweise?, Warnungen, Vorsicht",
            es="advertencias, precauciones, avisos, precaución"),
    meaning("foams", "foams /",
            en="foams, foams in the bath, foaming, foaming surfactant, bubbles?",
            fr="mousse, mousse dans le bain, moussant",
            de="schäumt, Schaum?, schäumend",
            es="hace espuma, espuma?, espumoso"),
    meaning("rinse off", "rinse off /",
            en="rinse off, rinsed off, rinsed, wash off", fr="à rincer, rincé", de="abzuspülen, abspülen",
            es="con aclarado"),
    meaning("from age", "from age /",
            en="from age, age, ages, age grade, age from, minimum age, suitable from, for ages",
            fr="âge, dès l'âge de, âge minimum",
            de="Alter, ab Alter, Mindestalter, Altersempfehlung",
            es="edad, desde la edad, edad mínima"),
    meaning("larger", "larger /",
            en="larger, full size, full size code, mini of, larger size, big sister, sample of, travel size of",
            fr="grand format, format entier, mini de, grande taille",
            de="große Größe, Vollgröße, Mini von, Originalgröße",
            es="tamaño grande, tamaño completo, mini de, formato grande"),
    meaning("status", "status / availability",
            en="status, availability, on sale, still sold, for sale, state?, active?, selling?, live?",
            fr="statut, en vente, disponibilité, état?, actif?",
            de="Status, im Verkauf, Verfügbarkeit, lieferbar, Zustand?, aktiv?",
            es="estado, en venta, disponibilidad, situación?, activo?"),
    # What a feed has beside; items have no such column.
    meaning("title", "/ title",
            en="title?, listing title, heading, headline",
            fr="titre, titre de l'annonce",
            de="Titel?, Überschrift",
            es="título, titular"),
    meaning("description", "/ description",
            en="description, long description, full description, text, body text, story, about, product description,"
            "listing text, details?",
            fr="description, description longue, texte, descriptif, histoire",
            de="Beschreibung, Langbeschreibung, Produktbeschreibung, Artikelbeschreibung, Text, Langtext,"
            "Beschreibungstext",
            es="descripción, descripción larga, texto, descripción del producto"),
    meaning("plain text", "/ plainDescription",
            en="short description, plain text, short text, summary",
            fr="résumé, description courte",
            de="Kurzbeschreibung, Kurztext",
            es="resumen, descripción corta"),
    meaning("keywords", "/ keywords",
            en="keywords, search words, labels?",
            fr="mots-clés, mots clés",
            de="Schlagworte, Schlagwörter, Stichworte, Suchbegriffe",
            es="palabras clave"),
    meaning("image", "/ image",
            en="image, picture, photo, image address, picture address, photo link, photo file",
            fr="image, photo, illustration",
            de="Bild, Foto, Bildadresse, Abbildung, Bildlink",
            es="imagen, foto, fotografía"),
    meaning("alt", "/ alt",
            en="alt, alt text, alternative text, picture text, image description",
            fr="texte alternatif",
            de="Alternativtext, Alt-Text, Bildbeschreibung",
            es="texto alternativo"),
    meaning("url", "/ url",
            en="URL, link, web address, page address, web page, product page",
            fr="lien, adresse web, lien web, page web",
            de="Webadresse, Seitenadresse, Verweis",
            es="enlace, dirección web, página web"),
    meaning("group", "/ inProductGroupWithID",
            en="product group ID, in product group with ID, parent code, set code, parent, group code",
            fr="code du coffret, code parent",
            de="Gruppencode, übergeordneter Artikel, Setnummer",
            es="código de grupo"),
    meaning("set", "/ setName",
            en="set name, gift set, set",
            fr="coffret, nom du coffret",
            de="Geschenkset, Setname",
            es="estuche, nombre del set"),
    meaning("theme", "/ theme",
            en="theme, tagline, in one sentence, strapline",
            fr="thème, accroche",
            de="Thema, Motto",
            es="tema, lema"),
    meaning("slot", "/ slot",
            en="slot, what to choose", fr="que choisir", de="was zu wählen ist", es="qué elegir"),
    meaning("choice", "/ choice",
            en="option, choice, chosen, variant",
            fr="option, choix, variante",
            de="Auswahl, Wahl, Variante",
            es="opción, elección, variante"),
    meaning("contents", "/ contents",
            en="what's inside, in the box, box contents, includes, set contents, what is in it",
            fr="contenu du coffret, composition du coffret",
            de="im Paket enthalten, Lieferumfang",
            es="contenido del estuche, incluye"),
    meaning("brand", "/ brand",
            en="brand, maker, manufacturer, made by",
            fr="marque, fabricant",
            de="Marke, Hersteller",
            es="marca, fabricante"),
    meaning("category", "/ category",
            en="category, product category, department, section",
            fr="catégorie, rayon",
            de="Kategorie, Warengruppe, Abteilung",
            es="categoría, sección"),
    meaning("currency", "/ priceCurrency",
            en="currency, price currency, currency code",
            fr="devise, monnaie",
            de="Währung",
            es="moneda, divisa"),
    meaning("valid until", "/ priceValidUntil",
            en="price valid until, valid until, price until",
            fr="prix valable jusqu'au",
            de="gültig bis, Preis gültig bis",
            es="válido hasta, precio válido hasta"),
    meaning("starts", "/ availabilityStarts",
            en="availability starts, on sale from, available from",
            fr="disponible à partir du, en vente dès",
            de="verfügbar ab, erhältlich ab",
            es="disponible desde, a la venta desde"),
    meaning("ends", "/ availabilityEnds",
            en="availability ends, on sale until, available until",
            fr="disponible jusqu'au",
            de="verfügbar bis, erhältlich bis",
            es="disponible hasta"),
    meaning("parcel length", "/ parcelLength",
            en="parcel length, length of parcel, package length", fr="longueur du colis", de="Paketlänge",
            es="largo del paquete"),
    meaning("parcel width", "/ parcelWidth",
            en="parcel width, width of parcel, package width", fr="largeur du colis", de="Paketbreite",
            es="ancho del paquete"),
    meaning("parcel height", "/ parcelHeight",
            en="parcel height, height of parcel, package height", fr="hauteur du colis", de="Pakethöhe",
            es="alto del paquete"),
    meaning("parcel weight", "/ parcelWeight",
            en="parcel weight, weight of parcel, package weight",
            fr="poids du colis",
            de="Paketgewicht",
            es="peso del paquete"),
    meaning("chargeable weight", "/ chargeableWeight",
            en="chargeable weight, billed weight",
            fr="poids taxable",
            de="frachtpflichtiges Gewicht",
            es="peso facturable"),
    meaning("volumetric weight", "/ volumetricWeight",
            en="volumetric weight, dimensional weight",
            fr="poids volumétrique",
            de="Volumengewicht",
            es="peso volumétrico"),
    meaning("lowest", "/ lowestPrice",
            en="lowest price, from price, price from",
            fr="à partir de, prix minimum",
            de="Preis ab, ab Preis",
            es="precio desde, desde"),
    meaning("highest", "/ highestPrice", en="highest price, price up to", fr="prix maximum", de="Höchstpreis",
            es="precio máximo"),
    meaning("tax", "/ includedTax",
            en="tax, VAT, included tax, sales tax, tax rate",
            fr="TVA, taxe, taux de TVA",
            de="MwSt, Mehrwertsteuer, USt, Steuer, Steuersatz",
            es="IVA, impuesto"),
    meaning("kept", "/ kept",
            en="margin, profit, markup, kept",
            fr="marge, bénéfice",
            de="Marge, Gewinn, Spanne",
            es="margen, beneficio"),
    meaning("season", "/ season",
            en="season, collection",
            fr="saison, collection",
            de="Saison, Jahreszeit, Kollektion",
            es="temporada, colección"),
    meaning("box", "/ box",
            en="gift box, box size, box",
            fr="boîte, coffret cadeau",
            de="Geschenkbox, Schachtel, Karton",
            es="caja"),
    meaning("sellable", "/ inStock",
            en="is in stock, can be bought, can be ordered, sellable",
            fr="commandable, achetable",
            de="bestellbar, kaufbar",
            es="se puede comprar, se puede pedir"),
    meaning("can make", "/ canMake", en="can make", fr="", de="herstellbar", es=""),
    meaning("language", "/ language", en="language", fr="langue", de="Sprache", es="idioma"),
    meaning("country", "/ country",
            en="country, country of origin",
            fr="pays, pays d'origine",
            de="Land, Herkunftsland",
            es="país"),
    # Columns that owners keep for themselves.
    meaning("notes", "/",
            en="notes, remarks, comments, note, to do",
            fr="remarques, commentaires, notes",
            de="Bemerkungen, Notizen, Anmerkung, Bemerkung, Kommentar",
            es="notas, observaciones, comentarios"),
    meaning("supplier", "/", en="supplier, bought from", fr="fournisseur", de="Lieferant", es="proveedor"),
    meaning("batch", "/",
            en="batch, batch number, lot, lot number, made on, expiry, expiry date, best before date, best before end",
            fr="lot, numéro de lot, date limite",
            de="Charge, Chargennummer, Los, Ablaufdatum, Mindesthaltbarkeitsdatum",
            es="lote, fecha de caducidad"),
    meaning("row", "/",
            en="row, line, line number, position, #",
            fr="ligne",
            de="Zeile, Pos, lfd Nr, laufende Nummer",
            es="fila, línea"),
)  # fmt: skip
