"""Problems: every complaint about an owner's file is a value with a place, a code and a remedy.

There are three kinds of trouble. A value is wrong: leaf code raises `FieldError`, which knows no files, and the reader
makes a `Problem` of it by adding the place. Something outside must be done first, as with a lock, a full disk or
a damaged ledger: `BlockedError`. Our own mistake: any other exception, which nobody catches.

`CODES` is the closed list of what can be wrong; the code decides the level.
"""

from dataclasses import dataclass
from enum import StrEnum

KeyPath = tuple[str | int, ...]


class Level(StrEnum):
    """MUST_FIX stops the build (exit 1); LOOK_AT is a warning (exit 0)."""

    MUST_FIX = "Must fix"
    LOOK_AT = "Look at"


class FieldError(ValueError):
    """One value is wrong: what was found, and what to write instead. Knows nothing of files."""

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint


class BlockedError(FieldError):
    """No value is wrong, but something outside must be done first: a lock, a full disk, a damaged ledger.

    `message` and `hint` are whole sentences for the owner. It is a FieldError so that whoever prints one to the owner
    prints this too; code that tries a value and goes on without it calls nothing that raises a BlockedError.
    """


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Where the owner mends it.

    `file` is relative to the shop folder, with forward slashes. `line` counts from 1 (in a workbook
    it is the row); 0 means not known yet, and the report finds it from `key` on demand.
    `row` names a table row by its code, `column` by the heading as the owner wrote it.
    """

    file: str
    line: int = 0
    row: str = ""
    column: str = ""
    key: KeyPath = ()

    def __str__(self) -> str:
        parts = [self.file]
        if self.row:
            parts.append(f"row {self.row}")
        elif self.line:
            parts.append(f"line {self.line}")
        if self.column:
            parts.append(f"column {self.column}")
        return ", ".join(parts)


@dataclass(frozen=True, slots=True)
class Code:
    """One kind of problem: its level and the rule in the owner's words."""

    level: Level
    rule: str


def _must(rule: str) -> Code:
    return Code(Level.MUST_FIX, rule)


def _look(rule: str) -> Code:
    return Code(Level.LOOK_AT, rule)


CODES: dict[str, Code] = {
    # reading
    "file-missing": _must("A file or folder that the shop needs is not there."),
    "encoding": _must("A text file is in UTF-8 (tables may also be in Windows-1252)."),
    "syntax": _must("A file follows the rules of its format: quotes, brackets and signs in pairs."),
    "unknown-key": _must("Only keys that listkit knows stand in a file, so that a typing slip is not passed over."),
    "missing-key": _must("What listkit cannot do without is stated."),
    "bad-value": _must("A value has the form that its key asks for."),
    "unknown-code": _must("A code that is used names something that is there."),
    "code-twice": _must("A code names one thing only."),
    "key-unused": _look("What a channel's file says of its feed is used by what the channel makes."),
    "unknown-column": _look("A heading within two letters of one of ours is probably a typing slip."),
    "path-outside": _must("Every path stays inside the shop folder."),
    "not-a-picture": _must("A file in a photos folder is a picture that can be opened."),
    "template-fault": _must("A text with placeholders uses only names and filters that exist, within the bounds."),
    # codes
    "option-twins": _must("No two options of a slot read alike; case, accents, spaces or & do not tell them apart."),
    "options-alike": _look("Options that differ in a letter or two of a long word are probably one of them a slip."),
    "letter-unseen": _look("Names and choices hold no sign that nobody sees, and none that turns the writing."),
    "gtin-wrong": _must("A GTIN has 8, 12, 13 or 14 digits, the last of which follows from the others."),
    "gtin-shared": _must("A GTIN stands for one thing: two items, or an item and a set of it, never share one."),
    "gtin-internal": _look("Numbers for use within one company or region do not belong in a public feed."),
    "code-unsafe": _look("A code should not be one that a spreadsheet makes a date or a number of."),
    # prices
    "price-differs": _must("A price already in print is the price that the items come to."),
    "price-parity": _must("A variant costs the same on every channel of a country."),
    "options-unlike": _must("Where options are to cost the same, they do."),
    "margin-thin": _look("What a channel leaves of a price is at least the lowest margin."),
    "band-missed": _look("A price does not lie just above a ceiling that gift buyers shop by."),
    "wholesale-thin": _look("A wholesale price covers the full cost with room to spare."),
    "cost-above-retail": _look("An item sells for more than it costs."),
    "reduction-unclear": _must("A reduction says by how much, or the new ending of prices, and never both."),
    "reductions-overlap": _must("On one day one reduction of a file lowers a set's price on a channel."),
    "reduction-empty": _must("A reduction leaves something of every price that it lowers."),
    "reduction-unannounced": _look("A reduction is announced where the lowest price of the days before allows it."),
    "reduction-apart": _look("A reduction on one channel alone is seen by the buyers of the others."),
    "cheaper-than-stockists": _look("Stockists hear of it before we sell below the retail price suggested to them."),
    "ledger-unread": _look("The ledger can be read: reductions and line sheets go by what was given out before."),
    "sounds-like-saving": _look("A text speaks of a saving only while a reduction is in force."),
    # wholesale
    "sheet-stale": _must("The prices of a line sheet hold until a day that has not passed."),
    "sheet-long": _look("The prices of a line sheet do not hold longer than can be kept."),
    "window-order": _must("Orders close before sending begins, and sending begins before it ends."),
    "tier-dearer": _must("More pieces never cost more each."),
    "tier-thin": _must("A lower price for many still covers the full cost with something to spare."),
    "tier-twice": _must("No two tiers begin at the same quantity."),
    "shop-margin-low": _look("A shop that sells at the suggested price keeps its usual share."),
    "sheet-older": _must("A line sheet is of a later day than the prices of the one before it."),
    "stockist-stale": _look("Every stockist holds the line sheet that counts."),
    "retail-unlike": _look("The retail price that a line sheet suggests is our own public one."),
    "arrival-short": _look("What shops buy keeps long enough to be sold and used after it has reached them."),
    "gtin-missing": _look("What a feed's column or the line sheet asks a GTIN of has one."),
    # orders from shops
    "order-packs": _must("What a shop orders makes full cases and reaches the minimum."),
    "order-sum": _must("An order reaches the least sum of the terms."),
    "order-late": _look("An order comes by the sheet of today, while its lines can be ordered."),
    "order-stock": _look("What a shop orders is on hand, or is made before it ships."),
    # stock and dates
    "item-closed": _must("A set that is on sale holds nothing that is closed."),
    "stock-promised-twice": _look("What several sets are made of suffices for all of them."),
    "stock-shared": _look("The variants of a set do not show far more together than can be made of the set."),
    "season-over": _look("A set whose season is over is not shown."),
    "season-not-yet": _look("A set is shown when its season has begun."),
    "dates-in-order": _must("What begins on a day does not end before it."),
    "shelf-life-short": _look("What is sold keeps long enough to be given away and used."),
    # weights
    "weight-missing": _must("Everything weighs something."),
    "weight-below-net": _must("A piece weighs at least what is in it."),
    "weight-unlikely": _look("Nothing is denser than stone or lighter than a sponge, and no box as heavy as planks."),
    "net-unlikely": _look("What is inside has room in its size, and a weight that goes with it."),
    "box-too-small": _must("All pieces of every variant go into the box, beside each other unless the set is stacked."),
    "box-loose": _look("A box is full enough not to look empty."),
    "box-full": _look("A box is not so full that it may not close over its fill."),
    "box-high": _look("A box is not so much higher than its pieces that they lie deep down in it."),
    "box-overloaded": _must("A box carries what lies in it."),
    "lies-down": _must("What must stand upright stands in its box."),
    "carton-missing": _look("A box that is sent has a carton, or its parcel cannot be weighed."),
    "shape-wrong": _must("A cylinder is as wide as it is long, and a ball as high too."),
    "inside-larger": _must("A box is larger outside than inside, and smaller than its carton."),
    "rate-steps": _must("The steps of a rate follow each other: no gap, no overlap, none twice."),
    "rate-cheaper": _look("A heavier parcel seldom costs less to send than a lighter one."),
    "rate-missing": _look("Some service of rates.csv takes every parcel."),
    # limits
    "accent-faint": _look("The accent of documents is read on white paper, in colour and printed in grey."),
    "label-sheet": _must("Labels and price cards lie on their sheet, and none upon another."),
    "label-large": _look("A label is no larger than the side of the box that it goes on."),
    "title-long": _must("A title is not longer than its channel takes."),
    "description-long": _must("A text is not longer than its channel takes."),
    "keywords-many": _must("There are no more keywords than the channel takes."),
    "keyword-long": _must("A keyword is not longer than its channel takes."),
    "variants-many": _must("There are no more variants than the channel takes."),
    "values-many": _must("A slot has no more options than the channel takes."),
    "column-twice": _must("No two columns of a feed have one heading."),
    "cell-empty": _must("A column that its channel requires is filled in every row."),
    "cell-long": _must("No cell is longer than its column takes."),
    "cell-not-allowed": _must("A cell holds one of the values that its column allows."),
    "photos-many": _look("Photos beyond what the channel takes are left out."),
    "character-forbidden": _must("No title or text holds a character that its channel forbids."),
    # photos
    "shot-missing": _must("Every set has the shots that the shop asks for."),
    "option-unseen": _look("Where some options of a slot have a photo of their own, every option has one."),
    "photo-small": _must("A finished picture is as wide as its crop asks at least."),
    "photo-twice": _must("A set does not show one picture twice, nor two sets the same one."),
    "photo-shows-another": _look("A picture shows what is said of it."),
    "photo-dark": _look("A picture is bright enough to see what is in it."),
    "photo-blurred": _look("A picture is sharp."),
    "crop-tight": _must("A crop holds all that the focus box says must stay whole."),
    "alt-twice": _look("Each picture of a set has words of its own."),
    # words
    "unwritten": _must("What a new set leaves to its owner to write is written."),
    "starter-left": _look("Addresses that a new shop begins with are replaced by one's own."),
    "text-disagrees": _must("What a text says of sizes, counts, prices and items is what the set says."),
    "season-word": _look("A text names the season that its set is sold in, and what is celebrated in it."),
    "date-passed": _look("A last or first day in a text has not passed and lies in the season."),
    "option-not-offered": _must("No text speaks of an option that can no longer be chosen."),
    "title-loud": _look("A title neither shouts nor sells, and says nothing twice."),
    "title-front": _look("The first 60 characters of a title say what it is."),
    "claim-medicine": _must("No text promises what only a medicine may promise."),
    "claim-evidence": _look("A claim that needs proof has a document on file."),
    "claim-reword": _look("No text says what cannot be shown to be true, or sells what the law asks for anyway."),
    "caution-missing": _must("A piece has the cautions that its form, its ingredients and its age ask for."),
    "caution-silenced": _must("A caution that the rules choose is left out only with a reason."),
    "caution-age": _must("Nothing is meant for an age at which it is forbidden or needs advice."),
    "net-overstated": _look("A declared quantity is not rounded to more than there is."),
    "percent-over": _must("What is in an item or a raw material comes to 100 % at most."),
    "ingredients-brackets": _must("The brackets in a list of ingredients are in pairs."),
    "ingredients-missing": _look("What goes on the skin says what it is made of."),
    "ingredient-unlisted": _look("What ingredients.csv puts into an item stands in its list of ingredients."),
    "ingredient-order": _look("A list of ingredients begins with what there is most of."),
    "allergen-unnamed": _must("A fragrance allergen of which there is more than the limit is named."),
    "language-missing": _must("A language that a channel writes in has its words, its cautions and its stories."),
    "keyword-twins": _look("No keyword is another one in the plural or spelt otherwise."),
    "mini-not-named": _look("A mini is called one, so that nobody expects the full size."),
}


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing for the owner to fix: the value found, and what to write instead."""

    place: Place
    code: str  # a key of CODES: stable, documented, used by tests
    message: str
    hint: str = ""
    own_level: Level | None = None  # when this one is graver or slighter than its code, or the owner says so

    @property
    def level(self) -> Level:
        """MUST_FIX stops the build, LOOK_AT does not; the code decides, unless the problem has a level of its own."""
        return self.own_level or CODES[self.code].level

    def __str__(self) -> str:
        return f"{self.level} · {self.place}: {self.message} {self.hint}".rstrip()


def must_fix(problems: tuple[Problem, ...] | list[Problem]) -> bool:
    """Whether anything among `problems` stops the build."""
    return any(problem.level is Level.MUST_FIX for problem in problems)
