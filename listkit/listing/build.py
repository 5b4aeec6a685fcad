"""Builds the Listings: every set on every channel, with exactly the words, rows and photos that will be written.

Pure: no files, no clock. What channels share (a set's words in one language) is made once. A
listing whose template or story has a fault is left out, and the fault is told once.
"""

from dataclasses import dataclass, field, replace

from listkit.compute.catalog import Catalog, PriceFacts, SetFacts
from listkit.compute.declaration import Rules
from listkit.compute.reductions import last_day, on_channel, rulings_of
from listkit.listing.cautions import Cautions, parse_cautions
from listkit.listing.formats import Formats, locale_of
from listkit.listing.listings import Listing, Listings, ShownSlot
from listkit.listing.measure import MEASURES
from listkit.listing.offers import Told, naming, offers_of, told_of, with_priors
from listkit.listing.options import Stocked, offered, shown_slots
from listkit.listing.photos import Names, alts_of, listed_photos, ordered_photos, shown_photos
from listkit.listing.reductions import USUAL, OnDay, ShownReduction, announcement, shown_reduction
from listkit.listing.story import Named, render_story
from listkit.listing.templates import TemplateFault
from listkit.listing.text import (
    PATHS,
    Subject,
    listing_names,
    plain_line,
    render_listing,
    shown_items,
    story_names,
)
from listkit.listing.titles import fitting_title, keywords_of, names_of, titles_of
from listkit.listing.unit_prices import unit_price_of, unit_prices_text
from listkit.listing.words import Words, base_language, missing, parse_words, paths_of
from listkit.model.channel import Channel
from listkit.model.item import Item
from listkit.model.shop import Shop, Story
from listkit.problem import FieldError, Place, Problem
from listkit.units.money import Money


@dataclass(frozen=True, slots=True)
class Language:
    """What is needed to write in one language."""

    words: Words
    cautions: Cautions
    formats: Formats


@dataclass(slots=True)
class _Run:
    """One build: the shop, what has been made so far to be shared, and the problems met, each told once."""

    shop: Shop
    on: OnDay
    items: dict[str, Item]
    templates: dict[str, str]
    languages: dict[str, Language | None] = field(default_factory=dict)
    names: dict[str, Names] = field(default_factory=dict)
    problems: dict[Problem, None] = field(default_factory=dict)

    def language(self, tag: str) -> Language | None:
        """Return what is needed to write in a language; None, with problems, when there are no words in it."""
        if tag not in self.languages:
            self.languages[tag] = self.read_language(tag)
        return self.languages[tag]

    def read_language(self, tag: str) -> Language | None:
        texts, sentences = self.texts("words", tag), self.texts("cautions", tag)
        words, problems = parse_words(tag, texts) if texts else (None, (missing("words", tag),))
        cautions, more = parse_cautions(sentences) if sentences else (None, (missing("cautions", tag),))
        problems += more
        try:
            locale_of(tag)
        except FieldError as fault:
            problems += (Problem(Place(f"templates/words/{tag}.toml"), "language-missing", fault.message, fault.hint),)
        self.problems.update(dict.fromkeys(problems))
        if problems or words is None or cautions is None:
            return None
        cautions = replace(cautions, silenced=self.shop.settings.silenced)
        return Language(words, cautions, Formats(tag, self.shop.settings.currency))

    def texts(self, folder: str, tag: str) -> tuple[tuple[str, str], ...]:
        """Return path and text of a language's files in a folder of templates, base first."""
        return tuple((path, self.templates[path]) for path in paths_of(folder, tag) if path in self.templates)

    def fault(self, file: str, fault: TemplateFault) -> None:
        """Note a fault, once for its file."""
        problem = Problem(Place(file, line=fault.line), "template-fault", fault.message, fault.hint)
        self.problems.setdefault(problem)


def build_listings(catalog: Catalog, on: OnDay = USUAL) -> Listings:
    """Return a listing for every set on every channel of the shop; sets with nothing to offer have none.

    Args:
        catalog: all sets, with their usual prices.
        on: the day whose reductions are in force, and what they may be compared with; no reduction without it.
    """
    shop = catalog.shop
    run = _Run(shop, on, {item.code: item for item in shop.items}, dict(shop.templates.texts))
    found: dict[str, list[Listing]] = {channel.key: [] for channel in shop.channels}
    run.names = {channel.key: Names(channel) for channel in shop.channels}
    for facts in catalog.sets:
        shared = _Shared(run, facts)
        for channel in shop.channels:
            listing = _listing(run, shared, channel)
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
    """What the channels share of one set."""

    def __init__(self, run: _Run, facts: SetFacts) -> None:
        self.run = run
        self.facts = facts
        self.photos = ordered_photos(facts, run.shop)
        self.keywords = keywords_of(facts.source.gift_set)
        self.told: dict[tuple[str, Rules], dict[str, Told]] = {}
        self.alts: dict[str, tuple[str, ...]] = {}
        self.titles: dict[str, tuple[str, ...]] = {}
        self.slots: dict[object, tuple[ShownSlot, ...]] = {}
        self.names: dict[object, Named | None] = {}
        self.texts: dict[object, str | None] = {}

    def told_in(self, language: Language, country: str) -> dict[str, Told]:
        """Return the words for what is in each variant, by its code."""
        rules = Rules.of(self.run.shop.settings.net_contents, country)
        key = language.formats.language, rules
        if key not in self.told:
            told = told_of(language.words, language.cautions, rules)
            self.told[key] = {variant.code: told(variant) for variant in self.facts.variants}
        return self.told[key]

    def alts_in(self, language: Language) -> tuple[str, ...]:
        """Return the words for every photo."""
        tag = language.formats.language
        if tag not in self.alts:
            self.alts[tag] = alts_of(language.words, self.facts, self.run.shop, self.photos)
        return self.alts[tag]

    def titles_in(self, language: Language) -> tuple[str, ...]:
        """Return the title, one part more each time."""
        tag = language.formats.language
        if tag not in self.titles:
            self.titles[tag] = titles_of(language.words, self.facts)
        return self.titles[tag]

    def slots_of(self, variants: tuple[Stocked, ...]) -> tuple[ShownSlot, ...]:
        """Return the slots as they are shown."""
        shown = _key(variants)
        if shown not in self.slots:
            self.slots[shown] = shown_slots(self.facts, variants, self.run.shop.settings.currency)
        return self.slots[shown]

    def text(self, language: Language, kind: str, shown: "_Shown", own: Own) -> str | None:
        """Return the text in one kind, with what is a channel's own; None when story or template has a fault."""
        told = announcement(language.words, shown.reduction, self.run.on) if shown.reduction else ()
        key = language.formats.language, _key(shown.variants), told
        if key not in self.names:
            self.names[key] = self.named(language, shown.variants, told)
        names = self.names[key]
        if names is None:
            return None
        if (kind, own, key) not in self.texts:
            named = {**names, "title": own.title, "unit_price": own.unit_price}
            self.texts[kind, own, key] = self.render(PATHS[kind], kind, named, language.formats)
        return self.texts[kind, own, key]

    def named(self, language: Language, variants: tuple[Stocked, ...], told: tuple[str, ...]) -> Named | None:
        """Return all names for the template, the story filled; None when the story has a fault."""
        words, settings = language.words, self.run.shop.settings
        slots = self.slots_of(variants)
        prices = [variant.prices.price.amount for variant, _ in variants]
        cheapest, dearest = (Money(amount, settings.currency) for amount in (min(prices), max(prices)))
        subject = Subject(self.facts, shown_items(self.facts, slots), slots, cheapest, dearest, told)
        names = story_names(words, subject, settings)
        story = self.story(language.formats.language)
        if story is None:
            return None
        try:
            filled = render_story(story.text, names, language.formats).strip()
        except TemplateFault as fault:
            self.run.fault(story.file, fault)
            return None
        more = listing_names(words, subject, language.cautions, self.run.items)
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


def _listing(run: _Run, shared: _Shared, channel: Channel) -> Listing | None:
    """Return one set on one channel; None when nothing of it is offered, or its texts have a fault."""
    settings, facts, limits = run.shop.settings, shared.facts, channel.limits
    size = MEASURES[limits.count]
    shown = _shown(run, facts, channel)
    variants = shown.variants
    language = run.language(channel.language or settings.language) if variants else None
    if language is None:
        return None
    title = fitting_title(shared.titles_in(language), facts.source.gift_set, limits.title, size)
    own = Own(title, unit_prices_text(language.words, tuple(one for one, _ in variants), channel.unit_price))
    description = shared.text(language, channel.text, shown, own)
    plain = shared.text(language, "plain", shown, own)
    if description is None or plain is None:
        return None
    slots = shared.slots_of(variants)
    photos = shared.photos if limits.photos is None else shared.photos[: limits.photos]
    listed = listed_photos(facts, photos, shared.alts_in(language)[: len(photos)], run.names[channel.key])
    around = names_of(language.words, facts, slots, limits.title, size) if slots else (title, "")
    told = shared.told_in(language, channel.country or settings.country)
    offers = offers_of(
        variants,
        channel,
        naming(facts, slots, around, limits.title, size),
        shown_photos(facts, listed),
        ((told[one.code], unit_price_of(language.words, one, channel.unit_price)) for one, _ in variants),
    )
    return Listing(
        channel=channel,
        facts=facts,
        language=language.formats.language,
        country=channel.country or settings.country,
        brand=settings.name,
        currency=settings.currency,
        title=title,
        theme=facts.source.gift_set.theme,
        description=description,
        plain=plain_line(plain),
        keywords=shared.keywords,
        slots=slots,
        offers=with_priors(tuple(offers), shown.reduction),
        photos=listed,
        dropped_photos=shared.photos[len(photos) :],
        address=f"{channel.listing_address}{facts.source.folder}" if channel.listing_address else "",
        reduction=shown.reduction,
        price_turns=last_day(rulings_of(facts.source, settings), channel.key, run.on.day),
    )
