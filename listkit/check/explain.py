"""Explains a code: its rule, the figure it goes by in this shop, where the rule is from, how to change it."""

from difflib import get_close_matches
from typing import Final

from listkit.check.thresholds import ALWAYS, COMMON, EXAMPLES, THRESHOLDS, Thresholds, read_thresholds, threshold_text
from listkit.model.settings import Settings
from listkit.problem import CODES, FieldError

_GS1: Final = "GS1 General Specifications"
_CHANNEL: Final = "the channel's own [limits] and [[column]]s, as its file states them"
_CLAIMS: Final = "the words of templates/claims/, each with its own source; check the local rules"
_FOLDER: Final = "what a shop folder holds; without it nothing can be made of the file"
# Where each rule is from. What is missing here is common practice.
SOURCES: Final[dict[str, str]] = {
    **dict.fromkeys(ALWAYS, _FOLDER),
    "unknown-column": _FOLDER,
    "gtin-wrong": f"{_GS1}, section 7.9 (check digit) and 2.1 (lengths)",
    "gtin-shared": "GS1 GTIN Management Standard: each composition has a GTIN of its own",
    "gtin-internal": f"{_GS1}, section 1.4: prefixes 020-029 and 200-299 within a region, 040-049 within a company",
    "gtin-missing": "a [[column]] of the channel with the value gtin, or gtins = true in wholesale.toml",
    "code-unsafe": "Ziemann, Eren, El-Osta, Genome Biology 17:177 (2016), on names that spreadsheets changed",
    "price-parity": "common practice, no source: buyers compare channels",
    "price-differs": "the price that items, uplift and ending come to",
    "options-unlike": 'option_prices = "equal" in shop.toml or set.toml',
    "sounds-like-saving": "16 CFR 233.1 (former prices) and rules like it; check the local ones",
    "sheet-stale": "valid_until in wholesale.toml",
    "sheet-older": "the line sheet that was recorded last against the one of today",
    "stockist-stale": "sheet in stockists.csv against the versions that listkit record wholesale remembers",
    "retail-unlike": "the channels of the shop's own country; what shops ask is theirs to say",
    "item-closed": "status in the items table and in set.toml",
    "stock-promised-twice": "what is on hand against what all sets on sale could use together (a greatest flow)",
    "stock-shared": "what a channel shows of each variant against what can be made; the limit is common practice",
    "season-over": "[[season]] in shop.toml",
    "season-not-yet": "[[season]] in shop.toml",
    "dates-in-order": "the calendar",
    "window-order": "the calendar",
    "box-too-small": "an exact search over bounding blocks, then one with true circles",
    "lies-down": "upright in the items table",
    "box-loose": "loose_below under [packing]; common practice, no source",
    "box-full": "full_above under [packing]; common practice, no source",
    "box-high": "spare_height under [packing]; common practice, no source",
    "box-overloaded": "most_weight of the box in packaging.toml",
    "weight-unlikely": "densities in NIST's ESTAR data base; of sponges, walls and cards common practice, no source",
    "net-unlikely": "densities in NIST's ESTAR data base; of packaging and whipped butters common practice, no source",
    "weight-below-net": "gross weight is net weight and packaging; the net content is what the label declares",
    **dict.fromkeys(
        (
            *("title-long", "description-long", "keywords-many", "keyword-long", "variants-many", "values-many"),
            *("photos-many", "character-forbidden"),
            *("key-unused", "column-twice", "cell-empty", "cell-long", "cell-not-allowed"),
        ),
        _CHANNEL,
    ),
    "label-sheet": "[labels] and [cards] in shop.toml: size, sheet, margins, pitch, columns, rows",
    "label-large": "size under [labels] in shop.toml against outside of the box in packaging.toml",
    "label-tight": "the letters of the font that labels are set in, and the layout as it is shipped",
    "line-unseen": "what the photos of the sets are said to show: a close view of one item is its own",
    "shot-missing": "[shots] required in shop.toml",
    "photo-small": "smallest of the channel's [[crop]]",
    "crop-tight": 'focus of the photo and if_tight = "problem" of the channel\'s [[crop]]',
    "claim-medicine": f"{_CLAIMS}; US Food and Drug Administration, Is It a Cosmetic, a Drug, or Both?",
    "claim-evidence": f"{_CLAIMS}; Regulation (EU) 655/2013, evidential support; 16 CFR 260 for the environment",
    "claim-reword": f"{_CLAIMS}; EU technical document on cosmetic claims (2017); 16 CFR 260.4",
    "text-disagrees": "the set's own contents, prices and sizes",
    "unwritten": "the lines that listkit add marks in a new set",
    "starter-left": "what listkit new writes into a new shop",
}


def explain(code: str, settings: Settings) -> str:
    """Return the explanation of a code in a few lines.

    Raises:
        FieldError: there is no such code.
    """
    if code not in CODES:
        near = get_close_matches(code, CODES, n=1)
        raise FieldError(f'there is no check "{code}".', f'Write "{near[0]}".' if near else "")
    thresholds, _ = read_thresholds(settings)
    lines = [f"{code} · {_level(code, thresholds)}", f"  {CODES[code].rule}"]
    if code in THRESHOLDS:
        figure = thresholds[code]
        whose = "ours" if figure == THRESHOLDS[code].ours else "yours"
        lines.append(f"  Figure: {threshold_text(code, figure)} {THRESHOLDS[code].meaning} ({whose}).")
    lines += [f"  From: {SOURCES.get(code) or _source(code)}.", f"  {_how_to_change(code)}"]
    return "\n".join(lines)


def _level(code: str, thresholds: Thresholds) -> str:
    if code in thresholds.off:
        return "off in your shop.toml"
    own = dict(thresholds.levels).get(code)
    return f"{own}, by your shop.toml" if own else str(CODES[code].level)


def _source(code: str) -> str:
    return THRESHOLDS[code].source if code in THRESHOLDS else COMMON


def _how_to_change(code: str) -> str:
    if code in ALWAYS:
        return "It cannot be switched off."
    written = f'{code} = "off"'
    figure = f', or "{EXAMPLES[THRESHOLDS[code].kind]}" for another figure' if code in THRESHOLDS else ""
    return f'Switch it off in shop.toml, under [checks]: {written}; or "look at", "must fix"{figure}.'
