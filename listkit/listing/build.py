"""Builds the Listings: every set on every channel, with exactly the words, rows and photos that will be written.

Pure: no files, no clock. What channels share (a set's texts in one language) is made once. A
listing whose template or story has a fault is left out, and the fault is a problem of the Listings, once.
"""

import datetime
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property, partial

from listkit.compute.allergens import Allergen
from listkit.compute.catalog import Catalog, PriceFacts, SetFacts, Variant
from listkit.compute.declaration import Rules
from listkit.compute.ingredients import allergens_by_name
from listkit.compute.reductions import last_day, on_channel, rulings_of
from listkit.compute.sales import sales_on
from listkit.compute.seasons import Phase, phase_of
from listkit.compute.singles import lists_single
from listkit.listing.columns import BLOCK_FIELDS, BLOCK_LINES, feed_fields, file_fields, may_go
from listkit.listing.declared import unit_price_of, unit_prices_text
from listkit.listing.formats import MEASURES
from listkit.listing.listings import (
    USUAL_DAY,
    LeftOut,
    ListedPhoto,
    Listing,
    Listings,
    OnDay,
    ShownReduction,
    ShownSlot,
    announcement,
    shown_reduction,
)
from listkit.listing.offers import (
    Stocked,
    VariantTexts,
    buyable,
    is_left_out,
    naming,
    offered,
    offers_of,
    price_names,
    sellable,
    shown_slots,
    standing,
    taken,
    variant_texts,
    with_priors,
)
from listkit.listing.photos import Names, alts_of, listed_photos, ordered_photos, shown_photos, with_address
from listkit.listing.replacing import in_words_of
from listkit.listing.templates import TemplateFault
from listkit.listing.texts import (
    PATHS,
    Named,
    Subject,
    listing_names,
    plain_line,
    render_after_season,
    render_listing,
    render_story,
    shown_items,
    small_print,
    story_names,
    with_blocks,
)
from listkit.listing.titles import fitting_title, keywords_of, titles_of
from listkit.listing.translate import Language, file_of, read_language
from listkit.listing.words import base_language
from listkit.model.channel import USUAL_BLOCKS, Channel
from listkit.model.item import Item
from listkit.model.shop import Photo, Shop, Story
from listkit.problem import Place, Problem
from listkit.units.money import Money

Blocks = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Named:
    """The fields that a channel's feed has a column of, and the blocks of which any of its files has the line."""

    in_feed: frozenset[str]
    lines: frozenset[str]


@dataclass
class _Run:
    """One build: the shop, what has been made so far to be shared, and the problems met, each once."""

    catalog: Catalog
    on: OnDay
    templates: dict[str, str]
    languages: dict[str, Language | None] = field(default_factory=dict)
    places: dict[str, Language] = field(default_factory=dict)
    shops: dict[object, Shop] = field(default_factory=dict)
    items: dict[object, dict[str, Item]] = field(default_factory=dict)
    names: dict[str, Names] = field(default_factory=dict)
    texts_of: dict[tuple[object, Rules], Callable[[Variant], VariantTexts]] = field(default_factory=dict)
    problems: dict[Problem, None] = field(default_factory=dict)
    left_out: list[LeftOut] = field(default_factory=list)
    fields_of: dict[str, "_Named"] = field(default_factory=dict)

    @property
    def shop(self) -> Shop:
        """The shop, in its own words."""
        return self.catalog.shop

    def named_fields(self, channel: Channel) -> "_Named":
        """Return the fields that a channel's data files name, and the blocks whose lines are among them."""
        if channel.key not in self.fields_of:
            in_feed, anywhere = feed_fields(channel), file_fields(channel)
            lines = frozenset(block for block in BLOCK_LINES if BLOCK_FIELDS[block] in anywhere)
            self.fields_of[channel.key] = _Named(in_feed, lines)
        return self.fields_of[channel.key]

    @cached_property
    def allergens(self) -> Mapping[str, Allergen]:
        """The fragrance allergens that are looked for, by name."""
        return allergens_by_name(self.shop)

    def variant_texts(self, language: Language, rules: Rules) -> Callable[[Variant], VariantTexts]:
        """Return the function from a variant to its texts, one for all sets: they share their pieces."""
        key = language.key, rules
        if key not in self.texts_of:
            self.texts_of[key] = variant_texts(language, rules, self.allergens)
        return self.texts_of[key]

    def language(self, channel: Channel) -> Language | None:
        """Return what is needed to write in a channel's language; None, with problems, where there are no words."""
        tag = channel.language or self.shop.settings.language
        if tag not in self.languages:
            place = channel.place("language") if channel.language else Place("shop.toml", key=("language",))
            read, problems = read_language(self.shop, tag, place)
            self.languages[tag] = read
            self.problems.update(dict.fromkeys(problems))
        language = self.languages[tag]
        if language is None:
            return None
        if channel.key not in self.places:
            language = in_words_of(language, channel.replace, channel.limits.forbidden)
            self.places[channel.key] = language
            if language.key not in self.shops:
                self.shops[language.key] = language.shop(self.shop)
                self.items[language.key] = {item.code: item for item in self.shops[language.key].items}
        return self.places[channel.key]

    def fault(self, place: Place, fault: TemplateFault) -> None:
        """Note a fault, once for its place."""
        problem = Problem(place, "template-fault", fault.message, fault.hint)
        self.problems.setdefault(problem)


def build_listings(catalog: Catalog, on: OnDay = USUAL_DAY) -> Listings:
    """Return a listing for every set on every channel of the shop; sets with nothing to offer have none.

    Args:
        catalog: all sets, with their usual prices.
        on: the day whose reductions are in force, and what they may be compared with; no reduction without it.
    """
    shop = catalog.shop
    run = _Run(catalog, on, dict(shop.templates.texts))
    by_channel: dict[str, list[Listing]] = {channel.key: [] for channel in shop.channels}
    run.names = {channel.key: Names(channel) for channel in shop.channels}
    lenders_first = sorted(shop.channels, key=lambda channel: bool(channel.photos_of))
    for facts in (*sorted(catalog.sets, key=_by_season), *catalog.singles):
        by_words: dict[object, _SetTexts] = {}
        beside: dict[str, Listing] = {}
        for channel in lenders_first:
            listing = _listing(run, by_words, facts, channel, beside)
            if listing is not None:
                beside[channel.key] = listing
                by_channel[channel.key].append(listing)
    listings = tuple(listing for of_channel in by_channel.values() for listing in of_channel)
    return Listings(catalog, listings, tuple(run.problems), tuple(run.left_out))


def _by_season(facts: SetFacts) -> datetime.date:
    """Return what the rows of a channel are in the order of: the season's first day; what has none comes last."""
    return facts.season.on_sale if facts.season else datetime.date.max


@dataclass(frozen=True)
class _Shown:
    """What one channel shows of a set: its variants as they cost there, and the reduction in force."""

    variants: tuple[Stocked, ...]
    reduction: ShownReduction | None
    phase: Phase
    left_out: bool = False  # by the channel's own rules, though there are variants that it could show

    @cached_property
    def key(self) -> tuple[tuple[str, bool, PriceFacts | None], ...]:
        """What a text depends on: which variants are shown, which are sold out, and which cost less."""
        return tuple(
            [(variant.code, stock == 0, variant.prices if variant.usual else None) for variant, stock in self.variants]
        )

    @cached_property
    def pricing(self) -> tuple[Variant, ...]:
        """The variants that set prices."""
        return buyable(self.variants)


def _shown(run: _Run, facts: SetFacts, channel: Channel) -> _Shown:
    if facts.is_single and not lists_single(facts.code, run.shop.settings, channel.singles):
        return _Shown((), None, Phase.ON_SALE)
    ruling, variants = on_channel(facts, run.shop.settings, channel.key, run.on.day)
    stocked = offered(facts if ruling is None else replace(facts, variants=variants), channel, run.catalog)
    phase = phase_of(facts.season, run.on.day)
    there, stocked = bool(stocked), taken(channel, facts, stocked)
    if there and (not stocked or is_left_out(channel, phase)):
        return _Shown((), None, phase, left_out=True)
    if ruling is None or not stocked:
        return _Shown(stocked, None, phase)
    lowered = [variant for variant, _ in stocked if variant.usual]
    if not run.on.announce or not lowered:
        return _Shown(stocked, ShownReduction(ruling), phase)
    names = price_names(lowered) if len(lowered) == len(stocked) else {}
    return _Shown(stocked, shown_reduction(ruling, lowered, run.on.of_channel(channel.key), names), phase)


def _listing(
    run: _Run, by_words: dict[object, "_SetTexts"], facts: SetFacts, channel: Channel, beside: Mapping[str, Listing]
) -> Listing | None:
    """Return one set on one channel; None when nothing of it is offered, or its texts have a fault.

    `beside` are the set's listings on channels made before, by their keys: one may lend its pictures.
    """
    shown = _shown(run, facts, channel)
    language = run.language(channel) if shown.variants or shown.left_out else None
    if language is None:
        return None
    texts = by_words.get(language.key) or by_words.setdefault(language.key, _SetTexts(run, facts, language))
    if shown.left_out:
        run.left_out.append(LeftOut(channel.key, texts.stated, shown.phase))
        return None
    if texts.facts is not facts:  # in other words than the shop's own
        shown = _shown(run, texts.facts, channel)
    return texts.listing(channel, shown, beside.get(channel.photos_of))


@dataclass(frozen=True, slots=True)
class _Written:
    """A text as one channel takes it, of which blocks it is, and where it is still too long what each takes."""

    description: str
    plain: str
    blocks: Blocks
    sizes: tuple[tuple[str, int], ...] = ()
    lines: tuple[tuple[str, str], ...] = ()
    small_print: int = 0


class _SetTexts:
    """The texts of one set in one language, made once for all channels that need the same."""

    def __init__(self, run: _Run, facts: SetFacts, language: Language) -> None:
        self.run = run
        self.shop = run.shops[language.key]
        self.stated = language.stated_facts(facts)
        self.facts = language.placed_facts(self.stated)
        self.language = language
        self.photos = ordered_photos(self.facts, self.shop)
        self.keywords = keywords_of(self.facts.source.gift_set)
        self._of_variants: dict[Rules, dict[str, VariantTexts]] = {}
        self._slots: dict[object, tuple[ShownSlot, ...]] = {}
        self._names: dict[object, Named | None] = {}
        self._small_print: dict[object, dict[str, int]] = {}
        self._texts: dict[object, str | None] = {}

    def listing(self, channel: Channel, shown: _Shown, lender: Listing | None) -> Listing | None:
        """Return the set on one channel, None where its texts have a fault; `lender` may lend its pictures."""
        facts, run, settings, wording = self.facts, self.run, self.shop.settings, self.language.words
        limits, size, made = channel.limits, MEASURES[channel.limits.count], self.language.made
        title = fitting_title(self.titles, facts.source.gift_set, limits.title, size, forbidden=limits.forbidden)
        written = self._written(channel, shown, title=title)
        if written is None:
            return None
        country, slots, unit = channel.country or settings.country, self.slots_of(shown), channel.unit_price
        photos = self.photos if limits.photos is None else self.photos[: limits.photos]
        listed = self._listed(channel, photos, lender)
        in_words = self.of_variants(country)
        offers = offers_of(
            shown.variants,
            sales_on(channel, facts, run.shop),
            naming(wording, facts, slots, title=title, limit=limits.title, size=size),
            shown_photos(facts, listed),
            ((in_words[each.code], made(unit_price_of(wording, each, unit))) for each, _ in shown.variants),
            standing_of=partial(standing, channel=channel, phase=shown.phase),
        )
        return Listing(
            channel=channel,
            facts=facts,
            language=self.language.tag,
            country=country,
            maker=(settings.name, settings.address, settings.email),
            currency=settings.currency,
            title=title,
            theme=facts.source.gift_set.theme,
            description=written.description,
            plain=plain_line(written.plain),
            keywords=self.keywords[: limits.keywords] if channel.keywords == "first" else self.keywords,
            slots=slots,
            offers=with_priors(tuple(offers), shown.reduction),
            photos=listed,
            dropped_photos=self.photos[len(photos) :],
            address=f"{channel.listing_address}{facts.source.folder}" if channel.listing_address else "",
            reduction=shown.reduction,
            naming=wording.naming,
            words_file=file_of(run.shop, self.language.tag) if self.language.translator else "",
            price_turns=last_day(rulings_of(facts.source, settings), channel.key, run.on.day),
            phase=shown.phase,
            pricing=() if shown.phase is Phase.ON_SALE else tuple(variant.code for variant in shown.pricing),
            most=sellable(facts.can_make, channel, run.catalog, (variant.code for variant, _ in shown.variants)),
            stated=None if self.stated is facts else self.stated,
            blocks=written.blocks,
            block_sizes=written.sizes,
            block_lines=written.lines,
            small_print=written.small_print,
        )

    def _listed(self, channel: Channel, photos: tuple[Photo, ...], lender: Listing | None) -> tuple[ListedPhoto, ...]:
        """Return the photos with the channel's own pictures, or those whose pictures another channel lends."""
        alts = self.alts[: len(photos)]
        if not channel.photos_of:
            return listed_photos(self.facts, photos, alts, self.run.names[channel.key])
        words = {photo.file: alt for photo, alt in zip(photos, alts, strict=True)}
        return tuple(
            replace(
                listed,
                alt=words[listed.photo.file],
                pictures=with_address(listed.pictures, channel.photo_address),
            )
            for listed in (lender.photos if lender else ())
            if listed.photo.file in words
        )

    def _written(self, channel: Channel, shown: _Shown, *, title: str) -> _Written | None:
        """Return the text as a channel takes it, less the blocks that go first where it is too long."""
        limit, size = channel.limits.description, MEASURES[channel.limits.count]
        named = self.run.named_fields(channel)
        blocks: Blocks = channel.blocks or USUAL_BLOCKS
        unit_price = self.language.made(unit_prices_text(self.language.words, shown.pricing, channel.unit_price))
        goes = [block for block in channel.if_long if block in blocks and may_go(block, named.in_feed)]

        def text(blocks: Blocks, kind: str = channel.text) -> str | None:
            return self.text(kind, shown, title=title, unit_price=unit_price, blocks=blocks)

        description = text(blocks)
        while description is not None and limit is not None and size(description) > limit and goes:
            first = goes.pop(0)
            blocks = tuple(block for block in blocks if block != first)
            description = text(blocks)
        plain = text(blocks, "plain")
        if description is None or plain is None:
            return None
        sizes: tuple[tuple[str, int], ...] = ()
        if limit is not None and size(description) > limit:
            sizes = tuple((block, size((text((block,)) or "").strip())) for block in blocks)
        lines = tuple(
            (block, plain_line(text((block,), "plain") or "")) for block in USUAL_BLOCKS if block in named.lines
        )
        small = sum(count for block, count in self._small_print[self._key(shown)].items() if block in blocks)
        taken = tuple(pair for pair in sizes if pair[1])
        return _Written(description, plain, blocks, taken, lines, small_print=small)

    def of_variants(self, country: str) -> dict[str, VariantTexts]:
        """Return the texts of each variant by its code, its net contents as declared in the country."""
        rules = Rules.of(self.shop.settings.net_contents, country)
        if rules not in self._of_variants:
            texts_of = self.run.variant_texts(self.language, rules)
            self._of_variants[rules] = {variant.code: texts_of(variant) for variant in self.facts.variants}
        return self._of_variants[rules]

    @cached_property
    def alts(self) -> tuple[str, ...]:
        """The words for every photo."""
        return alts_of(self.language.words, self.facts, self.shop, self.photos)

    @cached_property
    def titles(self) -> tuple[str, ...]:
        """The title, one part more each time."""
        return titles_of(self.language.words, self.facts)

    def slots_of(self, shown: _Shown) -> tuple[ShownSlot, ...]:
        """Return the slots as they are shown."""
        if shown.key not in self._slots:
            self._slots[shown.key] = shown_slots(self.facts, shown.variants, self.shop.settings.currency)
        return self._slots[shown.key]

    def _announced(self, shown: _Shown) -> tuple[str, ...]:
        return announcement(self.language.words, shown.reduction, self.run.on) if shown.reduction else ()

    def _key(self, shown: _Shown) -> object:
        """Return what the names of a text differ by."""
        return shown.key, self._announced(shown), shown.phase is Phase.OVER

    def text(self, kind: str, shown: _Shown, *, title: str, unit_price: str, blocks: Blocks) -> str | None:
        """Return these blocks of the text in one kind; None when a template has a fault."""
        key = self._key(shown)
        if key not in self._names:
            named_now = self._named(shown, self._announced(shown))
            self._names[key] = named_now
            self._small_print[key] = small_print(named_now) if named_now else {}
        names = self._names[key]
        if names is None:
            return None
        text_key = kind, title, unit_price, blocks, key
        if text_key not in self._texts:
            path, named = PATHS[kind], with_blocks({**names, "title": title, "unit_price": unit_price}, blocks)
            try:
                text = render_listing(self.run.templates[path], kind, named, self.language.formats)
                text = self.language.made(text)
            except TemplateFault as fault:
                self.run.fault(Place(f"templates/{path}", line=fault.line), fault)
                text = None
            self._texts[text_key] = text
        return self._texts[text_key]

    def _named(self, shown: _Shown, announced: tuple[str, ...]) -> Named | None:
        """Return all names for the template, the story filled; None when the story has a fault."""
        language, wording, settings = self.language, self.language.words, self.shop.settings
        slots = self.slots_of(shown)
        prices = [variant.prices.price.amount for variant in shown.pricing]
        subject = Subject(
            facts=self.facts,
            items=shown_items(self.facts, slots),
            slots=slots,
            cheapest=Money(min(prices), settings.currency),
            dearest=Money(max(prices), settings.currency),
            price_names=price_names(shown.pricing),
            allergens=self.run.allergens,
            naming=wording.naming,
            reduction=announced,
        )
        names = story_names(wording, subject, settings)
        story = self._story()
        if story is None:
            return None
        try:
            render = render_story if shown.phase is not Phase.OVER else render_after_season
            filled = render(language.story(story.text), names, language.formats).strip()
        except TemplateFault as fault:
            if self.facts.code not in self.shop.left_out.seasonless:  # else it may only ask for that season
                self.run.fault(story.place(fault.line), fault)
            return None
        more = listing_names(language, subject, self.run.items[language.key])
        return {**names, **more, "story": filled}

    def _story(self) -> Story | None:
        """Return the story in the language, an empty one for a set without any; None when it has it in others only."""
        tag, base = self.language.tag, base_language(self.language.tag)
        stories = {story.language: story for story in self.facts.source.stories}
        lacking = self.shop.left_out.lacks_story(self.facts.source.folder, is_single=self.facts.is_single)
        if not stories:
            return None if lacking else Story("", "", "")
        shops_own = [""] if base == base_language(self.run.shop.settings.language) else []
        for name in (tag, base, *shops_own):
            if name in stories:
                return stories[name]
        if lacking:  # which is told already
            return None
        message = f'"{self.facts.name}" has no story in "{tag}".'
        folder = self.facts.source.folder
        place = Place(f"items/{folder}.{base}.md" if self.facts.is_single else f"sets/{folder}/story.{base}.md")
        problem = Problem(place, "language-missing", message, "Write this file, or take the language out.")
        self.run.problems.setdefault(problem)
        return None
