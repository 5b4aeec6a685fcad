"""Checks of limits: listings too long for their channel, small print, labels too large for sheet or box, faint accents.

By how much each is over, and the smallest change that mends it. Lengths are counted as each channel counts; channels
with the same fault of the same text are named together.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from math import ceil, prod
from typing import Final

from listkit.check.alike import listed, passages
from listkit.check.places import SHOP, CheckContext, item_place, offered, sells_like_eu, set_place
from listkit.compute.cautions import is_for_the_skin
from listkit.compute.labels import misfits
from listkit.listing.columns import BLOCK_FIELDS, feed_fields, may_go
from listkit.listing.formats import MEASURES, UNIT_WORDS, Measure
from listkit.listing.label_fit import shorts_of
from listkit.listing.labels import MONTHS_WITH_A_LAST_DAY
from listkit.listing.listings import Listing, Listings
from listkit.listing.papers import papers_of
from listkit.listing.titles import cut_words
from listkit.model.channel import Channel, Limits
from listkit.model.fields import Status
from listkit.model.labels import NO_BOX, Laid
from listkit.model.packaging import GiftBox
from listkit.problem import Place, Problem, quoted, times
from listkit.units.colour import WHITE, contrast, in_grey
from listkit.units.quantity import share_text

_MOST_NAMED: Final = 4


@dataclass(frozen=True, slots=True)
class Excess:
    """A text or list of one listing that is longer than its channel takes; `count` is what a text is measured in."""

    channel: str
    limit: int
    over: int
    count: str = "characters"

    @property
    def size(self) -> int:
        """How long it is."""
        return self.limit + self.over

    @property
    def measure(self) -> Measure:
        """Measures texts as the channel does."""
        return MEASURES[self.count]

    def in_words(self, number: int) -> str:
        """Return a number with what is counted: "3 characters"."""
        return times(number, UNIT_WORDS[self.count])


def _over(
    listings: Iterable[Listing], limit_of: Callable[[Limits], int | None], sizes: Callable[[Listing], dict[str, int]]
) -> dict[tuple[str, str], tuple[Listing, list[Excess]]]:
    """Return by set and text the excesses over all channels, the strictest first."""
    over: dict[tuple[str, str], tuple[Listing, list[Excess]]] = {}
    for listing in listings:
        limit = limit_of(listing.channel.limits)
        for text, size in sizes(listing).items() if limit is not None else ():
            if limit is not None and size > limit:
                excess = Excess(listing.channel.name, limit, size - limit, listing.channel.limits.count)
                over.setdefault((listing.folder, text), (listing, []))[1].append(excess)
    for _, excesses in over.values():
        excesses.sort(key=lambda excess: -excess.over)
    return over


def _overs(excesses: list[Excess]) -> str:
    return listed([f"{excess.over} over what {excess.channel} takes ({excess.limit})" for excess in excesses])


def _measured(excesses: list[Excess]) -> str:
    """Return by how much a text is too long where; what is counted is named where channels count differently."""
    if len({excess.count for excess in excesses}) == 1:
        return _overs(excesses)
    return listed(
        [f"{excess.in_words(excess.over)} over what {excess.channel} takes ({excess.limit})" for excess in excesses]
    )


def _size_of(listing: Listing) -> Measure:
    return MEASURES[listing.channel.limits.count]


def title_long(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A title longer than its channel takes is cut off there, or refused."""
    over = _over(
        listings, lambda limits: limits.title, lambda listing: {listing.title: _size_of(listing)(listing.title)}
    )
    for (_, title), (listing, excesses) in over.items():
        worst = excesses[0]
        message = f"the title has {worst.in_words(worst.size)}, {_measured(excesses)}."
        key = "title" if listing.facts.source.gift_set.title else "name"
        hint = f'Up to "{cut_words(title, worst.limit, worst.measure)}" it fits.'
        yield Problem(listing.place(key), "title-long", message, hint)


def description_long(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A text longer than its channel takes is cut off there, or refused; marks of its kind count."""
    over = _over(
        listings,
        lambda limits: limits.description,
        lambda listing: {listing.description: _size_of(listing)(listing.description)},
    )
    by_set: dict[str, list[tuple[Excess, Listing]]] = defaultdict(list)
    for (folder, _), (listing, excesses) in over.items():
        by_set[folder] += [(excess, listing) for excess in excesses]
    for cases in by_set.values():
        cases.sort(key=lambda case: -case[0].over)
        worst, listing = cases[0]
        sizes = ", ".join(f"{block} {size}" for block, size in listing.block_sizes)
        gone: list[str] = [block for block in listing.channel.if_long if block not in listing.blocks]
        less = f" without {listed(gone)}" if gone else ""
        message = f"the text has {worst.in_words(worst.size)}{less}, {_measured([excess for excess, _ in cases])}"
        yield _too_long(listing, worst, f"{message}{f': {sizes}' if sizes else ''}.")


def _too_long(listing: Listing, excess: Excess, message: str) -> Problem:
    """Return the problem of a text, mended in its story where that has so much to give, else by fewer blocks."""
    sizes, channel = dict(listing.block_sizes), listing.channel
    if not sizes or sizes.get("story", 0) > excess.over:
        words = -(-excess.over // _LETTERS_A_WORD)
        hint = f"Take out {excess.in_words(excess.over)}, about {times(words, 'word')}."
        return Problem(_story_place(listing), "description-long", message, hint)
    fields = feed_fields(channel)
    stays = [block for block in sizes if not may_go(block, fields)]
    goes = [block for block in sorted(sizes, key=lambda block: -sizes[block]) if block not in stays]
    tries = (goes[:count] for count in range(1, len(goes)))
    enough = next((gone for gone in tries if sum(sizes[block] for block in gone) >= excess.over), [])
    names = ", ".join(f'"{block}"' for block in (*channel.if_long, *enough))
    parts = [f"Write if_long = [{names}]."] if enough else []
    if stays and not enough:
        columns = listed([f'value = "{BLOCK_FIELDS[block]}"' for block in stays])
        parts.append(f"{listed(stays)} may only go where the feed has a [[column]] with {columns}.")
    hint = " ".join(parts) or "Shorten it, or leave more blocks out."
    return Problem(channel.place("if_long" if channel.if_long else "limits"), "description-long", message, hint)


_LETTERS_A_WORD: Final = 6
"""With the space behind it; common practice, no source."""


def _story_place(listing: Listing) -> Place:
    stories = {story.language: story for story in listing.facts.source.stories}
    language = listing.language
    story = next((stories[name] for name in (language, language.partition("-")[0], "") if name in stories), None)
    return story.place() if story else listing.place("theme")


def keywords_many(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """What is beyond the limit is not found."""
    over = _over(listings, lambda limits: limits.keywords, lambda listing: {"": len(listing.keywords)})
    for listing, excesses in over.values():
        message = f"there are {len(listing.keywords)} keywords, {_overs(excesses)}."
        last = [f'"{keyword}"' for keyword in listing.keywords[excesses[0].limit :]]
        hint = f"Take out {excesses[0].over}; the last {'are' if len(last) > 1 else 'is'} {listed(last)}."
        yield Problem(listing.place("keywords"), "keywords-many", message, hint)


def keyword_long(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a keyword."""
    over = _over(
        listings,
        lambda limits: limits.keyword,
        lambda listing: {keyword: _size_of(listing)(keyword) for keyword in listing.keywords},
    )
    for (_, keyword), (listing, excesses) in over.items():
        stated = [" ".join(stated.split()) for stated in listing.facts.source.gift_set.keywords]
        at = stated.index(keyword) if keyword in stated else 0
        worst = excesses[0]
        message = f'the keyword "{keyword}" has {worst.in_words(worst.size)}, {_measured(excesses)}.'
        shorter = cut_words(keyword, worst.limit, worst.measure)
        yield Problem(listing.place("keywords", at), "keyword-long", message, f'"{shorter}" fits.' if shorter else "")


def variants_many(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """The smallest change is the slot from which the fewest options must go."""
    over = _over(listings, lambda limits: limits.variants, lambda listing: {"": len(listing.offers)})
    for listing, excesses in over.values():
        message = f"there are {len(listing.offers)} variants, {_overs(excesses)}."
        yield Problem(listing.place("contents"), "variants-many", message, _fewer_options(listing, excesses[0].limit))


def _fewer_options(listing: Listing, limit: int) -> str:
    """Return how many options to take out of which slot, as if all options could be together."""
    counts = [len(slot.options) for slot in listing.slots]
    ways: list[tuple[int, str, int]] = []
    for slot, count in zip(listing.slots, counts, strict=True):
        others = prod(counts) // count if count else 0
        left = limit // others if others else 0
        if 0 < left < count:
            ways.append((count - left, slot.name, others * left))
    if not ways:
        return "Take a slot out, or make two sets of it."
    take, name, left = min(ways)
    leaves = times(left, "variant")
    return f'Take {take} of the options of "{name}" out, which leaves {leaves}.'


def values_many(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a slot."""
    over = _over(
        listings, lambda limits: limits.values, lambda listing: {slot.name: len(slot.options) for slot in listing.slots}
    )
    for (_, name), (listing, excesses) in over.items():
        entries = listing.facts.source.gift_set.contents
        at = next((i for i, entry in enumerate(entries) if getattr(entry, "slot", None) == name), 0)
        count = excesses[0].limit + excesses[0].over
        message = f'"{name}" has {count} options, {_overs(excesses)}.'
        yield Problem(listing.place("contents", at, "choose"), "values-many", message, f"Take {excesses[0].over} out.")


def photos_many(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Photos beyond the limit are left out, the last first; told once for all sets that the same channels cut."""
    by_set: dict[str, list[Listing]] = defaultdict(list)
    for listing in listings:
        if listing.dropped_photos and "photos" in listing.channel.make:
            by_set[listing.folder].append(listing)
    alike: dict[tuple[str, ...], list[list[Listing]]] = defaultdict(list)
    for full in by_set.values():
        alike[tuple(listing.channel.key for listing in full)].append(full)
    for sets in alike.values():
        first, *others = sets
        left = [
            f"{listing.channel.name} takes {listing.channel.limits.photos} and leaves out "
            f"{listed([photo.name for photo in listing.dropped_photos])}"
            for listing in first
        ]
        names = listed([full[0].facts.name for full in others])
        more = f"; {names} {'have' if len(others) > 1 else 'has'} too many as well" if others else ""
        hint = "Put those that matter first under [[photos]]."
        yield Problem(first[0].place("photos"), "photos-many", f"{listed(left)}{more}.", hint)


_INSTEAD: Final = {
    "&": "and",
    "–": "-",
    "—": "-",
    "’": "'",
    "‘": "'",
    "“": '"',
    "”": '"',
    "…": "...",
    "×": "x",
    "½": "1/2",
    "%": "per cent",
    "+": "and",
    "/": "or",
}


@lru_cache(maxsize=64)
def _in_order(signs: str) -> Mapping[str, int]:
    """Return where each of a channel's forbidden signs is among them, spaces left out."""
    return {sign: at for at, sign in enumerate(dict.fromkeys(signs)) if not sign.isspace()}


def character_forbidden(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once for a set and character, where it was typed first; the text is looked at without its marks.

    One that nobody typed, told once a channel: listkit writes it, or the channel's own `replace`.
    """
    forbidden: dict[tuple[str, str], tuple[Listing, list[str], Place]] = {}
    made: dict[tuple[str, str], Channel] = {}
    for listing in listings:
        order = _in_order(listing.channel.limits.forbidden)
        there = {*listing.title, *listing.plain} if order else set()
        for sign in sorted(there & order.keys(), key=order.__getitem__):
            in_title = sign in listing.title
            place = _title_place(listing, sign) if in_title else _typed_place(listings, listing, sign)
            if place is None:
                made.setdefault((listing.channel.key, sign), listing.channel)
            else:
                forbidden.setdefault((listing.folder, sign), (listing, [], place))[1].append(listing.channel.name)
    for (_, sign), (listing, names, place) in forbidden.items():
        where = f'the title "{listing.title}"' if sign in listing.title else "the text"
        forbid = "forbid" if len(names) > 1 else "forbids"
        message = f"{_named(sign)} stands in {where}, and {listed(names)} {forbid} it."
        hint = "Take it out."
        if sign in listing.channel.replace:
            hint = "Take it out: replace leaves codes, addresses and figures as they are."
        elif sign in _INSTEAD:
            hint = f'Write "{_INSTEAD[sign]}" instead, or {_replacing(sign)} in channels/{listing.channel.key}.toml.'
        if place == listing.place("title"):
            hint = 'Write title = "..." without it.'
        yield Problem(place, "character-forbidden", message, hint)
    for (_, sign), channel in made.items():
        yield _made_sign(channel, sign)


_WORDS: Final = ("name", "form", "scent", "container", "ingredients")  # of an item, as they are in a text


def _made_sign(channel: Channel, sign: str) -> Problem:
    """Return the problem of a forbidden character that nobody typed into a set."""
    key, where, hint = "limits", "where listkit writes it", f"Write {_replacing(sign)}."
    if _replaced_by(channel, sign):
        key, where, hint = "replace", "where replace writes it", "Write another sign there."
    elif sign in channel.replace:
        hint = "Take it out of forbidden, or write a template of your own without it."
    message = f"{_named(sign)} stands in texts {where}, and {channel.name} forbids it."
    return Problem(channel.place(key), "character-forbidden", message, hint)


def _named(sign: str) -> str:
    return f'"{sign}" (U+{ord(sign):04X})'


def _replacing(sign: str) -> str:
    """Return the line of a channel's file that replaces a sign."""
    instead = _INSTEAD.get(sign, "...")
    quote = "'" if '"' in instead else '"'
    return f'replace = {{ "{sign}" = {quote}{instead}{quote} }}'


def _title_place(listing: Listing, sign: str) -> Place | None:
    """Return where a title is mended: the name that has the sign, else the title, which may be ours so far.

    None where the channel's `replace` wrote it.
    """
    gift_set = listing.as_stated.source.gift_set
    if sign not in f"{gift_set.name} {gift_set.title}" and _replaced_by(listing.channel, sign):
        return None
    return listing.place("name" if not gift_set.title and sign in gift_set.name else "title")


def _replaced_by(channel: Channel, sign: str) -> bool:
    """Whether a channel writes the sign instead of another."""
    return any(sign in text for text in channel.replace.values())


def _typed_place(listings: Listings, listing: Listing, sign: str) -> Place | None:
    """Return where a sign was typed: in the set's own words or those of one of its items; None where in neither."""
    shop = listings.catalog.shop
    for passage in passages(listing.as_stated, shop.settings.language):
        if passage.key[:1] not in {("keywords",), ("photos",)} and (at := passage.text.find(sign)) >= 0:
            return passage.place(at)
    typed = ((item, field) for item in listing.as_stated.items for field in _WORDS if sign in getattr(item, field))
    return next((item_place(shop, item, field) for item, field in typed), None)


# Labels, price cards and documents. What a label cannot hold is reported when it is made, since only the page knows how
# wide its words are.


_WHERE_LABELS: Final = "On the desk: Your shop, Labels; in the file: size and faces (1 or 2)."


def label_sheet(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Labels and cards are within their sheet, none overlaps another; labels of a box are of a box that there is."""
    shop = listings.catalog.shop
    settings, boxes = shop.settings, [box.code for box in shop.packaging.boxes]
    laid_out: list[tuple[tuple[str | int, ...], str, Laid | None]] = [
        (("labels",), "labels", settings.labels),
        (("cards",), "cards", settings.cards),
        *((("box_label", at), "labels", own) for at, own in enumerate(settings.box_labels)),
    ]
    for key, what, laid in laid_out:
        for misfit in misfits(laid, what, settings.measures) if laid else ():
            yield Problem(Place(SHOP, key=(*key, misfit.key)), "label-sheet", misfit.message, misfit.hint)
    for at, own in enumerate(settings.box_labels):
        if own.box != NO_BOX and own.box not in boxes:
            hint = f"Write one of {listed([quoted(box) for box in (*boxes, NO_BOX)])}."
            message = f'there is no box "{own.box}" for these labels.'
            yield Problem(Place(SHOP, key=("box_label", at, "box")), "label-sheet", message, hint)


def label_large(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """No box is smaller than the label that goes on it; each box is compared by its largest side."""
    settings = listings.catalog.shop.settings
    if settings.labels is None:
        return
    measures, own = settings.measures, {size.box: size for size in reversed(settings.box_labels)}
    boxes = {box.code: box for facts in offered(listings.catalog) for box in facts.boxes}
    for code in ("", *own):
        size = (own[code].over(settings.labels) if code else settings.labels).size
        wide, narrow = max(size.width, size.height), min(size.width, size.height)
        there = [box for box in boxes.values() if (box.code if box.code in own else "") == code]
        if small := [box for box in there if wide > _sides(box)[0] or narrow > _sides(box)[1]]:
            label = measures.sides((size.width, size.height), times="x")
            boxes_named = listed([f"{box.code} ({measures.sides(_sides(box), times='x')})" for box in small])
            message = f"a label of {label} is larger than any side of box {boxes_named}."
            hint = (
                "Take a smaller one, with a front and a back where one cannot hold the text; larger ones are folded. "
            )
            hint += _WHERE_LABELS
            yield Problem(_size_place(code, listings), "label-large", message, hint)


def _size_place(box: str, listings: Listings) -> Place:
    """Return the key that says how large the labels of a box are; "" for the usual ones."""
    own = [size.box for size in listings.catalog.shop.settings.box_labels]
    return Place(SHOP, key=("box_label", own.index(box), "size") if box else ("labels", "size"))


def label_tight(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A label holds its text in the smallest type that is allowed; told once a size, the worst labels first."""
    measures = listings.catalog.shop.settings.measures
    for paper in papers_of(listings).labels:
        shorts = sorted(shorts_of(paper), key=lambda short: -short.missing)
        if not shorts:
            continue
        size = paper.labels.size
        label = f"a label of {measures.sides((size.width, size.height), times='x')}"
        missing = [(short, measures.length(Decimal(ceil(short.missing)))) for short in shorts[:_MOST_NAMED]]
        named = [f"{short.code} is about {length} short of {short.side}" for short, length in missing]
        more = f"; and {len(shorts) - _MOST_NAMED} more" if len(shorts) > _MOST_NAMED else ""
        message = f"{label} may not hold its text in the smallest type allowed: {'; '.join(named)}{more}."
        faces = "a front and a back in place of one, " if paper.labels.faces == 1 else ""
        hint = f"Take a larger one, {faces}or fewer words; when it is made the page measures it. {_WHERE_LABELS}"
        yield Problem(_size_place(paper.box, listings), "label-tight", message, hint)


def opening_unstated(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Once, of all that goes on the skin and keeps so long that its label has no last day: once opened it has one.

    Only where labels are made and such rules are in force.
    """
    shop = listings.catalog.shop
    if not papers_of(listings).labels or not sells_like_eu(shop):
        return
    lasting = [
        item
        for item in shop.items
        if item.status is not Status.CLOSED and not item.after_opening and is_for_the_skin(item)
        and item.shelf_life is not None and item.shelf_life > MONTHS_WITH_A_LAST_DAY
    ]  # fmt: skip
    if lasting:
        codes = listed([item.code for item in lasting])
        keep = "keeps" if len(lasting) == 1 else "keep"
        message = f"{codes} {keep} more than {MONTHS_WITH_A_LAST_DAY} months, so the label has no last day, and "
        message += "nothing says how long it keeps once opened."
        hint = 'Write the months in a column "after opening (months)"; accept this for what is used up at once or '
        hint += "cannot spoil."
        yield Problem(item_place(shop, lasting[0], "after_opening"), "opening-unstated", message, hint)


def _sides(box: GiftBox) -> tuple[Decimal, Decimal]:
    """Return the sides of a box's largest face, the longer first."""
    long, short, _ = sorted((box.outside or box.inside).sides, reverse=True)
    return long, short


def accent_faint(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Headings and rules in the accent are read on white paper, printed in colour or in grey."""
    accent = listings.catalog.shop.settings.accent
    least = float(context.figures["accent-faint"])
    in_colour, grey = contrast(accent, WHITE), contrast(in_grey(accent), WHITE)
    if min(in_colour, grey) < least:
        where = "on white" if in_colour <= grey else "printed in grey"
        message = f"the accent {accent} has a contrast of {min(in_colour, grey):.1f} to 1 {where}."
        hint = f"Take a darker one: from {least:g} to 1 on it is read well."
        yield Problem(Place(SHOP, key=("accent",)), "accent-faint", message, hint)


def most_small_print(listings: Iterable[Listing]) -> list[tuple[Decimal, Listing]]:
    """Return of each set the text of which ingredients, the notes on them and cautions take most, with the share."""
    most: dict[str, tuple[Decimal, Listing]] = {}
    for listing in (listing for listing in listings if not listing.facts.is_single):
        share = Decimal(listing.small_print) / max(len(listing.plain), 1)
        if share > most.get(listing.folder, (Decimal(0), listing))[0]:
            most[listing.folder] = share, listing
    return sorted(most.values(), key=lambda each: -each[0])


def small_print(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Told once, of the text with most: how much ingredients, the notes on them and cautions take; others like it."""
    if above := [each for each in most_small_print(listings) if each[0] > context.figures["small-print"]]:
        share, listing = above[0]
        names = {facts.code: facts.name for facts in listings.catalog.sets}  # as the owner's files call them
        alike = [names[other.facts.code] for _, other in above[1:]]
        message = f"{share_text(share.quantize(Decimal('0.01')))} of the text of {names[listing.facts.code]} for "
        message += f"{listing.channel.name} is small print: ingredients, cautions and the notes on them"
        message += f"; {listed(alike)} {'is' if len(alike) == 1 else 'are'} like it." if alike else "."
        hint = "Write more of a story, or name in the channel's blocks what its feed has columns for anyway."
        yield Problem(set_place(listing.facts), "small-print", message, hint)
