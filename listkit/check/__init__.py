"""Checks: Listings -> Problems. CHECKS has every rule, in the order they are told: one function and one code each.

"feeds", "claims", "cautions" and "boxes" tell several codes, because they look once at every cell, text, item and box;
"label-words" tells what is missing in a language.
"""

from dataclasses import replace
from typing import Final

from listkit.check import (
    box,
    cautions,
    claims,
    codes,
    feeds,
    labels,
    languages,
    limits,
    measures,
    photos,
    prices,
    reductions,
    season_words,
    stock,
    text,
    wholesale,
)
from listkit.check.places import CheckContext, Rule
from listkit.check.thresholds import read_thresholds
from listkit.listing.listings import Listings
from listkit.problem import Problem

CHECKS: Final[dict[str, Rule]] = {
    "option-twins": codes.option_twins,
    "options-alike": codes.options_alike,
    "letter-unseen": codes.letter_unseen,
    "gtin-wrong": codes.gtin_wrong,
    "gtin-shared": codes.gtin_shared,
    "gtin-internal": codes.gtin_internal,
    "code-unsafe": codes.code_unsafe,
    "code-twice": codes.code_twice,
    "price-differs": prices.price_differs,
    "price-parity": prices.price_parity,
    "options-unlike": prices.options_unlike,
    "margin-thin": prices.margin_thin,
    "band-missed": prices.band_missed,
    "wholesale-thin": wholesale.wholesale_thin,
    "cost-above-retail": prices.cost_above_retail,
    "reduction-unclear": reductions.reduction_unclear,
    "reductions-overlap": reductions.reductions_overlap,
    "reduction-empty": reductions.reduction_empty,
    "reduction-unannounced": reductions.reduction_unannounced,
    "reduction-apart": reductions.reduction_apart,
    "cheaper-than-stockists": reductions.cheaper_than_stockists,
    "sounds-like-saving": prices.sounds_like_saving,
    "sheet-stale": wholesale.sheet_stale,
    "sheet-long": wholesale.sheet_long,
    "line-unseen": wholesale.line_unseen,
    "window-order": wholesale.window_order,
    "tier-dearer": wholesale.tier_dearer,
    "tier-thin": wholesale.tier_thin,
    "tier-twice": wholesale.tier_twice,
    "shop-margin-low": wholesale.shop_margin_low,
    "sheet-older": wholesale.sheet_older,
    "stockist-stale": wholesale.stockist_stale,
    "retail-unlike": wholesale.retail_unlike,
    "arrival-short": wholesale.arrival_short,
    "gtin-missing": wholesale.gtin_missing,
    "item-closed": stock.item_closed,
    "stock-promised-twice": stock.stock_promised_twice,
    "stock-shared": stock.stock_shared,
    "season-over": stock.season_over,
    "season-not-yet": stock.season_not_yet,
    "dates-in-order": stock.dates_in_order,
    "shelf-life-short": stock.shelf_life_short,
    "weight-missing": measures.weight_missing,
    "weight-below-net": measures.weight_below_net,
    "weight-unlikely": measures.weight_unlikely,
    "net-unlikely": measures.net_unlikely,
    "boxes": box.boxes,
    "box-overloaded": box.box_overloaded,
    "carton-missing": measures.carton_missing,
    "shape-wrong": measures.shape_wrong,
    "inside-larger": measures.inside_larger,
    "rate-missing": measures.rate_missing,
    "accent-faint": labels.accent_faint,
    "label-sheet": labels.label_sheet,
    "label-large": labels.label_large,
    "label-tight": labels.label_tight,
    "label-words": labels.label_words,
    "title-long": limits.title_long,
    "description-long": limits.description_long,
    "keywords-many": limits.keywords_many,
    "keyword-long": limits.keyword_long,
    "variants-many": limits.variants_many,
    "values-many": limits.values_many,
    "photos-many": limits.photos_many,
    "character-forbidden": limits.character_forbidden,
    "shot-missing": photos.shot_missing,
    "option-unseen": photos.option_unseen,
    "photo-small": photos.photo_small,
    "photo-twice": photos.photo_twice,
    "photo-shows-another": photos.photo_shows_another,
    "photo-dark": photos.photo_dark,
    "photo-blurred": photos.photo_blurred,
    "crop-tight": photos.crop_tight,
    "alt-twice": photos.alt_twice,
    "net-overstated": measures.net_overstated,
    "ingredients-brackets": cautions.ingredients_brackets,
    "ingredients-missing": cautions.ingredients_missing,
    "ingredient-unlisted": cautions.ingredient_unlisted,
    "ingredient-order": cautions.ingredient_order,
    "allergen-unnamed": cautions.allergen_unnamed,
    "unwritten": text.unwritten,
    "starter-left": text.starter_left,
    "text-disagrees": text.text_disagrees,
    "season-word": season_words.season_word,
    "date-passed": season_words.date_passed,
    "option-not-offered": text.option_not_offered,
    "title-loud": text.title_loud,
    "title-front": text.title_front,
    "claims": claims.claims,
    "cautions": cautions.cautions,
    "language-missing": languages.language_missing,
    "keyword-twins": text.keyword_twins,
    "mini-not-named": text.mini_not_named,
    "key-unused": feeds.key_unused,
    "feeds": feeds.feed_faults,
}


def check_listings(listings: Listings, context: CheckContext) -> list[Problem]:
    """Return what is wrong in [checks], then every problem of CHECKS, each once, as [checks] wants them.

    Args:
        listings: all of the shop; what was wrong with its files and templates was told when they were read.
        context: the day; the thresholds in it are replaced by the shop's.
    """
    thresholds, problems = read_thresholds(listings.catalog.shop.settings)
    context = replace(context, thresholds=thresholds)
    found = list(problems)
    for code, rule in CHECKS.items():
        if code not in thresholds.off:
            found += rule(listings, context)
    return thresholds.judged(found)
