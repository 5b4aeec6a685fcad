"""FIELDS: every fact of a listing and its variants, named once.

Feed columns, JSON, ledger, compare and the README's table all come from here. Names are those of
schema.org (release 30) where it has one. `source` is where the value stands, seen from a row:
"listing." what is the same for all variants of a set on a channel, "offer." what is one variant's own.
"""

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """How a value is formatted: money by the currency's digits, weights in the channel's unit, lengths in mm."""

    TEXT = "text"
    MONEY = "money"
    WEIGHT = "weight"
    LENGTH = "length"
    NUMBER = "number"
    SHARE = "share"
    DATE = "date"
    YES_NO = "yes or no"


@dataclass(frozen=True, slots=True)
class Field:
    """One fact. `common` ones are the columns of a feed without columns of its own.

    `many` ones are families: the value is a tuple, the bare name gives all of it, name_1 its first.
    """

    name: str
    kind: Kind
    source: str
    meaning: str
    example: str
    common: bool = False
    many: bool = False


_T, _M, _W, _L, _N, _S, _D, _Y = Kind
_COMMON, _MANY = True, True

_ALL = (
    Field("sku", _T, "offer.variant.code", "The variant's code.", "OHS-1-U01", _COMMON),
    Field("inProductGroupWithID", _T, "listing.facts.code", "The set's code.", "OHS-1", _COMMON),
    Field("name", _T, "offer.name", "The title, with what was chosen.", "First Nectar gift set, Clover & Cream", _COMMON),
    Field("description", _T, "listing.description", "The whole text, in the channel's kind.", "<p>The first warm…", _COMMON),
    Field("keywords", _T, "listing.keywords", "What buyers look for.", "spring gift, honey", _COMMON, _MANY),
    Field("image", _T, "offer.images", "Addresses of its pictures, its own first.", "https://…/a.jpg", _COMMON, _MANY),
    Field("url", _T, "listing.address", "Where the listing stands.", "https://…/first-nectar", _COMMON),
    Field("gtin", _T, "offer.variant.gtin", "Its GTIN, where it has one.", "9520000010010", _COMMON),
    Field("price", _M, "offer.price", "What a buyer pays, tax included.", "29.00", _COMMON),
    Field("priceCurrency", _T, "listing.currency", "ISO 4217.", "GBP", _COMMON),
    Field("priceValidUntil", _D, "listing.price_until", "The last day of the price.", "2027-05-10", _COMMON),
    Field("availability", _T, "offer.availability", "A schema.org ItemAvailability.", "InStock", _COMMON),
    Field("availabilityStarts", _D, "listing.on_sale", "The season's first day.", "2027-02-15", _COMMON),
    Field("availabilityEnds", _D, "listing.off_sale", "The season's last day.", "2027-05-10", _COMMON),
    Field("inventoryLevel", _N, "offer.stock", "How many the channel may sell.", "29", _COMMON),
    Field("weight", _W, "offer.variant.weights.gift", "The closed gift.", "507", _COMMON),
    Field("parcelWeight", _W, "offer.variant.weights.parcel", "The parcel, on the scales.", "595", _COMMON),
    Field("width", _L, "listing.width", "The closed box, left to right.", "166", _COMMON),
    Field("height", _L, "listing.height", "The closed box, as it stands.", "74", _COMMON),
    Field("depth", _L, "listing.depth", "The closed box, front to back.", "126", _COMMON),
    Field("slot", _T, "listing.slot_names", "What the buyer chooses.", "Jar", _COMMON, _MANY),
    Field("choice", _T, "offer.choices", "What was chosen, letter for letter as in the text.", "Clover & Cream body butter", _COMMON, _MANY),
    Field("title", _T, "listing.title", "The set's title.", "First Nectar gift set"),
    Field("setName", _T, "listing.facts.name", "The set's name.", "First Nectar"),
    Field("theme", _T, "listing.theme", "The set in one sentence.", "The first warm morning at the hives."),
    Field("plainDescription", _T, "listing.plain", "The whole text in one line without marks.", "The first warm…"),
    Field("contents", _T, "offer.contents", "What is in the box.", "1 × Rosemary & Rind bar soap, 110 g", many=_MANY),
    Field("itemCodes", _T, "offer.item_codes", "The codes of what is in it.", "OH-B01", many=_MANY),
    Field("ingredients", _T, "offer.ingredients", "Ingredients by item.", "Rosemary & Rind bar soap: Sodium…", many=_MANY),
    Field("cautions", _T, "offer.cautions", "Cautions in words.", "For external use only.", many=_MANY),
    Field("netContents", _T, "offer.net_contents", "Net contents by item.", "110 g", many=_MANY),
    Field("netDeclaration", _T, "offer.net_declaration", "Net contents as a label declares them.", "1 bar soap, 110 g; …"),
    Field("fragranceAllergens", _T, "offer.allergens", "Fragrance allergens its ingredients name.", "Linalool", many=_MANY),
    Field("pricePerMeasure", _T, "offer.unit_price", "What a unit costs, where the channel asks.", "£6.82 per 100 g"),
    Field("alt", _T, "listing.alts", "Words for the pictures, in their order.", "Open box seen from above: …", many=_MANY),
    Field("lowestPrice", _M, "listing.cheapest", "The set's lowest price.", "27.00"),
    Field("highestPrice", _M, "listing.dearest", "The set's highest price.", "29.00"),
    Field("priorPrice", _M, "offer.prior", "The lawful price before, of an announced reduction.", "29.00"),
    Field("wholesalePrice", _M, "offer.variant.wholesale", "To shops, before tax.", "14.50"),
    Field("suggestedRetail", _M, "offer.usual_price", "What shops are suggested: our own public price.", "29.00"),
    Field("includedTax", _M, "offer.variant.prices.tax", "The tax within the price.", "4.83"),
    Field("fullCost", _M, "offer.variant.full_cost", "Making and packing it.", "9.28"),
    Field("kept", _M, "offer.kept", "What the channel leaves.", "18.90"),
    Field("volumetricWeight", _W, "offer.variant.weights.volumetric", "What freight makes of the carton's volume.", "570"),
    Field("chargeableWeight", _W, "offer.variant.weights.chargeable", "What freight is billed by.", "595"),
    Field("fillShare", _S, "offer.variant.fill_share", "How full the box is.", "0.36"),
    Field("inStock", _Y, "offer.in_stock", "Whether it can be bought.", "yes"),
    Field("canMake", _N, "offer.variant.can_make", "How many there are parts for.", "31"),
    Field("shelfLife", _N, "offer.shelf_life", "Months, of what keeps least.", "12"),
    Field("box", _T, "listing.box", "The gift box's code.", "S"),
    Field("season", _T, "listing.facts.source.gift_set.season", "The season.", "spring"),
    Field("category", _T, "listing.facts.source.gift_set.category", "What kind of goods it is.", "gift sets"),
    Field("brand", _T, "listing.brand", "The shop's name.", "Ottermarl Hive & Herb"),
    Field("language", _T, "listing.language", "Of the texts (BCP 47).", "en-GB"),
    Field("country", _T, "listing.country", "Of the channel (ISO 3166-1).", "GB"),
)  # fmt: skip

FIELDS: dict[str, Field] = {field.name: field for field in _ALL}
