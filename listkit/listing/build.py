"""Builds the Listings: every set on every channel, with exactly the words, rows and photos that will be written.

Pure: no files, no clock. What channels share (a set's words in one language) is made once. A
listing whose template or story has a fault is left out, and the fault is told once.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from listkit.compute.catalog import Catalog, PriceFacts, SetFacts, Variant
from listkit.compute.declaration import Rules
from listkit.compute.ingredients import Allergen, all_allergens, by_name
from listkit.compute.reductions import last_day, on_channel, rulings_of
from listkit.listing.declared import unit_price_of, unit_prices_text
from listkit.listing.formats import MEASURES, Formats
from listkit.listing.listings import (
    USUAL_DAY,
    ListedPhoto,
    Listing,
    Listings,
    Offer,
    OnDay,
    ShownReduction,
    ShownSlot,
    announcement,
    shown_reduction,
)
from listkit.listing.offers import Stocked, Told, naming, offered, offers_of, shown_slots, told_of, with_priors
from listkit.listing.photos import Names, alts_of, listed_photos, ordered_photos, shown_photos
from listkit.listing.templates import TemplateFault
from listkit.listing.texts import (
    PATHS,
    Named,
    Subject,
    listing_names,
    plain_line,
    render_listing,
    render_story,
    shown_items,
    story_names,
)
from listkit.listing.titles import fitting_title, keywords_of, names_of, titles_of
from listkit.listing.translate import Language, file_of, read_language
from listkit.listing.words import base_language
from listkit.model.channel import Channel
from listkit.model.item import Item
from listkit.model.shop import Shop, Story
from listkit.problem import Place, Problem
from listkit.units.money import Money


@dataclass
class _Run:
    """One build: the shop, what has been made so far to be shared, and the problems met, each told once."""

    shop: Shop
    on: OnDay
    templates: dict[str, str]
    languages: dict[str, Language | None] = field(default_factory=dict)
    shops: dict[str, Shop] = field(default_factory=dict)
    items: dict[str, dict[str, Item]] = field(default_factory=dict)
    names: dict[str, Names] = field(default_factory=dict)
    tellers: dict[tuple[str, Rules], Callable[[Variant], Told]] = field(default_factory=dict)
    problems: dict[Problem, None] = field(default_factory=dict)

    @cached_property
    def allergens(self) -> Mapping[str, Allergen]:
        """The fragrance allergens that are looked for, by name."""
        return by_name(all_allergens(self.shop))

    def teller(self, language: Language, rules: Rules) -> Callable[[Variant], Told]:
        """Return what tells what is in variants, for all sets: they share their pieces."""
        key = language.tag, rules
        if key not in self.tellers:
            self.tellers[key] = told_of(language.words, language.cautions, rules, self.allergens)
        return self.tellers[key]

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
    found: dict[str, list[Listing]] = {channel.key: [] for channel in shop.channels}
    run.names = {channel.key: Names(channel) for channel in shop.channels}
    for facts in catalog.sets:
        spoken: dict[str, _Shared] = {}
        for channel in shop.channels:
            listing = _listing(run, spoken, facts, channel)
            if listing is not None:
                found[channel.key].append(listing)
    listings = tuple(listing for of_channel in found.values() for listing in of_channel)
    return Listings(catalog, listings, tuple(run.problems))


@dataclass(frozen=True, slots=True)
class Own:
    """What a text says on one channel only."""

    title: str
    unit_price: str


class _Shared:
    """What the channels share of one set in one language."""

    def __init__(self, run: _Run, facts: SetFacts, language: Language) -> None:
        self.run = run
        self.shop = run.shops[language.tag]
        self.facts = language.facts(facts)
        self.language = language
        self.photos = ordered_photos(self.facts, self.shop)
        self.keywords = keywords_of(self.facts.source.gift_set)
        self.told: dict[Rules, dict[str, Told]] = {}
        self.slots: dict[object, tuple[ShownSlot, ...]] = {}
        self.names: dict[object, Named | None] = {}
        self.texts: dict[object, str | None] = {}

    def told_in(self, country: str) -> dict[str, Told]:
        """Return the words for what is in each variant, by its code."""
        rules = Rules.of(self.shop.settings.net_contents, country)
        if rules not in self.told:
            told = self.run.teller(self.language, rules)
            self.told[rules] = {variant.code: told(variant) for variant in self.facts.variants}
        return self.told[rules]

    @cached_property
    def alts(self) -> tuple[str, ...]:
        """The words for every photo."""
        return alts_of(self.language.words, self.facts, self.shop, self.photos)

    @cached_property
    def titles(self) -> tuple[str, ...]:
        """The title, one part more each time."""
        return titles_of(self.language.words, self.facts)

    def slots_of(self, variants: tuple[Stocked, ...]) -> tuple[ShownSlot, ...]:
        """Return the slots as they are shown."""
        shown = _key(variants)
        if shown not in self.slots:
            self.slots[shown] = shown_slots(self.facts, variants, self.shop.settings.currency)
        return self.slots[shown]

    def text(self, kind: str, shown: "_Shown", own: Own) -> str | None:
        """Return the text in one kind, with what is a channel's own; None when story or template has a fault."""
        told = announcement(self.language.words, shown.reduction, self.run.on) if shown.reduction else ()
        key = _key(shown.variants), told
        if key not in self.names:
            self.names[key] = self.named(shown.variants, told)
        names = self.names[key]
        if names is None:
            return None
        if (kind, own, key) not in self.texts:
            named = {**names, "title": own.title, "unit_price": own.unit_price}
            self.texts[kind, own, key] = self.render(PATHS[kind], kind, named, self.language.formats)
        return self.texts[kind, own, key]

    def named(self, variants: tuple[Stocked, ...], told: tuple[str, ...]) -> Named | None:
        """Return all names for the template, the story filled; None when the story has a fault."""
        language, words, settings = self.language, self.language.words, self.shop.settings
        slots = self.slots_of(variants)
        prices = [variant.prices.price.amount for variant, _ in variants]
        cheapest, dearest = (Money(amount, settings.currency) for amount in (min(prices), max(prices)))
        items = shown_items(self.facts, slots)
        subject = Subject(self.facts, items, slots, cheapest, dearest, self.run.allergens, told)
        names = story_names(words, subject, settings)
        story = self.story(language.tag)
        if story is None:
            return None
        try:
            filled = render_story(story.text, names, language.formats).strip()
        except TemplateFault as fault:
            if self.facts.code not in self.shop.left_out.seasonless:  # else it may only ask for that season
                self.run.fault(story.file, fault)
            return None
        more = listing_names(words, subject, language.cautions, self.run.items[language.tag])
        return {**names, **more, "story": filled}

    def story(self, tag: str) -> Story | None:
        """Return the story in a language, an empty one for a set without any; None when it has it in others only."""
        stories = {story.language: story for story in self.facts.source.stories}
        own = base_language(tag) == base_language(self.run.shop.settings.language)
        known = (tag, base_language(tag), *([""] if own else []))
        found = next((stories[name] for name in known if name in stories), None)
        if found is not None or not stories:
            return found or Story("", "", "")
        file = f"sets/{self.facts.source.folder}/story.{base_language(tag)}.md"
        message = f'"{self.facts.name}" has no story in "{tag}".'
        problem = Problem(Place(file), "language-missing", message, "Write this file, or take the language out.")
        self.run.problems.setdefault(problem)
        return None

    def render(self, path: str, kind: str, names: Named, formats: Formats) -> str | None:
        """Return one text; None when the template has a fault."""
        try:
            return render_listing(self.run.templates[path], kind, names, formats)
        except TemplateFault as fault:
            self.run.fault(f"templates/{path}", fault)
            return None


@dataclass(frozen=True, slots=True)
class _Shown:
    """What one channel shows of a set: its variants as they cost there, and the reduction in force."""

    variants: tuple[Stocked, ...]
    reduction: ShownReduction | None


def _key(variants: tuple[Stocked, ...]) -> tuple[tuple[str, bool, PriceFacts | None], ...]:
    """What a text depends on, of the variants shown: which they are, which are sold out, and which cost less."""
    return tuple([(one.code, stock == 0, one.prices if one.usual else None) for one, stock in variants])


def _shown(run: _Run, facts: SetFacts, channel: Channel) -> _Shown:
    ruling, variants = on_channel(facts, run.shop.settings, channel.key, run.on.day)
    stocked = offered(facts if ruling is None else replace(facts, variants=variants), channel, run.shop.settings)
    if ruling is None or not stocked:
        return _Shown(stocked, None)
    lowered = [one for one, _ in stocked if one.usual]
    if not run.on.announce or not lowered:
        return _Shown(stocked, ShownReduction(ruling))
    return _Shown(stocked, shown_reduction(ruling, lowered, run.on.of_channel(channel.key)))


def _listing(run: _Run, spoken: dict[str, _Shared], facts: SetFacts, channel: Channel) -> Listing | None:
    """Return one set on one channel; None when nothing of it is offered, or its texts have a fault."""
    shown = _shown(run, facts, channel)
    language = run.language(channel) if shown.variants else None
    if language is None:
        return None
    shared = spoken.get(language.tag) or spoken.setdefault(language.tag, _Shared(run, facts, language))
    if shared.facts is not facts:
        shown = _shown(run, shared.facts, channel)
    limits = channel.limits
    title = fitting_title(shared.titles, shared.facts.source.gift_set, limits.title, MEASURES[limits.count])
    unit_prices = unit_prices_text(language.words, tuple(one for one, _ in shown.variants), channel.unit_price)
    own = Own(title, unit_prices)
    description = shared.text(channel.text, shown, own)
    plain = shared.text("plain", shown, own)
    if description is None or plain is None:
        return None
    return _put_together(run, shared, channel, shown, _Texts(title, description, plain_line(plain)))


@dataclass(frozen=True, slots=True)
class _Texts:
    """What is written of one set on one channel: its title, its text in the channel's kind, and plain in one line."""

    title: str
    description: str
    plain: str


def _put_together(run: _Run, shared: _Shared, channel: Channel, shown: _Shown, texts: _Texts) -> Listing:
    settings, limits, facts = run.shop.settings, channel.limits, shared.facts
    language = shared.language
    photos = shared.photos if limits.photos is None else shared.photos[: limits.photos]
    listed = listed_photos(facts, photos, shared.alts[: len(photos)], run.names[channel.key])
    offers = _offers(run, shared, channel, shown, (texts.title, listed))
    return Listing(
        channel=channel,
        facts=facts,
        language=language.tag,
        country=channel.country or settings.country,
        brand=settings.name,
        currency=settings.currency,
        title=texts.title,
        theme=facts.source.gift_set.theme,
        description=texts.description,
        plain=texts.plain,
        keywords=shared.keywords,
        slots=shared.slots_of(shown.variants),
        offers=with_priors(offers, shown.reduction),
        photos=listed,
        dropped_photos=shared.photos[len(photos) :],
        address=f"{channel.listing_address}{facts.source.folder}" if channel.listing_address else "",
        reduction=shown.reduction,
        words_file=file_of(run.shop, language.tag) if language.translator else "",
        price_turns=last_day(rulings_of(facts.source, settings), channel.key, run.on.day),
    )


def _offers(
    run: _Run, shared: _Shared, channel: Channel, shown: _Shown, around: tuple[str, tuple[ListedPhoto, ...]]
) -> tuple[Offer, ...]:
    """Return what is offered; `around` are the listing's title and photos."""
    title, listed = around
    facts, language, limits = shared.facts, shared.language, channel.limits
    slots, size = shared.slots_of(shown.variants), MEASURES[limits.count]
    names = names_of(language.words, facts, slots, limits.title, size) if slots else (title, "")
    told = shared.told_in(channel.country or run.shop.settings.country)
    unit = channel.unit_price
    return tuple(
        offers_of(
            shown.variants,
            channel,
            naming(facts, slots, names, limits.title, size),
            shown_photos(facts, listed),
            ((told[one.code], unit_price_of(language.words, one, unit)) for one, _ in shown.variants),
        )
    )
