"""Builds the Listings: every set on every channel, with exactly the words, rows and photos that will be written.

Pure: no files, no clock. What channels share (a set's texts in one language) is made once. A
listing whose template or story has a fault is left out, and the fault is a problem of the Listings, once.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from listkit.compute.catalog import Catalog, PriceFacts, SetFacts, Variant
from listkit.compute.declaration import Rules
from listkit.compute.ingredients import Allergen, all_allergens, by_name
from listkit.compute.reductions import last_day, on_channel, rulings_of
from listkit.compute.seasons import Phase, phase_of
from listkit.listing.declared import unit_price_of, unit_prices_text
from listkit.listing.formats import MEASURES
from listkit.listing.listings import (
    USUAL_DAY,
    LeftOut,
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
    is_left_out,
    naming,
    offered,
    offers_of,
    shown_slots,
    variant_texts,
    with_priors,
)
from listkit.listing.photos import Names, alts_of, listed_photos, ordered_photos, shown_photos
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
    story_names,
)
from listkit.listing.titles import fitting_title, keywords_of, titles_of
from listkit.listing.translate import Language, file_of, read_language
from listkit.listing.words import base_language
from listkit.model.channel import Channel
from listkit.model.item import Item
from listkit.model.shop import Shop, Story
from listkit.problem import Place, Problem
from listkit.units.money import Money


@dataclass
class _Run:
    """One build: the shop, what has been made so far to be shared, and the problems met, each once."""

    shop: Shop
    on: OnDay
    templates: dict[str, str]
    languages: dict[str, Language | None] = field(default_factory=dict)
    shops: dict[str, Shop] = field(default_factory=dict)
    items: dict[str, dict[str, Item]] = field(default_factory=dict)
    names: dict[str, Names] = field(default_factory=dict)
    texts_of: dict[tuple[str, Rules], Callable[[Variant], VariantTexts]] = field(default_factory=dict)
    problems: dict[Problem, None] = field(default_factory=dict)
    left_out: list[LeftOut] = field(default_factory=list)

    @cached_property
    def allergens(self) -> Mapping[str, Allergen]:
        """The fragrance allergens that are looked for, by name."""
        return by_name(all_allergens(self.shop))

    def variant_texts(self, language: Language, rules: Rules) -> Callable[[Variant], VariantTexts]:
        """Return the function from a variant to its texts, one for all sets: they share their pieces."""
        key = language.tag, rules
        if key not in self.texts_of:
            self.texts_of[key] = variant_texts(language.words, language.cautions, rules, self.allergens)
        return self.texts_of[key]

    def language(self, channel: Channel) -> Language | None:
        """Return what is needed to write in a channel's language; None, with problems, where there are no words."""
        tag = channel.language or self.shop.settings.language
        if tag not in self.languages:
            file = f"channels/{channel.key}.toml" if channel.language else "shop.toml"
            read, problems = read_language(self.shop, tag, Place(file, key=("language",)))
            self.languages[tag] = read
            self.shops[tag] = read.shop(self.shop) if read else self.shop
            self.items[tag] = {item.code: item for item in self.shops[tag].items}
            self.problems.update(dict.fromkeys(problems))
        return self.languages[tag]

    def fault(self, file: str, fault: TemplateFault) -> None:
        """Note a fault, once for its file."""
        problem = Problem(Place(file, line=fault.line), "template-fault", fault.message, fault.hint)
        self.problems.setdefault(problem)


def build_listings(catalog: Catalog, on: OnDay = USUAL_DAY) -> Listings:
    """Return a listing for every set on every channel of the shop; sets with nothing to offer have none.

    Args:
        catalog: all sets, with their usual prices.
        on: the day whose reductions are in force, and what they may be compared with; no reduction without it.
    """
    shop = catalog.shop
    run = _Run(shop, on, dict(shop.templates.texts))
    by_channel: dict[str, list[Listing]] = {channel.key: [] for channel in shop.channels}
    run.names = {channel.key: Names(channel) for channel in shop.channels}
    for facts in catalog.sets:
        by_language: dict[str, _SetTexts] = {}
        for channel in shop.channels:
            listing = _listing(run, by_language, facts, channel)
            if listing is not None:
                by_channel[channel.key].append(listing)
    listings = tuple(listing for of_channel in by_channel.values() for listing in of_channel)
    return Listings(catalog, listings, tuple(run.problems), tuple(run.left_out))


@dataclass(frozen=True)
class _Shown:
    """What one channel shows of a set: its variants as they cost there, and the reduction in force."""

    variants: tuple[Stocked, ...]
    reduction: ShownReduction | None
    phase: Phase

    @cached_property
    def key(self) -> tuple[tuple[str, bool, PriceFacts | None], ...]:
        """What a text depends on: which variants are shown, which are sold out, and which cost less."""
        return tuple(
            [(variant.code, stock == 0, variant.prices if variant.usual else None) for variant, stock in self.variants]
        )


def _shown(run: _Run, facts: SetFacts, channel: Channel) -> _Shown:
    ruling, variants = on_channel(facts, run.shop.settings, channel.key, run.on.day)
    stocked = offered(facts if ruling is None else replace(facts, variants=variants), channel, run.shop.settings)
    phase = phase_of(facts.season, run.on.day)
    if ruling is None or not stocked:
        return _Shown(stocked, None, phase)
    lowered = [variant for variant, _ in stocked if variant.usual]
    if not run.on.announce or not lowered:
        return _Shown(stocked, ShownReduction(ruling), phase)
    return _Shown(stocked, shown_reduction(ruling, lowered, run.on.of_channel(channel.key)), phase)


def _listing(run: _Run, by_language: dict[str, "_SetTexts"], facts: SetFacts, channel: Channel) -> Listing | None:
    """Return one set on one channel; None when nothing of it is offered, or its texts have a fault."""
    shown = _shown(run, facts, channel)
    language = run.language(channel) if shown.variants else None
    if language is None:
        return None
    texts = by_language.get(language.tag) or by_language.setdefault(language.tag, _SetTexts(run, facts, language))
    if texts.facts is not facts:  # in other words than the shop's own
        facts = texts.facts
        shown = _shown(run, facts, channel)
    if is_left_out(channel, shown.phase):
        run.left_out.append(LeftOut(channel.key, facts, shown.phase))
        return None
    settings, limits, size = run.shop.settings, channel.limits, MEASURES[channel.limits.count]
    wording, variants = language.words, tuple(variant for variant, _ in shown.variants)
    title = fitting_title(texts.titles, facts.source.gift_set, limits.title, size)
    unit_price = unit_prices_text(wording, variants, channel.unit_price)
    description = texts.text(channel.text, shown, title=title, unit_price=unit_price)
    plain = texts.text("plain", shown, title=title, unit_price=unit_price)
    if description is None or plain is None:
        return None
    country, slots = channel.country or settings.country, texts.slots_of(shown)
    photos = texts.photos if limits.photos is None else texts.photos[: limits.photos]
    listed = listed_photos(facts, photos, texts.alts[: len(photos)], run.names[channel.key])
    in_words = texts.of_variants(country)
    offers = offers_of(
        shown.variants,
        channel,
        naming(wording, facts, slots, title=title, limit=limits.title, size=size),
        shown_photos(facts, listed),
        ((in_words[variant.code], unit_price_of(wording, variant, channel.unit_price)) for variant in variants),
        phase=shown.phase,
    )
    return Listing(
        channel=channel,
        facts=facts,
        language=language.tag,
        country=country,
        brand=settings.name,
        currency=settings.currency,
        title=title,
        theme=facts.source.gift_set.theme,
        description=description,
        plain=plain_line(plain),
        keywords=texts.keywords,
        slots=slots,
        offers=with_priors(tuple(offers), shown.reduction),
        photos=listed,
        dropped_photos=texts.photos[len(photos) :],
        address=f"{channel.listing_address}{facts.source.folder}" if channel.listing_address else "",
        reduction=shown.reduction,
        words_file=file_of(run.shop, language.tag) if language.translator else "",
        price_turns=last_day(rulings_of(facts.source, settings), channel.key, run.on.day),
        phase=shown.phase,
    )


class _SetTexts:
    """The texts of one set in one language, made once for all channels that need the same."""

    def __init__(self, run: _Run, facts: SetFacts, language: Language) -> None:
        self.run = run
        self.shop = run.shops[language.tag]
        self.facts = language.facts(facts)
        self.language = language
        self.photos = ordered_photos(self.facts, self.shop)
        self.keywords = keywords_of(self.facts.source.gift_set)
        self._of_variants: dict[Rules, dict[str, VariantTexts]] = {}
        self._slots: dict[object, tuple[ShownSlot, ...]] = {}
        self._names: dict[object, Named | None] = {}
        self._texts: dict[object, str | None] = {}

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

    def text(self, kind: str, shown: _Shown, *, title: str, unit_price: str) -> str | None:
        """Return the text in one kind, with the channel's title and unit price; None when a template has a fault."""
        announced = announcement(self.language.words, shown.reduction, self.run.on) if shown.reduction else ()
        key = shown.key, announced, shown.phase is Phase.OVER
        if key not in self._names:
            self._names[key] = self._named(shown, announced)
        names = self._names[key]
        if names is None:
            return None
        text_key = kind, title, unit_price, key
        if text_key not in self._texts:
            path, named = PATHS[kind], {**names, "title": title, "unit_price": unit_price}
            try:
                text = render_listing(self.run.templates[path], kind, named, self.language.formats)
            except TemplateFault as fault:
                self.run.fault(f"templates/{path}", fault)
                text = None
            self._texts[text_key] = text
        return self._texts[text_key]

    def _named(self, shown: _Shown, announced: tuple[str, ...]) -> Named | None:
        """Return all names for the template, the story filled; None when the story has a fault."""
        language, wording, settings = self.language, self.language.words, self.shop.settings
        slots = self.slots_of(shown)
        prices = [variant.prices.price.amount for variant, _ in shown.variants]
        subject = Subject(
            facts=self.facts,
            items=shown_items(self.facts, slots),
            slots=slots,
            cheapest=Money(min(prices), settings.currency),
            dearest=Money(max(prices), settings.currency),
            allergens=self.run.allergens,
            reduction=announced,
        )
        names = story_names(wording, subject, settings)
        story = self._story()
        if story is None:
            return None
        try:
            render = render_story if shown.phase is not Phase.OVER else render_after_season
            filled = render(story.text, names, language.formats).strip()
        except TemplateFault as fault:
            if self.facts.code not in self.shop.left_out.seasonless:  # else it may only ask for that season
                self.run.fault(story.file, fault)
            return None
        more = listing_names(wording, subject, language.cautions, self.run.items[language.tag])
        return {**names, **more, "story": filled}

    def _story(self) -> Story | None:
        """Return the story in the language, an empty one for a set without any; None when it has it in others only."""
        tag, base = self.language.tag, base_language(self.language.tag)
        stories = {story.language: story for story in self.facts.source.stories}
        if not stories:
            return Story("", "", "")
        shops_own = [""] if base == base_language(self.run.shop.settings.language) else []
        for name in (tag, base, *shops_own):
            if name in stories:
                return stories[name]
        message = f'"{self.facts.name}" has no story in "{tag}".'
        place = Place(f"sets/{self.facts.source.folder}/story.{base}.md")
        problem = Problem(place, "language-missing", message, "Write this file, or take the language out.")
        self.run.problems.setdefault(problem)
        return None
