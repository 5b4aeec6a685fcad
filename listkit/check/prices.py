"""Checks of prices, fees and reductions: stated against computed, what is left, savings in words, who sees which price.

listkit reminds of the rules of reductions and certifies nothing; which prices may be compared is for the local rules to
say.
"""

import re
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal
from functools import cache, cached_property
from typing import Final

from listkit.check.alike import listed, passages
from listkit.check.places import (
    SHOP,
    CheckContext,
    item_place,
    line_codes,
    note_finder,
    offered,
    offered_alone_too,
    offered_variants,
    set_place,
)
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.prices import item_net, net_share, tax_of
from listkit.compute.reductions import Ruling, reduced_price, rulings_of
from listkit.compute.sales import net_on
from listkit.listing.listings import Listing, Listings, Offer
from listkit.model.channel import PRICE_AND_POSTAGE
from listkit.model.fields import Status
from listkit.model.gift_set import Slot
from listkit.model.reduction import Reduction
from listkit.problem import KeyPath, Place, Problem, times
from listkit.units.money import Money, minor_digits
from listkit.units.quantity import share_text
from listkit.units.spoken import Spoken


def _amount(variant: Variant) -> Decimal:
    return variant.prices.price.amount


def price_differs(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A price already in print is compared with every variant it holds for."""
    for facts in listings.catalog.sets:
        unlike: dict[KeyPath, list[Variant]] = defaultdict(list)
        counts: dict[KeyPath, int] = defaultdict(int)
        key_of = note_finder(facts.source.gift_set)
        for variant in facts.variants:
            if variant.stated_price is not None:
                key = key_of(variant)
                stated = facts.source.gift_set.variants[int(key[1])].price if key else None
                where = (*key, "price") if stated else ("price",)
                counts[where] += 1
                if variant.stated_price.amount != _amount(variant):
                    unlike[where].append(variant)
        for key, variants in unlike.items():
            yield _price_problem(facts, key, variants, counts[key], listings.catalog.shop.settings.spoken)


def _price_problem(facts: SetFacts, key: KeyPath, variants: list[Variant], count: int, spoken: Spoken) -> Problem:
    low = min(variants, key=_amount)
    high = max(variants, key=_amount)
    asked = [step for step in low.prices.steps if step.amount.amount]
    steps = " + ".join(f"{step.label} {spoken.money(step.amount)}" for step in asked)
    stated, hint = spoken.money(variants[0].stated_price or low.price), "take the line out: prices are computed."
    least, most = spoken.money(low.price), spoken.money(high.price)
    if low.price.amount != high.price.amount:
        message = f"{stated} is stated, but {len(variants)} of {count} variants come to {least} to {most}."
        return Problem(set_place(facts, *key), "price-differs", message, f"Give variants their own, or {hint}")
    named = f"{low.code} comes" if count == 1 else f"{len(variants)} of {count} variants come"
    message = f"{stated} is stated, but {named} to {least} ({steps})."
    return Problem(set_place(facts, *key), "price-differs", message, f"Write {low.price}, or {hint}")


def options_unlike(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """With option_prices = "equal" no choice may move the price."""
    shop_rule = listings.catalog.shop.settings.prices.option_prices
    spoken = listings.catalog.shop.settings.spoken
    for facts in listings.catalog.sets:
        rule = facts.source.gift_set.option_prices
        if (rule or shop_rule) != "equal" or not facts.variants:
            continue
        low = min(facts.variants, key=_amount)
        high = max(facts.variants, key=_amount)
        if low.price.amount != high.price.amount:
            least, most = spoken.money(low.price), spoken.money(high.price)
            message = f"options are to cost the same, but {low.code} is {least} and {high.code} {most}."
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
    least, spoken = context.figures["margin-thin"], listings.catalog.shop.settings.spoken
    for listing in listings:
        thin = [offer for offer in listing.offers if offer.sale.before_tax and _share_kept(offer) < least]
        if thin:
            yield _margin_problem(listing, min(thin, key=_share_kept), len(thin), least, spoken)


def _share_kept(offer: Offer) -> Decimal:
    share = offer.sale.margin
    return Decimal("-Infinity") if share is None else share


def _margin_problem(listing: Listing, offer: Offer, count: int, least: Decimal, spoken: Spoken) -> Problem:
    share = _share_kept(offer)
    kept = spoken.money(offer.kept) + (f", {share * 100:.1f} %," if share.is_finite() else "")
    more = f" ({count} of {len(listing.offers)} variants are thin)" if count > 1 else ""
    message = f"{listing.channel.name} leaves {kept} of {spoken.money(offer.price)} for {offer.variant.code}{more}."
    hint = f"{share_text(least)} is the least: raise the uplift or an item, or sell it elsewhere."
    return Problem(listing.place("uplift"), "margin-thin", message, hint)


def cost_above_retail(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Mostly a slipped decimal point; told once an item that is not closed."""
    shop = listings.catalog.shop
    for item in shop.items:
        net = item_net(item, shop.settings.prices.tax)
        if item.status is not Status.CLOSED and item.cost.amount * net.bottom > item.retail.amount * net.top:
            taxed = " before tax" if net.top != net.bottom else ""
            sold = Money(net.of(item.retail.amount), item.retail.currency).rounded(ROUND_HALF_UP)
            spoken = shop.settings.spoken
            message = f"{item.code} costs {spoken.money(item.cost)} to make and brings {spoken.money(sold)}{taxed}."
            hint = "Look at both figures, and where the decimal point stands."
            yield Problem(item_place(shop, item, "cost"), "cost-above-retail", message, hint)


def band_missed(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Gift buyers shop by ceilings; a little above one is seen by those who look for more. Once a set and ceiling."""
    settings = listings.catalog.shop.settings
    most = context.figures["band-missed"]
    step = Decimal(1).scaleb(-minor_digits(settings.currency))
    ceilings = [band.amount for band in settings.prices.bands]
    for facts in offered(listings.catalog):
        above: dict[Decimal, list[Variant]] = defaultdict(list)
        for variant in offered_variants(facts):
            for ceiling in ceilings:
                if step <= _amount(variant) - ceiling <= most:
                    above[ceiling].append(variant)
        for ceiling, variants in above.items():
            high = max(variants, key=_amount)
            money = settings.spoken.money
            over, price, limit = money(high.price.amount - ceiling), money(high.price), money(ceiling)
            lie = f"and {len(variants) - 1} more lie up to" if len(variants) > 1 else "lies"
            message = f"{high.code} at {price} {lie} {over} above {limit}, where gift buyers stop looking."
            hint = f"{over} less brings it to {limit}."
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
    for facts in (facts for facts in offered_alone_too(listings.catalog) if facts.code not in announced):
        for passage in passages(facts, language):
            pattern = _saving_words(passage.language.partition("-")[0])
            seen: set[str] = set()
            for match in pattern.finditer(passage.text) if pattern else ():
                word = match[0].casefold()
                if word not in seen:
                    seen.add(word)
                    message = f'"{match[0]}" sounds like a saving: "{passage.around(*match.span())}".'
                    hint = "No reduction is announced; say it otherwise."
                    yield Problem(passage.place(match.start()), "sounds-like-saving", message, hint)


def price_parity(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """One public price a variant and country; once a set, with the first variant that has two.

    Usual prices are compared: a reduction that only some channels have is for the check of reductions.
    """
    by_set: dict[tuple[str, str], list[Listing]] = defaultdict(list)
    for listing in listings:
        by_set[listing.folder, listing.country].append(listing)
    for shown in by_set.values():
        prices: dict[str, dict[Money, list[str]]] = defaultdict(dict)
        for listing in shown:
            for offer in listing.offers:
                prices[offer.variant.code].setdefault(offer.usual_price, []).append(listing.channel.name)
        unlike = [code for code, by_price in prices.items() if len(by_price) > 1]
        if unlike:
            spoken = listings.catalog.shop.settings.spoken
            asked = [f"{spoken.money(price)} on {listed(names)}" for price, names in prices[unlike[0]].items()]
            more = f", and {len(unlike) - 1} more variants differ" if len(unlike) > 1 else ""
            hint = "Buyers compare; let all channels of a country show one price."
            yield Problem(shown[0].place("code"), "price-parity", f"{unlike[0]} costs {listed(asked)}{more}.", hint)


# Reductions: whether they can be carried out, what cannot be announced, and who else sees the price.


@dataclass(frozen=True)
class _Stated:
    """A reduction as a file states it, with its place and the sets that it concerns."""

    reduction: Reduction
    place: Callable[[str], Place]
    sets: tuple[SetFacts, ...]

    @cached_property
    def folders(self) -> frozenset[str]:
        """The folders of the sets."""
        return frozenset(facts.source.folder for facts in self.sets)


def _stated(catalog: Catalog) -> Iterator[_Stated]:
    """Yield every reduction, the shop's first, with the sets and single pieces on sale that it is for."""
    sets, settings = tuple(offered_alone_too(catalog)), catalog.shop.settings
    concerned = defaultdict[int, list[SetFacts]](list)
    for at, each in ((one.at, facts) for facts in sets for one in rulings_of(facts.source, settings) if not one.own):
        concerned[at].append(each)
    for at, one in enumerate(settings.reductions):
        yield _Stated(one, _placed(Place(SHOP), at), tuple(concerned[at]))
    for facts in sets:
        for at, of_set in enumerate(facts.source.gift_set.reductions):
            yield _Stated(of_set, _placed(set_place(facts), at), (facts,))


def stated_reductions(catalog: Catalog) -> Iterator[tuple[Reduction, Callable[[str], Place]]]:
    """Yield every reduction of the shop and of sets on sale, with a function from its keys to their places."""
    return ((stated.reduction, stated.place) for stated in _stated(catalog))


def _placed(file: Place, at: int) -> Callable[[str], Place]:
    return lambda key: Place(file.file, key=("reduction", at, key))


def _place_of(listing: Listing, ruling: Ruling, key: str) -> Place:
    return _placed(listing.place() if ruling.own else Place(SHOP), ruling.at)(key)


def reduction_unclear(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A share and an ending together could mean two prices, and none of them means no price."""
    spoken = listings.catalog.shop.settings.spoken
    for stated in _stated(listings.catalog):
        by, ending, label = stated.reduction.by, stated.reduction.ending, stated.reduction.label_in(spoken)
        if by is not None and ending is not None:
            message = f'{label} says both {share_text(by)} less and the ending "{ending.text}".'
            yield Problem(stated.place("ending"), "reduction-unclear", message, "Keep one of the two.")
        elif by is None and ending is None:
            message = f"{label} does not say how much less."
            yield Problem(stated.place("from"), "reduction-unclear", message, 'Write by = "15 %", or ending = ".95".')


def reductions_overlap(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Two of one file on one day; a set's own goes before the shop's, so these two may. Once for the later one."""
    spoken, by_file = listings.catalog.shop.settings.spoken, defaultdict[str, list[_Stated]](list)
    for stated in _stated(listings.catalog):
        if stated.reduction.sound:
            by_file[stated.place("from").file].append(stated)
    keys = tuple(channel.key for channel in listings.catalog.shop.channels)
    for of_file in by_file.values():
        for at, later in enumerate(of_file):
            earlier = next((stated for stated in of_file[:at] if _overlap(stated, later, keys)), None)
            if earlier is not None:
                sets = [facts.name for facts in later.sets if facts.source.folder in earlier.folders]
                first = spoken.day(max(earlier.reduction.first, later.reduction.first))
                labels = f"{later.reduction.label_in(spoken)} and {earlier.reduction.label_in(spoken)}"
                message = f"{labels} both lower {listed(sets)} on {first}."
                hint = "Let one end before the other begins, or give them other sets or channels."
                yield Problem(later.place("from"), "reductions-overlap", message, hint)


def _overlap(earlier: _Stated, later: _Stated, keys: tuple[str, ...]) -> bool:
    """Whether two reductions lower one set on one day and channel; `keys` are those of all channels."""
    a, b = earlier.reduction, later.reduction
    if a.first > b.until or b.first > a.until:
        return False
    return not (earlier.folders.isdisjoint(later.folders) or set(a.channels or keys).isdisjoint(b.channels or keys))


def reduction_empty(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Once a reduction that has not ended, with the first price of which nothing would be left."""
    cheapest = {  # of each set; where a reduction leaves something of it, it does of all
        facts.source.folder: min(offered_variants(facts), key=_amount, default=None)
        for facts in offered_alone_too(listings.catalog)
    }
    for stated in _stated(listings.catalog):
        reduction = stated.reduction
        if reduction.sound and reduction.until >= context.today:
            low = ((facts, cheapest[facts.source.folder]) for facts in stated.sets)
            hit = next((facts for facts, one in low if one and reduced_price(one.price, reduction) is None), None)
            ones = offered_variants(hit) if hit else ()
            empty = next((one for one in ones if reduced_price(one.price, reduction) is None), None)
            if empty is not None:
                key = "ending" if reduction.ending else "by"
                spoken = listings.catalog.shop.settings.spoken
                message = f"{reduction.label_in(spoken)} leaves nothing of {empty.code} at {spoken.money(empty.price)}."
                yield Problem(stated.place(key), "reduction-empty", message, "Lower it by less, or name its sets.")


def reduction_unannounced(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a reduction that is in force today, with the first listing in which it goes unsaid, and why."""
    silent: dict[Place, list[tuple[Listing, str]]] = defaultdict(list)
    for listing in listings:
        shown = listing.reduction
        if shown is not None and shown.silent:
            silent[_place_of(listing, shown.ruling, "from")].append((listing, shown.silent))
    for place, unsaid in silent.items():
        listing, why = unsaid[0]
        spoken = listings.catalog.shop.settings.spoken
        label = listing.reduction.ruling.reduction.label_in(spoken) if listing.reduction else ""
        more = f" So it is in {times(len(unsaid) - 1, 'other listing')}." if len(unsaid) > 1 else ""
        message = f"{label} is not announced in {listing.facts.name} on {listing.channel.name}: {why}{more}"
        hint = "The price is lower all the same. Record whatever you publish; and look up the rules of your country."
        yield Problem(place, "reduction-unannounced", message, hint)


def reduction_apart(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a reduction that is in force today on some channels of a country and not on all."""
    by_set: dict[tuple[str, str], list[Listing]] = defaultdict(list)
    for listing in listings:
        by_set[listing.folder, listing.country].append(listing)
    seen, spoken = set[Place](), listings.catalog.shop.settings.spoken
    for of_set in by_set.values():
        by_price = sorted((offer for each in of_set for offer in each.offers), key=lambda offer: offer.price)
        dearest = {(offer.variant.code, offer.usual_price): offer.price for offer in by_price}
        for listing in of_set:
            if listing.reduction is None:
                continue
            place = _place_of(listing, listing.reduction.ruling, "channels")
            dearer = _dearer(listing, of_set, dearest) if place not in seen else None
            if dearer:
                seen.add(place)
                here, elsewhere, there = dearer
                message = (
                    f"until {spoken.day(listing.reduction.ruling.reduction.until)} {here.variant.code} costs "
                    f"{spoken.money(here.price)} on {listing.channel.name} and {spoken.money(there.price)} on "
                    f"{elsewhere.channel.name}."
                )
                hint = "If that is not meant, name all channels, or take the line out."
                yield Problem(place, "reduction-apart", message, hint)


def _dearer(
    listing: Listing, of_set: Sequence[Listing], dearest: Mapping[tuple[str, Money], Money]
) -> tuple[Offer, Listing, Offer] | None:
    """Return an offer, and another channel with it that is dearer there because of no reduction, or another."""
    offers = {offer.variant.code: offer for offer in listing.offers if offer.variant.usual}
    offers = {code: here for code, here in offers.items() if here.price < dearest[code, here.usual_price]}
    for elsewhere in of_set if offers else ():
        for there in elsewhere.offers:
            here = offers.get(there.variant.code)
            if here is not None and here.price < there.price and here.usual_price == there.usual_price:
                return here, elsewhere, there
    return None


def cheaper_than_stockists(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Once a reduction, in force or yet to come, of what shops buy from us to sell at the suggested price."""
    lines, shared = line_codes(listings.catalog), dict[str, Variant | None]()
    for stated in _stated(listings.catalog):
        reduction = stated.reduction
        if not reduction.sound or reduction.until < context.today:
            continue
        for facts in (facts for facts in stated.sets if facts.source.folder not in shared):
            shared[facts.source.folder] = _line_in(facts, lines)
        lowered = [(facts, one) for facts in stated.sets if (one := shared[facts.source.folder]) is not None]
        price = reduced_price(lowered[0][1].price, reduction) if lowered else None
        if price is not None:
            names, first = listed([facts.name for facts, _ in lowered]), lowered[0][1]
            are, spoken = "are" if len(lowered) > 1 else "is", listings.catalog.shop.settings.spoken
            message = (
                f"{names} {are} cheaper than your stockists from {spoken.day(reduction.first)} until "
                f"{spoken.day(reduction.until)}: {first.code} at {spoken.money(price)} instead of the suggested "
                f"{spoken.money(first.price)}."
            )
            hint = "Tell them before it begins, or leave it out here; what they ask is theirs to say."
            yield Problem(stated.place("from"), "cheaper-than-stockists", message, hint)


def _line_in(facts: SetFacts, lines: dict[str, tuple[str | int, ...]]) -> Variant | None:
    """Return the first variant that shops may sell too: of a set on the line sheet, or a single piece that is on it."""
    for variant in offered_variants(facts):
        piece = variant.pieces[0] if not facts.source.gift_set.boxed and len(variant.pieces) == 1 else None
        alone = piece is not None and piece.quantity == 1 and piece.item.code in lines
        if facts.code in lines or variant.code in lines or alone:
            return variant
    return None


# What a channel takes and what a price is made of: fees, taxes, zones, and prices of nothing.


def zone_unknown(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A zone that no rate is for would make postage nothing, and a fee on postage needs one."""
    shop = listings.catalog.shop
    zones = tuple(dict.fromkeys(rate.zone for rate in shop.rates))
    names = listed([f'"{zone}"' for zone in zones])
    there = f"rates.csv has {names}." if zones else "There is no rates.csv with rates."
    for channel in shop.channels:
        if channel.zone is not None and channel.zone not in zones and not shop.left_out.rates:
            message = f'{channel.name} sends to the zone "{channel.zone}", for which there is no rate.'
            yield Problem(channel.place("zone"), "zone-unknown", message, there)
        elif channel.zone is None and channel.fee_on == PRICE_AND_POSTAGE:
            message = f"{channel.name} takes its fee of postage too, and does not say where it sends to."
            hint = f'Write its zone as in zone = "home". {there}'
            yield Problem(channel.place("fee_on"), "zone-unknown", message, hint)


def fee_above_price(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Fee and tax that leave nothing of a price, or a minimum fee that a price does not reach; once a channel."""
    usual = listings.catalog.shop.settings.prices.tax
    for channel, shown in listings.by_channel():
        nets = [net_on(channel, offer.variant) for each in shown for offer in each.offers] or [
            net_share(usual if channel.tax is None else channel.tax)
        ]
        most = min(net.of(Decimal(1)) for net in nets)
        if channel.fee >= most:
            within = (1 - most).quantize(Decimal("0.0001"))
            message = (
                f"{channel.name} takes {share_text(channel.fee)} of a price, and {share_text(within)} of it is tax: "
                "nothing is left."
            )
            hint = f"Write a fee below {share_text(most.quantize(Decimal('0.001'), ROUND_FLOOR))}."
            yield Problem(channel.place("fee"), "fee-above-price", message, hint)
        least = channel.minimum_fee
        cheap = [] if least is None else [offer for each in shown for offer in each.offers if offer.price <= least]
        if least is not None and cheap:
            offer = min(cheap, key=lambda offer: offer.price.amount)
            more = f", and so it is for {times(len(cheap) - 1, 'other variant')}" if len(cheap) > 1 else ""
            fee, price = map(listings.catalog.shop.settings.spoken.money, (least, offer.price))
            message = f"the minimum fee of {fee} is no less than {offer.variant.code} costs, {price}{more}."
            hint = f"Write a minimum fee below {price}, or do not sell it on {channel.name}."
            yield Problem(channel.place("minimum_fee"), "fee-above-price", message, hint)


def price_nothing(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Nothing is sold for nothing; once a set, and for each item that shops may order."""
    catalog = listings.catalog
    for facts in offered_alone_too(catalog):
        free = [variant for variant in offered_variants(facts) if not variant.prices.price.amount]
        if free:
            more = f" ({len(free)} of {len(facts.variants)} variants)" if len(free) > 1 else ""
            nothing = catalog.shop.settings.spoken.money(free[0].price)
            message = f"{free[0].code} would be sold for {nothing}{more}."
            hint = "Write what its items cost, or an uplift; or close it."
            hint = "Write its retail price, or take it out of [singles]." if facts.is_single else hint
            yield Problem(set_place(facts, "contents"), "price-nothing", message, hint)
    lines = line_codes(catalog)
    for item in catalog.shop.items:
        if item.code in lines and item.status is not Status.CLOSED and not item.retail.amount:
            message = f"{item.code} is on the line sheet, and costs {catalog.shop.settings.spoken.money(item.retail)}."
            hint = "Write its retail price, or take it off the sheet."
            yield Problem(item_place(catalog.shop, item, "retail"), "price-nothing", message, hint)


def tax_split(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A set of goods of several rates, whose tax is split by the prices of its items; once a set."""
    tax = listings.catalog.shop.settings.prices.tax
    for facts in offered(listings.catalog):
        rates = _rates(facts, tax)
        if len(rates) > 1:
            message = (
                f"{facts.name} holds goods of {listed([share_text(rate) for rate in rates])} tax; "
                "the tax in its price is split by the prices of its items."
            )
            hint = "Some rules tax a whole set at one rate: check yours, and ask a licensed professional."
            yield Problem(set_place(facts, "contents"), "tax-split", message, hint)


def _rates(facts: SetFacts, tax: Decimal) -> tuple[Decimal, ...]:
    """Return the rates of the first variant that has several, from high to low; else those of the first."""
    mixes = [{tax_of(piece.item, tax) for piece in variant.pieces} for variant in offered_variants(facts)]
    mixed = next((rates for rates in mixes if len(rates) > 1), mixes[0] if mixes else set())
    return tuple(sorted(mixed, reverse=True))
