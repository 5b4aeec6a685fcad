"""Checks of prices: what is stated against what is computed, what is left, and words that promise a saving."""

import re
from collections import defaultdict
from collections.abc import Iterator
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from typing import Final

from listkit.check.alike import listed, passages
from listkit.check.places import CheckContext, item_place, note_finder, offered, offered_variants, set_place
from listkit.check.thresholds import threshold_text
from listkit.compute.catalog import SetFacts, Variant
from listkit.compute.prices import margin
from listkit.listing.listings import Listing, Listings, Offer
from listkit.model.fields import Status
from listkit.model.gift_set import Slot
from listkit.problem import KeyPath, Problem
from listkit.units.money import Money, minor_digits


def price_differs(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A price already in print is compared with every variant it holds for."""
    for facts in listings.catalog.sets:
        unlike: dict[KeyPath, list[Variant]] = defaultdict(list)
        counts: dict[KeyPath, int] = defaultdict(int)
        key_of = note_finder(facts.source.gift_set)
        for one in facts.variants:
            if one.stated_price is not None:
                key = key_of(one)
                stated = facts.source.gift_set.variants[int(key[1])].price if key else None
                where = (*key, "price") if stated else ("price",)
                counts[where] += 1
                if one.stated_price.amount != one.price.amount:
                    unlike[where].append(one)
        for key, variants in unlike.items():
            yield _price_problem(facts, key, variants, counts[key])


def _price_problem(facts: SetFacts, key: KeyPath, variants: list[Variant], count: int) -> Problem:
    low = min(variants, key=lambda one: one.price.amount)
    high = max(variants, key=lambda one: one.price.amount)
    steps = " + ".join(f"{step.label} {step.amount}" for step in low.prices.steps if step.amount.amount)
    stated, hint = variants[0].stated_price, "take the line out: prices are computed."
    if low.price.amount != high.price.amount:
        message = f"{stated} is stated, but {len(variants)} of {count} variants come to {low.price} to {high.price}."
        return Problem(set_place(facts, *key), "price-differs", message, f"Give variants their own, or {hint}")
    named = f"{low.code} comes" if count == 1 else f"{len(variants)} of {count} variants come"
    message = f"{stated} is stated, but {named} to {low.price} ({steps})."
    return Problem(set_place(facts, *key), "price-differs", message, f"Write {low.price}, or {hint}")


def options_unlike(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """With option_prices = "equal" no choice may move the price."""
    shop_rule = listings.catalog.shop.settings.prices.option_prices
    for facts in listings.catalog.sets:
        rule = facts.source.gift_set.option_prices
        if (rule or shop_rule) != "equal" or not facts.variants:
            continue
        low = min(facts.variants, key=lambda one: one.price.amount)
        high = max(facts.variants, key=lambda one: one.price.amount)
        if low.price.amount != high.price.amount:
            message = f"options are to cost the same, but {low.code} is {low.price} and {high.code} {high.price}."
            hint = 'Choose options of one price, or write option_prices = "own" or "dearest".'
            yield Problem(set_place(facts, *_unlike_slot(facts)), "options-unlike", message, hint)


def _unlike_slot(facts: SetFacts) -> KeyPath:
    """Return the key of the first slot whose options have unlike prices."""
    items = {item.code: item for item in facts.items}
    for index, entry in enumerate(facts.source.gift_set.contents):
        if isinstance(entry, Slot) and len({items[option.item].retail.amount for option in entry.choose}) > 1:
            return "contents", index, "choose"
    return ("option_prices",)


def margin_thin(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Told once for a set and channel, naming the variant that leaves least."""
    least = context.thresholds["margin-thin"]
    for listing in listings:
        thin = [o for o in listing.offers if o.kept.amount < least * o.variant.prices.before_tax]
        if thin:
            yield _margin_problem(listing, min(thin, key=_share_kept), len(thin), least)


def _share_kept(offer: Offer) -> Decimal:
    share = margin(offer.kept, offer.variant.prices.before_tax)
    return Decimal("-Infinity") if share is None else share


def _margin_problem(listing: Listing, offer: Offer, count: int, least: Decimal) -> Problem:
    share = _share_kept(offer)
    kept = f"{offer.kept}, {_percent(share)}," if share.is_finite() else f"{offer.kept}"
    more = f" ({count} of {len(listing.offers)} variants are thin)" if count > 1 else ""
    message = f"{listing.channel.name} leaves {kept} of {offer.price} for {offer.variant.code}{more}."
    hint = f"{threshold_text('margin-thin', least)} is the least: raise the uplift or an item, or sell it elsewhere."
    return Problem(listing.place("uplift"), "margin-thin", message, hint)


def _percent(share: Decimal) -> str:
    return f"{share * 100:.1f} %"


def cost_above_retail(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Mostly a slipped decimal point; told once an item that is not closed."""
    shop = listings.catalog.shop
    for item in shop.items:
        before_tax = item.retail.amount / (1 + shop.settings.prices.tax)
        if item.status is not Status.CLOSED and item.cost.amount > before_tax:
            taxed = " before tax" if shop.settings.prices.tax else ""
            sold = Money(before_tax, item.retail.currency).rounded(ROUND_HALF_UP)
            message = f"{item.code} costs {item.cost} to make and brings {sold}{taxed}."
            hint = "Look at both figures, and where the decimal point stands."
            yield Problem(item_place(shop, item, "cost"), "cost-above-retail", message, hint)


def band_missed(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Gift buyers shop by ceilings; a little above one is seen by those who look for more. Once a set and ceiling."""
    settings = listings.catalog.shop.settings
    most = context.thresholds["band-missed"]
    step = Decimal(1).scaleb(-minor_digits(settings.currency))
    ceilings = [band.amount for band in settings.prices.bands]
    for facts in offered(listings.catalog):
        above: dict[Decimal, list[Variant]] = defaultdict(list)
        for one in offered_variants(facts):
            for ceiling in ceilings:
                if step <= one.price.amount - ceiling <= most:
                    above[ceiling].append(one)
        for ceiling, variants in above.items():
            high = max(variants, key=lambda one: one.price.amount)
            over = high.price.amount - ceiling
            lie = f"and {len(variants) - 1} more lie up to" if len(variants) > 1 else "lies"
            message = f"{high.code} at {high.price} {lie} {over} above {ceiling}, where gift buyers stop looking."
            hint = f"{over} less brings it to {ceiling}."
            yield Problem(set_place(facts, "uplift"), "band-missed", message, hint)


# Words of a saving by language; from memory. "worth" is one only before what is no praise ("worth giving").
_SAVING: Final = {
    "en": r"sav(?:e|es|ing|ings)|instead of|worth(?! (?:\w+ing|it|the|a look)\b)|discount(?:ed|s)?|bargains?"
    r"|half price|cut price|price cut|reduced (?:to|from|price)|for less than|was [£$€]\s?\d+",
    "fr": r"économis(?:ez|er|e)|économies?|au lieu de|d'une valeur de|remise|rabais|soldes?|prix réduit|moitié prix",
    "de": r"spar(?:en|e|t|st)|ersparnis|statt|im wert von|rabatt|reduziert|schnäppchen|zum halben preis",
    "es": r"ahorr(?:a|as|e|o|ar)|en lugar de|valorado en|descuento|rebajas?|rebajado|mitad de precio",
    "it": r"risparmi(?:a|o|are)?|invece di|del valore di|sconto|scontat[oi]|metà prezzo",
}


@cache
def _saving_words(language: str) -> re.Pattern[str] | None:
    words = _SAVING.get(language)
    return re.compile(rf"(?<![\w-])(?:{words})(?![\w-])", re.IGNORECASE) if words else None


def sounds_like_saving(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A set costs the sum of its items and the uplift, so nothing is saved by it. Once a text and word.

    Where a reduction is in force and may be announced, its set may speak of it.
    """
    language = listings.catalog.shop.settings.language
    announced = {listing.facts.code for listing in listings if listing.reduction and listing.reduction.announced}
    for facts in (one for one in offered(listings.catalog) if one.code not in announced):
        for passage in passages(facts, language):
            pattern = _saving_words(passage.language.partition("-")[0])
            told: set[str] = set()
            for found in pattern.finditer(passage.text) if pattern else ():
                word = found[0].casefold()
                if word not in told:
                    told.add(word)
                    message = f'"{found[0]}" sounds like a saving: "{passage.around(*found.span())}".'
                    hint = "No reduction is announced; say it otherwise."
                    yield Problem(passage.place(found.start()), "sounds-like-saving", message, hint)


def set_names(sets: list[SetFacts]) -> str:
    """Return the names of sets for a message."""
    return listed([facts.name for facts in sets])


# Check of parity: what is said of a variant's price is the same wherever buyers of one country can see it.


def price_parity(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """One public price a variant and country; told once a set, with the first variant that has two.

    Usual prices are compared: a reduction that only some channels have is told by the check of reductions.
    """
    by_set: dict[tuple[str, str], list[Listing]] = defaultdict(list)
    for listing in listings:
        by_set[listing.folder, listing.country].append(listing)
    for own in by_set.values():
        prices: dict[str, dict[Money, list[str]]] = defaultdict(dict)
        for listing in own:
            for offer in listing.offers:
                prices[offer.variant.code].setdefault(offer.usual_price, []).append(listing.channel.name)
        unlike = [code for code, by_price in prices.items() if len(by_price) > 1]
        if unlike:
            told = [f"{price} on {listed(names)}" for price, names in prices[unlike[0]].items()]
            more = f", and {len(unlike) - 1} more variants differ" if len(unlike) > 1 else ""
            hint = "Buyers compare; let all channels of a country show one price."
            yield Problem(own[0].place("code"), "price-parity", f"{unlike[0]} costs {listed(told)}{more}.", hint)
