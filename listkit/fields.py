"""FIELDS: every fact of a listing and its variants, one row each.

Feed columns, JSON, ledger, compare and the README's table all come from here. Names are those of
schema.org (release 30) where it has one. `get` reads the value: of a listing where it is the same for all its
variants, else of an offer. Listing and Offer are imported for their types alone, so that who only needs the
names (ledger, learn, edit) loads nothing else.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, ClassVar, Generic, TypeVar

if TYPE_CHECKING:
    from listkit.listing.listings import Listing, Offer  # noqa: F401 (named in quotes)


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


Source = TypeVar("Source")


@dataclass(frozen=True, slots=True)
class Fact(Generic[Source]):
    """One fact, and how it is read.

    `common` ones are the columns of a feed without columns of its own. `many` ones are families: the value is a
    tuple, the bare name gives all of it, name_1 its first.
    """

    by_offer: ClassVar[bool]
    name: str
    kind: Kind
    get: Callable[[Source], object]
    meaning: str
    example: str
    common: bool = False
    many: bool = False


@dataclass(frozen=True, slots=True)
class ListingField(Fact["Listing"]):
    """A fact that all variants of a listing share."""

    by_offer: ClassVar[bool] = False


@dataclass(frozen=True, slots=True)
class OfferField(Fact["Offer"]):
    """A fact of each variant."""

    by_offer: ClassVar[bool] = True


Field = ListingField | OfferField

_T, _M, _W, _L, _N, _S, _D, _Y = Kind

_ALL: tuple[Field, ...] = (
    OfferField("sku", _T, lambda offer: offer.variant.code, "The variant's code.", "OHS-1-U01", common=True),
    ListingField("inProductGroupWithID", _T, lambda listing: listing.facts.code, "The set's code.", "OHS-1", common=True),
    OfferField("name", _T, lambda offer: offer.name, "The title, with what was chosen.", "First Nectar gift set, Clover & Cream body butter", common=True),
    ListingField("description", _T, lambda listing: listing.description, "The whole text, in the channel's kind.", "<p>The first warm…", common=True),
    ListingField("keywords", _T, lambda listing: listing.keywords, "What buyers look for.", "spring gift, honey", common=True, many=True),
    OfferField("image", _T, lambda offer: offer.images, "Addresses of its pictures, its own first.", "https://…/a.jpg", common=True, many=True),
    ListingField("url", _T, lambda listing: listing.address, "Where the listing stands.", "https://…/first-nectar", common=True),
    OfferField("gtin", _T, lambda offer: offer.variant.gtin, "Its GTIN, where it has one.", "9520000010010", common=True),
    OfferField("price", _M, lambda offer: offer.price, "What a buyer pays, tax included.", "29.00", common=True),
    ListingField("priceCurrency", _T, lambda listing: listing.currency, "ISO 4217.", "GBP", common=True),
    ListingField("priceValidUntil", _D, lambda listing: listing.price_until, "The last day of the price.", "2027-05-10", common=True),
    OfferField("availability", _T, lambda offer: offer.availability, "A schema.org ItemAvailability.", "InStock", common=True),
    ListingField("availabilityStarts", _D, lambda listing: listing.on_sale, "The season's first day.", "2027-02-15", common=True),
    ListingField("availabilityEnds", _D, lambda listing: listing.off_sale, "The season's last day.", "2027-05-10", common=True),
    OfferField("inventoryLevel", _N, lambda offer: offer.stock, "How many the channel may sell.", "29", common=True),
    OfferField("weight", _W, lambda offer: offer.variant.weights.gift, "The closed gift.", "507", common=True),
    OfferField("parcelWeight", _W, lambda offer: offer.variant.weights.parcel, "The parcel, on the scales.", "595", common=True),
    OfferField("width", _L, lambda offer: offer.width, "The closed box, left to right.", "166", common=True),
    OfferField("height", _L, lambda offer: offer.height, "The closed box, as it stands.", "74", common=True),
    OfferField("depth", _L, lambda offer: offer.depth, "The closed box, front to back.", "126", common=True),
    ListingField("slot", _T, lambda listing: listing.slot_names, "What the buyer chooses.", "Jar", common=True, many=True),
    OfferField("choice", _T, lambda offer: offer.choices, "What was chosen, letter for letter as in the text.", "Clover & Cream body butter", common=True, many=True),
    ListingField("title", _T, lambda listing: listing.title, "The set's title.", "First Nectar gift set"),
    ListingField("setName", _T, lambda listing: listing.facts.name, "The set's name.", "First Nectar"),
    ListingField("theme", _T, lambda listing: listing.theme, "The set in one sentence.", "The first warm morning at the hives."),
    ListingField("plainDescription", _T, lambda listing: listing.plain, "The whole text in one line without marks.", "The first warm…"),
    ListingField("opening", _T, lambda listing: listing.block_line("opening"), "The text's opening alone, in one line.", "The first warm morning…"),
    ListingField("story", _T, lambda listing: listing.block_line("story"), "The set's story alone, in one line.", "We packed it…"),
    ListingField("allChoices", _T, lambda listing: listing.block_line("choices"), "All that may be chosen, in one line.", "Choose your jar: - Clover…"),
    ListingField("cardAndBox", _T, lambda listing: listing.block_line("card and box"), "Box and card in words.", "Box and card: The gift box…"),
    ListingField("care", _T, lambda listing: listing.block_line("care"), "How to keep it, and how long.", "Care: Store in a cool, dry…"),
    OfferField("contents", _T, lambda offer: offer.contents, "What is in the box.", "1 × Rosemary & Rind bar soap, 110 g", many=True),
    OfferField("itemCodes", _T, lambda offer: offer.item_codes, "The codes of what is in it.", "OH-B01", many=True),
    OfferField("ingredients", _T, lambda offer: offer.ingredients, "Ingredients by item.", "Rosemary & Rind bar soap: Sodium…", many=True),
    OfferField("cautions", _T, lambda offer: offer.cautions, "Cautions in words.", "For external use only.", many=True),
    OfferField("netContents", _T, lambda offer: offer.net_contents, "Net contents by item.", "110 g", many=True),
    OfferField("netDeclaration", _T, lambda offer: offer.net_declaration, "Net contents as a label declares them.", "1 bar soap, 110 g; …"),
    OfferField("fragranceAllergens", _T, lambda offer: offer.allergens, "Fragrance allergens its ingredients name.", "Linalool", many=True),
    OfferField("pricePerMeasure", _T, lambda offer: offer.unit_price, "What a unit costs, where the channel asks.", "£6.82 per 100 g"),
    ListingField("alt", _T, lambda listing: listing.alts, "Words for the pictures, in their order.", "Open box seen from above: …", many=True),
    ListingField("lowestPrice", _M, lambda listing: listing.cheapest, "The set's lowest price.", "27.00"),
    ListingField("highestPrice", _M, lambda listing: listing.dearest, "The set's highest price.", "29.00"),
    OfferField("priorPrice", _M, lambda offer: offer.prior, "The lawful price before, of an announced reduction.", "29.00"),
    OfferField("wholesalePrice", _M, lambda offer: offer.variant.wholesale, "To shops, before tax.", "14.50"),
    OfferField("suggestedRetail", _M, lambda offer: offer.usual_price, "What shops are suggested: our own public price.", "29.00"),
    OfferField("includedTax", _M, lambda offer: offer.sale.tax, "The tax within the price.", "4.83"),
    OfferField("fullCost", _M, lambda offer: offer.variant.full_cost, "Making and packing it.", "9.28"),
    OfferField("kept", _M, lambda offer: offer.kept, "What the channel leaves.", "18.90"),
    OfferField("parcelLength", _L, lambda offer: offer.parcel(0), "The parcel's longest side.", "190"),
    OfferField("parcelWidth", _L, lambda offer: offer.parcel(1), "The parcel's middle side.", "150"),
    OfferField("parcelHeight", _L, lambda offer: offer.parcel(2), "The parcel's shortest side.", "100"),
    OfferField("volumetricWeight", _W, lambda offer: offer.variant.weights.volumetric, "What freight makes of the carton's volume.", "570"),
    OfferField("chargeableWeight", _W, lambda offer: offer.variant.weights.chargeable, "What freight is billed by.", "595"),
    OfferField("fillShare", _S, lambda offer: offer.variant.fill_share, "How full the box is.", "0.36"),
    OfferField("inStock", _Y, lambda offer: offer.in_stock, "Whether it can be bought.", "yes"),
    OfferField("canMake", _N, lambda offer: offer.variant.can_make, "How many there are parts for.", "31"),
    OfferField("figuresOf", _T, lambda offer: offer.figures_of, "In a set's own row: the variant whose figures it has.", "OHS-1-S03"),
    OfferField("shelfLife", _N, lambda offer: offer.shelf_life, "Months, of what keeps least.", "12"),
    OfferField("box", _T, lambda offer: offer.box, "The gift box's code.", "S"),
    ListingField("season", _T, lambda listing: listing.facts.source.gift_set.season, "The season.", "spring"),
    ListingField("category", _T, lambda listing: listing.facts.source.gift_set.category, "What kind of goods it is.", "gift sets"),
    ListingField("brand", _T, lambda listing: listing.brand, "The shop's name.", "Ottermarl Hive & Herb"),
    ListingField("manufacturer", _T, lambda listing: listing.maker[1], "Who answers for the goods: name and postal address.", "Ottermarl Hive & Herb, 1 Lane End"),
    ListingField("email", _T, lambda listing: listing.maker[2], "Where buyers write to.", "hello@ottermarl.example"),
    ListingField("language", _T, lambda listing: listing.language, "Of the texts (BCP 47).", "en-GB"),
    ListingField("country", _T, lambda listing: listing.country, "Of the channel (ISO 3166-1).", "GB"),
)  # fmt: skip

FIELDS: dict[str, Field] = {field.name: field for field in _ALL}
