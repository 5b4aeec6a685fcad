"""The table of rules: for each code its level, its sentence, the function that finds it, its source and its figure.

To add a check: a function of (listings, context) in one of the topics, and a row here. Rows stand in the order in which
the functions run, which is the order of problems of one line; a function that finds several codes at once is named by
each of them and runs once. Rows without a function are codes that are found while files are read, templates tried
or orders checked.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from typing import Final

from listkit.check import (
    allergens,
    boxes,
    cautions,
    channels,
    claims,
    codes,
    feeds,
    languages,
    limits,
    making,
    measures,
    movements,
    photos,
    prices,
    seasons,
    stock,
    text,
    wholesale,
)
from listkit.check.places import CheckContext
from listkit.listing.listings import Listings
from listkit.model.photo import BLURRED_BELOW, DARK_BELOW, NEAR_LIKENESS
from listkit.model.shop import Extent
from listkit.problem import Level, Problem

Check = Callable[[Listings, CheckContext], Iterator[Problem]]
"""All listings in, its problems out, each cause once; it never raises."""

COMMON: Final = "common practice, no source"
MUST_FIX, LOOK_AT = Level.MUST_FIX, Level.LOOK_AT
TEXTS, KEYS, CONTENTS = Extent.TEXTS, Extent.KEYS, Extent.CONTENTS


class Kind(StrEnum):
    """What a threshold counts."""

    SHARE = "a share"
    MONEY = "an amount of money"
    DAYS = "a number of days"
    MONTHS = "a number of months"
    TIMES = "a number"
    COUNT = "a whole number"


@dataclass(frozen=True, slots=True)
class Threshold:
    """A figure that a check goes by: what it counts, ours, and what it means."""

    kind: Kind
    ours: Decimal
    meaning: str


@dataclass(frozen=True, slots=True)
class Rule:
    """One kind of problem: its code, how grave it is, and the rule in the owner's words.

    `always` marks codes that [checks] does not touch: what they are about could not be read, and is left out.
    `needs` is what must be known of a set for the rule to hold of it; of a set that is left out less is known.
    """

    code: str
    level: Level
    sentence: str
    function: Check | None = None
    source: str = COMMON
    threshold: Threshold | None = None
    always: bool = False
    needs: Extent = Extent.ALL


_GS1: Final = "GS1 General Specifications"
_CHANNEL: Final = "the channel's own [limits] and [[column]]s, as its file states them"
_CLAIMS: Final = "the words of templates/claims/, each with its own source; check the local rules"
_MISLEADS: Final = "Directive 2005/29/EC, Article 6, and 15 USC 45 on what misleads buyers, both from memory"
_LIST: Final = "Regulation (EC) 1223/2009, Article 19(1)(g)"
_WIDER: Final = "Regulation (EU) 2023/1545, annex"
_FOLDER: Final = "what a shop folder holds; without it nothing can be made of the file"

# Our figures for photos are measured: well lit and sharp pictures of the demo shop lie at 0.61 to 0.87 of
# lightness and 0.71 to 0.84 of sharpness; with three stops less light at 0.29 to 0.35, and blurred by 0.6 % of the
# short side (twelve pixels of 2000) at 0.30 to 0.41.
# A row is a few full lines here, not one line an argument.
# fmt: off
RULES: Final[tuple[Rule, ...]] = (
    # what a folder holds
    Rule("file-missing", MUST_FIX, "A file or folder that the shop needs is not there.", always=True, source=_FOLDER),
    Rule("encoding", MUST_FIX, "A text file is in UTF-8 (tables may also be in Windows-1252).", always=True,
         source=_FOLDER),
    Rule("syntax", MUST_FIX, "A file follows the rules of its format: quotes, brackets and signs in pairs.",
         always=True, source=_FOLDER),
    Rule("unknown-key", MUST_FIX,
         "Only keys that listkit knows stand in a file, so that a typing slip is not passed over.", always=True,
         source=_FOLDER),
    Rule("missing-key", MUST_FIX, "What listkit cannot do without is stated.", always=True, source=_FOLDER),
    Rule("bad-value", MUST_FIX, "A value has the form that its key asks for.", always=True, source=_FOLDER),
    Rule("unknown-code", MUST_FIX, "A code that is used names something that is there.", always=True, source=_FOLDER),
    Rule("old-code", LOOK_AT, "What has another code now is written by that one.", source=_FOLDER),
    Rule("unknown-column", LOOK_AT, "A heading within two letters of one of ours is probably a typing slip.",
         source=_FOLDER),
    Rule("row-aside", LOOK_AT, "A row of a sheet that holds a text alone is a heading within it or a footnote.",
         source=_FOLDER),
    Rule("path-outside", MUST_FIX, "Every path stays inside the shop folder.", always=True, source=_FOLDER),
    Rule("not-a-picture", MUST_FIX, "A file in a photos folder is a picture that can be opened.", always=True,
         source=_FOLDER),
    Rule("template-fault", MUST_FIX,
         "A text with placeholders uses only names and filters that exist, within the bounds.", always=True,
         source=_FOLDER),
    Rule("folder-name", MUST_FIX, "A set's folder has a name that every system takes, unlike those of other sets.",
         codes.folder_name, always=True,
         source='Microsoft, "Naming Files, Paths, and Namespaces"; Unicode Standard Annex 15 and default case folding'),
    # codes
    Rule("option-twins", MUST_FIX,
         "No two options of a slot read alike; case, accents, spaces or & do not tell them apart.", codes.option_twins,
         needs=TEXTS),
    Rule("option-alone", LOOK_AT, "A slot has two options or more.", codes.option_alone, needs=CONTENTS),
    Rule("option-names", LOOK_AT, "An option is called the same in every set.", codes.option_names, needs=KEYS),
    Rule("options-alike", LOOK_AT,
         "Options that differ in a letter or two of a long word are probably one of them a slip.", codes.options_alike,
         threshold=Threshold(Kind.COUNT, Decimal(2), "letters by which words of more than five letters differ"),
         needs=TEXTS),
    Rule("letter-unseen", LOOK_AT, "Names and choices hold no sign that nobody sees, and none that turns the writing.",
         codes.letter_unseen, source="Unicode Standard Annex 9 on signs that turn the writing, from memory",
         needs=TEXTS),
    Rule("gtin-wrong", MUST_FIX, "A GTIN has 8, 12, 13 or 14 digits, the last of which follows from the others.",
         codes.gtin_wrong, source=f"{_GS1}, check digit and lengths (sections 7.9 and 2.1, from memory)", needs=TEXTS),
    Rule("gtin-shared", MUST_FIX,
         "A GTIN stands for one thing: two items, or an item and a set of it, never share one.", codes.gtin_shared,
         source="GS1 GTIN Management Standard: each composition has a GTIN of its own", needs=CONTENTS),
    Rule("gtin-internal", LOOK_AT, "Numbers for use within one company or region do not belong in a public feed.",
         codes.gtin_internal,
         source=f"{_GS1}, section 1.4, from memory: prefixes 020-029 and 200-299 within a region, 040-049 in a company",
         needs=TEXTS),
    Rule("code-unsafe", LOOK_AT, "A code should not be one that a spreadsheet makes a date or a number of.",
         codes.code_unsafe,
         source="Ziemann, Eren, El-Osta, Genome Biology 17:177 (2016), on names that spreadsheets changed",
         needs=TEXTS),
    Rule("code-twice", MUST_FIX, "A code names one thing only.", codes.code_twice, always=True, source=_FOLDER),
    Rule("single-is-set", LOOK_AT, "A piece that a set without box is already is listed once, with that set.",
         source="[singles] in shop.toml and in the channels"),
    Rule("single-stray", LOOK_AT, "What is called by an item's code belongs to an item.",
         source="photos/items/ and items/, which are read where pieces are listed alone"),
    # prices
    Rule("price-differs", MUST_FIX, "A price already in print is the price that the items come to.",
         prices.price_differs, source="the price that items, uplift and ending come to", needs=CONTENTS),
    Rule("price-parity", MUST_FIX, "A variant costs the same on every channel of a country.", prices.price_parity,
         source="common practice, no source: buyers compare channels", needs=CONTENTS),
    Rule("options-unlike", MUST_FIX, "Where options are to cost the same, they do.", prices.options_unlike,
         source='option_prices = "equal" in shop.toml or set.toml', needs=CONTENTS),
    Rule("margin-thin", LOOK_AT, "What a channel leaves of a price is at least the lowest margin.", prices.margin_thin,
         source="lowest_margin of shop.toml",
         threshold=Threshold(Kind.SHARE, Decimal(0), "what a channel leaves, of the price before tax")),
    Rule("price-nothing", MUST_FIX, "Nothing that is for sale costs 0.00.", prices.price_nothing, needs=CONTENTS),
    Rule("fee-above-price", MUST_FIX, "Fee and tax of a channel leave something of every price.",
         prices.fee_above_price, needs=CONTENTS),
    Rule("zone-unknown", MUST_FIX, "A channel's zone, or one that its fee needs, is in rates.csv.",
         prices.zone_unknown),
    Rule("tax-split", LOOK_AT, "A set holds goods of one tax rate; else its tax is split by their prices.",
         prices.tax_split, needs=CONTENTS),
    Rule("band-missed", LOOK_AT, "A price does not lie just above a ceiling that gift buyers shop by.",
         prices.band_missed, threshold=Threshold(Kind.MONEY, Decimal(1), "above a ceiling, at most"), needs=CONTENTS),
    Rule("wholesale-thin", LOOK_AT, "A wholesale price covers the full cost with room to spare.",
         wholesale.wholesale_thin,
         threshold=Threshold(Kind.TIMES, Decimal("1.5"),
                             f"times the full cost; below {wholesale.LEAST_TIMES_COST} times it must be mended")),
    Rule("cost-above-retail", LOOK_AT, "An item sells for more than it costs.", prices.cost_above_retail),
    Rule("reduction-unclear", MUST_FIX, "A reduction says by how much, or the new ending of prices, and never both.",
         prices.reduction_unclear, needs=CONTENTS),
    Rule("reductions-overlap", MUST_FIX, "On one day one reduction of a file lowers a set's price on a channel.",
         prices.reductions_overlap, needs=CONTENTS),
    Rule("reduction-empty", MUST_FIX, "A reduction leaves something of every price that it lowers.",
         prices.reduction_empty, needs=CONTENTS),
    Rule("reduction-unannounced", LOOK_AT,
         "A reduction is announced where the lowest price of the days before allows it.", prices.reduction_unannounced,
         source="Directive 98/6/EC, Article 6a; CJEU C-330/23; 16 CFR 233.1, from memory"),
    Rule("reduction-apart", LOOK_AT, "A reduction on one channel alone is seen by the buyers of the others.",
         prices.reduction_apart, needs=CONTENTS),
    Rule("cheaper-than-stockists", LOOK_AT,
         "Stockists hear of it before we sell below the retail price suggested to them.",
         prices.cheaper_than_stockists),
    Rule("ledger-unread", LOOK_AT,
         "The ledger can be read: reductions and line sheets go by what was given out before."),
    Rule("sounds-like-saving", LOOK_AT, "A text speaks of a saving only while a reduction is in force.",
         prices.sounds_like_saving, source="16 CFR 233.1, from memory, and rules like it; check the local ones"),
    # wholesale
    Rule("sheet-stale", MUST_FIX, "The prices of a line sheet hold until a day that has not passed.",
         wholesale.sheet_stale, source="valid_until in wholesale.toml"),
    Rule("sheet-long", LOOK_AT, "The prices of a line sheet do not hold longer than can be kept.", wholesale.sheet_long,
         threshold=Threshold(Kind.DAYS, Decimal(180), "from the day of issue to the last day of its prices")),
    Rule("line-unseen", LOOK_AT,
         "A set on the line sheet has a picture there, and an item where other items have one.", wholesale.line_unseen,
         source="what the photos of the sets are said to show: a close view of one item is its own"),
    Rule("front-unseen", LOOK_AT, "The set that is to lead the line sheet is on it, with a photo that is large enough.",
         wholesale.front_unseen, source="170 pixels an inch across the page; common practice, no source"),
    Rule("window-order", MUST_FIX, "Orders close before sending begins, and sending begins before it ends.",
         wholesale.window_order, source="the calendar"),
    Rule("season-window", LOOK_AT, "Sets for shops are sent neither when their season is over nor long before it.",
         wholesale.season_window, source="common practice, no source",
         threshold=Threshold(Kind.DAYS, Decimal(120), "from the last day of sending to the first of the season")),
    Rule("display-set", MUST_FIX, "A display set holds what shops can buy.", wholesale.display_sets),
    Rule("email-missing", LOOK_AT, "A line sheet names the e-mail address that orders go to.",
         wholesale.email_missing),
    Rule("tier-dearer", MUST_FIX, "More pieces never cost more each.", wholesale.tier_dearer),
    Rule("tier-thin", MUST_FIX, "A lower price for many still covers the full cost with something to spare.",
         wholesale.tier_thin),
    Rule("tier-twice", MUST_FIX, "No two tiers begin at the same quantity.", wholesale.tier_twice),
    Rule("shop-margin-low", LOOK_AT, "A shop that sells at the suggested price keeps its usual share.",
         wholesale.shop_margin_low,
         threshold=Threshold(Kind.SHARE, Decimal("0.45"), "what the shop keeps of the retail price before tax")),
    Rule("sheet-older", MUST_FIX, "A line sheet is of a later day than the prices of the one before it.",
         wholesale.sheet_older, source="the line sheet that was recorded last against the one of today"),
    Rule("stockist-stale", LOOK_AT, "Every stockist holds the line sheet that counts.", wholesale.stockist_stale,
         source="sheet in stockists.csv against the versions that listkit record wholesale remembers"),
    Rule("retail-unlike", LOOK_AT, "The retail price that a line sheet suggests is our own public one.",
         wholesale.retail_unlike, source="the channels of the shop's own country; what shops ask is theirs to say"),
    Rule("arrival-short", LOOK_AT, "What shops buy keeps long enough to be sold and used after it has reached them.",
         wholesale.arrival_short,
         threshold=Threshold(Kind.MONTHS, Decimal(9), "from reaching a shop: from making, less oldest")),
    Rule("gtin-missing", LOOK_AT, "What a feed's column or the line sheet asks a GTIN of has one.",
         wholesale.gtin_missing,
         source="a [[column]] of the channel with the value gtin, or gtins = true in wholesale.toml", needs=KEYS),
    Rule("order-packs", MUST_FIX, "What a shop orders makes full cases and reaches the minimum."),
    Rule("order-sum", MUST_FIX, "An order reaches the least sum of the terms."),
    Rule("order-late", LOOK_AT, "An order comes by the sheet of today, while its lines can be ordered."),
    Rule("order-stock", MUST_FIX, "What a shop orders is on hand, or is made before it ships.",
         source="beyond_stock in wholesale.toml"),
    Rule("order-twice", MUST_FIX, "An order's number stands for one order.",
         source="the orders that were confirmed, in the ledger"),
    Rule("print-asked", MUST_FIX, "What is asked to be printed is there, in numbers and words that go on paper."),
    Rule("message-card", LOOK_AT, "Each order of a table of card messages has words, a number of its own and a set."),
    # stock and dates
    Rule("item-closed", MUST_FIX, "A set that is on sale holds nothing that is closed.", stock.item_closed,
         source="status in the items table and in set.toml", needs=CONTENTS),
    Rule("stock-promised-twice", LOOK_AT, "What several sets are made of suffices for all of them.",
         stock.stock_promised_twice,
         source="what is on hand against what all sets on sale could use together (a greatest flow)"),
    Rule("allotment-unread", MUST_FIX, "Every row of allotment.csv says how many of what a place gets.", always=True,
         source=_FOLDER),
    Rule("allotment-impossible", MUST_FIX, "All that [allotment] wishes can be kept with the pieces there are.",
         source="what is on hand and free, searched in whole numbers by listkit allot"),
    Rule("allotment-old", LOOK_AT, "What was allotted is about what there is now.", stock.allotment_old,
         source="allotment.csv against the shop and the lines that movements.csv got since"),
    Rule("stock-shared", LOOK_AT, "The variants of a set do not show far more together than can be made of the set.",
         stock.stock_shared,
         source="what a channel shows of each variant against what can be made; the limit is common practice",
         threshold=Threshold(Kind.TIMES, Decimal("1.5"), "times what can be made of the set, at most")),
    Rule("season-over", LOOK_AT, "A set whose season is over is closed, or its season gets new dates.",
         stock.season_over,
         source="[[season]] in shop.toml", needs=TEXTS),
    Rule("season-not-yet", LOOK_AT, "A set can be bought when its season has begun, and is built again on that day.",
         stock.season_not_yet,
         source="[[season]] in shop.toml", needs=TEXTS),
    Rule("movement-unread", MUST_FIX, "Every line of movements.csv says what moved, how many and when.", always=True,
         source=_FOLDER),
    Rule("movement-torn", LOOK_AT, "Every file that was added to movements.csv is in it whole.",
         movements.movement_half, source="the number of lines that each batch states"),
    Rule("movement-unknown", LOOK_AT, "What moved is in the shop.", movements.movement_unknown, source=_FOLDER),
    Rule("movement-day", LOOK_AT, "What moved has its day, which is not to come and not before a count.",
         movements.movement_day),
    Rule("stock-uncounted", LOOK_AT, "What moves was counted once.", movements.stock_uncounted),
    Rule("stock-negative", LOOK_AT, "No more goes than was there.", movements.stock_negative),
    Rule("stock-sheet", LOOK_AT, "The owner's sheet has the stock that was counted and moved.", movements.stock_sheet,
         source="movements.csv against on hand in the sheet and packaging.toml"),
    Rule("stock-added", MUST_FIX, "What is added to the stock says how many of what, on which day.",
         source="the file that listkit stock add takes"),
    # making
    Rule("recipe-circle", MUST_FIX, "No recipe takes what is made with it.", making.cost_faults, source="recipes.csv"),
    Rule("recipe-units", MUST_FIX, "A recipe measures a material as it is bought, or its density is known.",
         making.cost_faults, source="recipes.csv against materials.csv"),
    Rule("material-price", MUST_FIX, "A material that a recipe takes has a price.", making.cost_faults,
         source="materials.csv"),
    Rule("batch-size", MUST_FIX, "What has a recipe says how many pieces a batch makes.", making.cost_faults,
         source="the items table, and [making] of shop.toml"),
    Rule("cost-differs", LOOK_AT, "A cost that is typed is what its recipe comes to.", making.cost_differs,
         source="recipes.csv against cost in the items table"),
    Rule("yield-over", LOOK_AT, "No more comes out of a batch than goes into it.", making.yield_over,
         source="recipes.csv against net and batch size"),
    Rule("plan-unclear", LOOK_AT, "A row of the plan says how many, or what it follows from.", making.plan_faults,
         source="plan.csv"),
    Rule("work-days", LOOK_AT, "There are days on which somebody works.", making.plan_faults, source="[workshop]"),
    Rule("plan-late", LOOK_AT, "What is planned can still be made in time.", making.plan_faults,
         source="plan.csv against cures, working days and days to get"),
    Rule("dates-in-order", MUST_FIX, "What begins on a day does not end before it.", stock.dates_in_order,
         source="the calendar", needs=KEYS),
    Rule("shelf-life-short", LOOK_AT, "What is sold keeps long enough to be given away and used.",
         stock.shelf_life_short, threshold=Threshold(Kind.MONTHS, Decimal(6), "from making"), needs=CONTENTS),
    # weights and boxes
    Rule("weight-missing", MUST_FIX, "Everything weighs something.", measures.weight_missing),
    Rule("weight-below-net", MUST_FIX, "A piece weighs at least what is in it.", measures.weight_below_net,
         source="gross weight is net weight and packaging; the net content is what the label declares"),
    Rule("weight-unlikely", LOOK_AT,
         "Nothing is denser than stone or lighter than a sponge, and no box as heavy as planks.",
         measures.weight_unlikely,
         source="densities in NIST's ESTAR data base; of sponges, walls and cards common practice, no source"),
    Rule("net-unlikely", LOOK_AT, "What is inside has room in its size, and a weight that goes with it.",
         measures.net_unlikely,
         source="densities in NIST's ESTAR data base; of packaging and whipped butters common practice, no source"),
    Rule("box-too-small", MUST_FIX,
         "All pieces of every variant go into the box, beside each other unless the set is stacked.", boxes.boxes,
         source="an exact search over bounding blocks, then one with true circles"),
    Rule("lies-down", MUST_FIX, "What must stand upright stands in its box.", boxes.boxes,
         source="upright in the items table"),
    Rule("box-loose", LOOK_AT, "A box is full enough not to look empty.", boxes.boxes,
         source="loose_below under [packing]; common practice, no source"),
    Rule("box-full", LOOK_AT, "A box is not so full that it may not close over its fill.", boxes.boxes,
         source="full_above under [packing]; common practice, no source"),
    Rule("box-high", LOOK_AT, "A box is not so much higher than its pieces that they lie deep down in it.",
         boxes.boxes, source="spare_height under [packing]; common practice, no source"),
    Rule("box-overloaded", MUST_FIX, "A box carries what lies in it.", boxes.box_overloaded,
         source="most_weight of the box in packaging.toml"),
    Rule("carton-missing", LOOK_AT, "A box that is sent has a carton, or its parcel cannot be weighed.",
         measures.carton_missing),
    Rule("shape-wrong", MUST_FIX, "A cylinder is as wide as it is long, and a ball as high too.", measures.shape_wrong),
    Rule("inside-larger", MUST_FIX, "A box is larger outside than inside, and smaller than its carton.",
         measures.inside_larger),
    Rule("rate-steps", MUST_FIX, "The steps of a rate follow each other: no gap, no overlap, none twice."),
    Rule("rate-cheaper", LOOK_AT, "A heavier parcel seldom costs less to send than a lighter one."),
    Rule("rate-missing", LOOK_AT, "Some service of rates.csv takes every parcel.", measures.rate_missing),
    # limits
    Rule("accent-faint", LOOK_AT, "The accent of documents is read on white paper, in colour and printed in grey.",
         limits.accent_faint, source="WCAG 2.2, success criterion 1.4.3 (contrast, minimum)",
         threshold=Threshold(Kind.TIMES, Decimal("4.5"), "to 1, the contrast with white")),
    Rule("label-sheet", MUST_FIX, "Labels and price cards lie on their sheet, and none upon another.",
         limits.label_sheet, source="[labels] and [cards] in shop.toml: size, sheet, margins, pitch, columns, rows"),
    Rule("label-large", LOOK_AT, "A label is no larger than the side of the box that it goes on.", limits.label_large,
         source="size under [labels] in shop.toml against outside of the box in packaging.toml"),
    Rule("label-tight", LOOK_AT, "A label holds its text in the smallest type that is allowed.", limits.label_tight,
         source="the letters of the font that labels are set in, and the layout as it is shipped"),
    Rule("title-long", MUST_FIX, "A title is not longer than its channel takes.", limits.title_long, source=_CHANNEL,
         needs=TEXTS),
    Rule("description-long", MUST_FIX, "A text is not longer than its channel takes.", limits.description_long,
         source=_CHANNEL),
    Rule("block-needed", MUST_FIX,
         "Cautions and allergens leave a channel's texts only where its feed has a column of them.",
         channels.block_needed,
         source="Regulation (EU) 2023/988, Article 19(d): an offer at a distance shows its warnings; from memory",
         needs=TEXTS),
    Rule("blocks-ignored", LOOK_AT, "A template of your own asks for the blocks that a channel orders.",
         channels.blocks_ignored),
    Rule("takes-nothing", LOOK_AT, "A channel takes something of what is on sale.", channels.takes_nothing),
    Rule("photos-of", MUST_FIX, "A channel shows the pictures of another channel that makes some.",
         channels.photos_of, source=_CHANNEL),
    Rule("crop-missing", LOOK_AT, "A channel that is to get photos says how they are cut.", channels.crop_missing,
         source=_CHANNEL),
    Rule("pictures-none", LOOK_AT, "A channel that has an address for pictures, or shows those of another, has some.",
         channels.pictures_none, source=_CHANNEL),
    Rule("keywords-many", MUST_FIX, "There are no more keywords than the channel takes.", limits.keywords_many,
         source=_CHANNEL, needs=TEXTS),
    Rule("keyword-long", MUST_FIX, "A keyword is not longer than its channel takes.", limits.keyword_long,
         source=_CHANNEL, needs=TEXTS),
    Rule("variants-many", MUST_FIX, "There are no more variants than the channel takes.", limits.variants_many,
         source=_CHANNEL, needs=CONTENTS),
    Rule("values-many", MUST_FIX, "A slot has no more options than the channel takes.", limits.values_many,
         source=_CHANNEL, needs=CONTENTS),
    Rule("photos-many", LOOK_AT, "Photos beyond what the channel takes are left out.", limits.photos_many,
         source=_CHANNEL, needs=TEXTS),
    Rule("character-forbidden", MUST_FIX, "No title or text holds a character that its channel forbids.",
         limits.character_forbidden, source=_CHANNEL, needs=KEYS),
    # photos
    Rule("shot-missing", MUST_FIX, "Every set has the shots that the shop asks for.", photos.shot_missing,
         source="[shots] required in shop.toml", needs=KEYS),
    Rule("option-unseen", LOOK_AT, "Where some options of a slot have a photo of their own, every option has one.",
         photos.option_unseen, needs=CONTENTS),
    Rule("photo-small", MUST_FIX, "A finished picture is as wide as its crop asks at least.", photos.photo_small,
         source="smallest of the channel's [[crop]]", needs=TEXTS),
    Rule("photo-twice", MUST_FIX, "A set does not show one picture twice, nor two sets the same one.",
         photos.photo_twice,
         threshold=Threshold(Kind.COUNT, Decimal(NEAR_LIKENESS),
                             "levels of 255, by which pictures that look alike differ in any one field"), needs=TEXTS),
    Rule("photo-shows-another", LOOK_AT, "A picture shows what is said of it.", photos.photo_shows_another,
         source=_MISLEADS, needs=TEXTS),
    Rule("photo-dark", LOOK_AT, "A picture is bright enough to see what is in it.", photos.photo_dark,
         source="the lightness is ISO/CIE 11664-4; the limit is our own, measured",
         threshold=Threshold(Kind.SHARE, DARK_BELOW, "of CIE 1976 lightness, on average; 18 % grey has 50 %"),
         needs=TEXTS),
    Rule("photo-blurred", LOOK_AT, "A picture is sharp.", photos.photo_blurred,
         source='the measure is Crete et al., "The blur effect", SPIE 6492 (2007); the limit is our own, measured',
         threshold=Threshold(Kind.SHARE, BLURRED_BELOW, "of sharpness, what a further blur takes away"), needs=TEXTS),
    Rule("crop-tight", MUST_FIX, "A crop holds all that the focus box says must stay whole.", photos.crop_tight,
         source='focus of the photo and if_tight = "problem" of the channel\'s [[crop]]', needs=TEXTS),
    Rule("crop-ground", LOOK_AT, "Photos have as much ground around the focus box as the crops of a channel need.",
         photos.crop_ground, source='most_ground and if_tight = "pad" or "leave out" of the channel\'s [[crop]]'),
    Rule("alt-twice", LOOK_AT, "Each picture of a set has words of its own.", photos.alt_twice,
         source="WCAG 2.2, success criterion 1.1.1 (text for pictures), from memory; that no two are alike is ours",
         needs=TEXTS),
    # what is inside
    Rule("net-overstated", LOOK_AT, "A declared quantity is not rounded to more than there is.",
         measures.net_overstated,
         source="16 CFR 500.19; NIST Handbook 130, Uniform Packaging and Labeling Regulation"),
    Rule("percent-over", MUST_FIX, "What is in an item or a raw material comes to 100 % at most."),
    Rule("ingredients-brackets", MUST_FIX, "The brackets in a list of ingredients are in pairs.",
         cautions.ingredients_brackets),
    Rule("ingredients-missing", LOOK_AT, "What goes on the skin says what it is made of.",
         cautions.ingredients_missing,
         source=f"21 CFR 701.3(a); {_LIST}", needs=CONTENTS),
    Rule("ingredients-prose", LOOK_AT, "A list of ingredients is names with commas between them.",
         cautions.ingredients_prose, source=f"{_LIST}; 21 CFR 701.3(a)"),
    Rule("ingredient-plain", LOOK_AT, "A list of ingredients has the names that the law of the country asks for.",
         cautions.ingredient_plain,
         source=f"{_LIST}; 21 CFR 701.3(c); the names are from memory"),
    Rule("ingredient-nearly", MUST_FIX, "An ingredient is spelt as the glossary of ingredients spells it.",
         cautions.ingredient_nearly,
         source=f"{_LIST}; the names by which cautions and allergens are chosen are from memory"),
    Rule("ingredient-unlisted", LOOK_AT, "What ingredients.csv puts into an item stands in its list of ingredients.",
         cautions.ingredient_unlisted,
         source=f"21 CFR 701.3(a); {_LIST}"),
    Rule("ingredient-order", LOOK_AT, "A list of ingredients begins with what there is most of.",
         cautions.ingredient_order,
         source=f"21 CFR 701.3(f); {_LIST}"),
    Rule("allergen-unnamed", MUST_FIX, "A fragrance allergen of which there is more than the limit is named.",
         allergens.allergen_unnamed, source=f"{_LIST} and Annex III; Regulation (EU) 2023/1545; SOR/2024-63"),
    Rule("allergen-twofold", LOOK_AT, "A CAS number of two fragrance allergens goes with a name that tells which.",
         allergens.allergen_twofold, source=_WIDER),
    Rule("allergens-unknown", LOOK_AT, "What an essential oil brings is known from its supplier's document.",
         allergens.allergens_unknown, source=f"{_WIDER}; published contents of oils, each with its own source"),
    Rule("ingredient-forbidden", MUST_FIX, "Nothing is in the goods that no cosmetic of the bath may hold.",
         allergens.ingredient_forbidden,
         source="Regulation (EC) 1223/2009, Annex II, entries 1380 and 1666, and Annex III, entry 46"),
    # words
    Rule("card-promised", LOOK_AT, "No text speaks of a card where none lies in the set.", text.card_promised,
         source="card in set.toml and [card] in packaging.toml; common practice, no source"),
    Rule("unwritten", MUST_FIX, "What a new set leaves to its owner to write is written.", text.unwritten,
         source="the lines that listkit add marks in a new set", needs=TEXTS),
    Rule("accepted-unused", LOOK_AT, "Every [[accepted]] entry answers a remark that would be told without it.",
         source="[[accepted]] in shop.toml"),
    Rule("column-undecided", MUST_FIX, "Every column of a place that was learnt from a sample is decided.",
         source='lines with "?" that listkit learn wrote above columns without a value'),
    Rule("starter-left", LOOK_AT, "Addresses and fees that a new shop begins with are replaced by one's own.",
         text.starter_left,
         source="what listkit new writes into a new shop"),
    Rule("text-disagrees", MUST_FIX, "What a text says of sizes, counts, prices and items is what the set says.",
         text.text_disagrees, source=f"the set's own contents, prices and sizes; {_MISLEADS}"),
    Rule("small-print", LOOK_AT, "A text is more about what is sold than lists of ingredients and cautions.",
         limits.small_print,
         threshold=Threshold(Kind.SHARE, Decimal("0.67"), "what ingredients, their notes and cautions take of a text")),
    Rule("range-of-one", LOOK_AT, "No text says the same price as the lowest and as the highest.", text.range_of_one,
         source="the prices of what can be bought on each channel", needs=CONTENTS),
    Rule("season-word", LOOK_AT, "A text names the season that its set is sold in, and what is celebrated in it.",
         seasons.season_word, needs=TEXTS),
    Rule("date-passed", LOOK_AT, "A last or first day in a text has not passed and lies in the season.",
         seasons.date_passed, needs=TEXTS),
    Rule("option-not-offered", MUST_FIX, "No text speaks of an option that can no longer be chosen.",
         text.option_not_offered, source=_MISLEADS, needs=CONTENTS),
    Rule("title-loud", LOOK_AT, "A title neither shouts nor sells, and says nothing twice.", text.title_loud,
         needs=TEXTS),
    Rule("title-front", LOOK_AT, "The first 60 characters of a title say what it is.", text.title_front,
         needs=CONTENTS),
    Rule("claim-medicine", MUST_FIX, "No text promises what only a medicine may promise.", claims.claims,
         source=f"{_CLAIMS}; US Food and Drug Administration, Is It a Cosmetic, a Drug, or Both?", needs=TEXTS),
    Rule("claim-evidence", LOOK_AT, "A claim that needs proof has a document on file.", claims.claims,
         source=f"{_CLAIMS}; Regulation (EU) 655/2013, evidential support; 16 CFR 260 for the environment",
         needs=TEXTS),
    Rule("claim-reword", LOOK_AT,
         "No text says what cannot be shown to be true, or sells what the law asks for anyway.", claims.claims,
         source=f"{_CLAIMS}; EU technical document on cosmetic claims (2017); 16 CFR 260.4", needs=TEXTS),
    Rule("caution-missing", MUST_FIX, "A piece has the cautions that its form, its ingredients and its age ask for.",
         cautions.cautions,
         source="21 CFR 740.17, 740.19; 16 CFR 1501.4; ASTM F2058-07(2021), EN 15494:2019; each caution has its own"),
    Rule("form-nearly", LOOK_AT, "A form is spelt so that it tells what a thing is: its cautions go by it.",
         cautions.form_nearly, source=COMMON),
    Rule("form-unknown", LOOK_AT, "A form tells what a thing is, or its row names the cautions that it asks for.",
         cautions.form_unknown, source=COMMON),
    Rule("like-food", LOOK_AT, "Nothing is sold that a child could take for food.", cautions.like_food,
         source="Regulation (EU) 2023/988, Article 6, before it Directive 87/357/EEC; in the United Kingdom the Food "
         "Imitations (Safety) Regulations 1989; both from memory"),
    Rule("hazard-unlabelled", LOOK_AT, "What scents the air is labelled as its classification asks for.",
         allergens.hazard_unlabelled,
         source="Regulation (EC) 1272/2008, Articles 4 and 17, Annex II (EUH208); in Great Britain its retained "
         "version; from memory"),
    Rule("caution-silenced", MUST_FIX, "A caution that the rules choose is left out only with a reason.",
         cautions.cautions,
         source="the rule of the caution that is silenced"),
    Rule("caution-age", MUST_FIX, "Nothing is meant for an age at which it is forbidden or needs advice.",
         cautions.cautions,
         source="16 CFR 1501.2, small parts, from memory; US Food and Drug Administration, Aromatherapy"),
    Rule("language-missing", MUST_FIX,
         "A language that a channel writes in has its words, its cautions and its stories.", languages.language_missing,
         always=True, source=_FOLDER),
    Rule("keyword-twins", LOOK_AT, "No keyword is another one in the plural or spelt otherwise.", text.keyword_twins,
         needs=TEXTS),
    Rule("mini-not-named", LOOK_AT, "A mini is called one, so that nobody expects the full size.", text.mini_not_named,
         source=_MISLEADS, needs=CONTENTS),
    # feeds
    Rule("feed-empty", LOOK_AT, "A feed has a row; one that had rows before must be looked into before it is sent.",
         feeds.feed_empty, source="the channel's last record, else the last build"),
    Rule("key-unused", LOOK_AT, "What a channel's file says of its feed is used by what the channel makes.",
         feeds.key_unused, source=_CHANNEL),
    Rule("column-twice", MUST_FIX, "No two columns of a feed have one heading.", source=_CHANNEL),
    Rule("cell-empty", MUST_FIX, "A column that its channel requires is filled in every row.", feeds.feed_faults,
         source=_CHANNEL),
    Rule("cell-long", MUST_FIX, "No cell is longer than its column takes.", feeds.feed_faults, source=_CHANNEL),
    Rule("cell-not-allowed", MUST_FIX, "A cell holds one of the values that its column allows.", feeds.feed_faults,
         source=_CHANNEL),)
# fmt: on

CODES: Final[dict[str, Rule]] = {rule.code: rule for rule in RULES}
CHECKS: Final[dict[str, Check]] = {rule.code: rule.function for rule in RULES if rule.function}
THRESHOLDS: Final[dict[str, Threshold]] = {rule.code: rule.threshold for rule in RULES if rule.threshold}


def leveled(problem: Problem) -> Problem:
    """Return the problem at the level of its rule, unless it has one of its own."""
    return problem if problem.own_level else replace(problem, own_level=CODES[problem.code].level)
