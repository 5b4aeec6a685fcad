"""Checks of what a channel's file asks for: pictures of another channel, and blocks of its texts."""

from collections.abc import Iterator

from listkit.check.alike import listed
from listkit.check.places import CheckContext, offered_alone_too, offered_variants
from listkit.compute.catalog import SetFacts
from listkit.compute.singles import lists_single
from listkit.listing.columns import BLOCK_FIELDS, BLOCK_LINES, SAFETY, feed_fields, file_fields, may_go
from listkit.listing.formats import Formats
from listkit.listing.listings import Listing, Listings
from listkit.listing.offers import taken
from listkit.listing.templates import TemplateFault, compile_template
from listkit.listing.texts import KINDS, PATHS
from listkit.model.channel import Channel
from listkit.model.item import Item
from listkit.model.settings import Settings
from listkit.problem import Place, Problem, times
from listkit.units.money import NO_CURRENCY


def takes_nothing(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a channel whose own `sets` and `leave_out` leave nothing of all that is on sale.

    Sets that are not computed, drafts for one, may yet be taken.
    """
    sets, settings = tuple(offered_alone_too(listings.catalog)), listings.catalog.shop.settings
    folders = (folder for folder in listings.catalog.shop.folders if not folder.is_single)
    apart = {folder.code for folder in folders} - {facts.code for facts in listings.catalog.sets}
    for channel in listings.catalog.shop.channels if sets else ():
        if not channel.sets and not channel.leave_out:
            continue
        awaited = (code not in channel.leave_out and (not channel.sets or code in channel.sets) for code in apart)
        if any(awaited) or any(any(items_taken(channel, facts, settings)) for facts in sets):
            continue
        key, hint = "sets", "Name a set that is on sale, or take this line out."
        if channel.leave_out:
            key, hint = "leave_out", "Take out of this line what it is to show."
        message = f"{channel.name} takes nothing of all that is on sale."
        yield Problem(channel.place(key), "takes-nothing", message, hint)


def items_taken(channel: Channel, facts: SetFacts, settings: Settings) -> Iterator[Item]:
    """Yield the items of all variants that a channel takes of a set or single piece on sale."""
    if facts.is_single and not lists_single(facts.code, settings, channel.singles):
        return
    for variant, _ in taken(channel, facts, tuple((variant, None) for variant in offered_variants(facts))):
        yield from (piece.item for piece in variant.pieces)


def photos_of(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a channel that shows the pictures of none, of itself, or of one that makes none."""
    unread = listings.catalog.shop.left_out.channels
    channels = {channel.key: channel for channel in listings.catalog.shop.channels}
    makers = [key for key, channel in channels.items() if _makes_photos(channel)]
    for channel in channels.values():
        if not channel.photos_of:
            continue
        place, lender = channel.place("photos_of"), channels.get(channel.photos_of)
        others = [f'"{key}"' for key in makers if key != channel.key]
        hint = 'Add "photos" to make and a [[crop]] to one of the channels.'
        if others:
            hint = f"Write {' or '.join(others)}."
        if lender is None and channel.photos_of in unread:
            message = f"channels/{channel.photos_of}.toml cannot be read, so its pictures are not known."
            yield Problem(place, "photos-of", message, "Mend that file first.")
        elif lender is None:
            yield Problem(place, "photos-of", f'there is no channel "{channel.photos_of}".', hint)
        elif lender is channel:
            yield Problem(place, "photos-of", "it is to show the pictures of itself.", f"Take it out. {hint}")
        elif not _makes_photos(lender):
            yield Problem(place, "photos-of", f"{lender.name} makes no pictures.", hint)
        elif "photos" in channel.make:
            message = f"it shows the pictures of {lender.name} and makes its own."
            yield Problem(place, "photos-of", message, 'Take "photos" out of make, or this line.')


def _makes_photos(channel: Channel) -> bool:
    return "photos" in channel.make and bool(channel.crops) and not channel.photos_of


def crop_missing(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a channel that is to get photos and says of none how it is cut."""
    for channel in listings.catalog.shop.channels:
        if "photos" in channel.make and not channel.crops and not channel.photos_of:
            message = f"{channel.name} is to get photos, and nothing says how they are cut, so none are made."
            hint = 'Add a [[crop]], as in name = "square", ratio = "1:1", width = 1200, or take "photos" out of make.'
            yield Problem(channel.place("make"), "crop-missing", message, hint)


def pictures_none(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a channel that has a feed and an address for pictures, and no picture in any row.

    And once a channel that shows the pictures of another, where that does not show some of its sets.
    """
    left_out = listings.catalog.shop.left_out
    unread = left_out.channels
    maybe_shown = {
        facts.code
        for facts in listings.catalog.listed
        if left_out.lacks_story(facts.source.folder, is_single=facts.is_single)
    }
    lenders = {channel.key: channel for channel in listings.catalog.shop.channels if _makes_photos(channel)}
    makers = [f'"{key}"' for key in lenders]
    lent_by = {channel.key: {listing.facts.code for listing in shown} for channel, shown in listings.by_channel()}
    for channel, shown in listings.by_channel():
        pictured = [listing.facts.code for listing in shown if listing.facts.source.photos]
        if "feed" not in channel.make or not pictured or channel.photos_of in unread:
            continue
        if "photos" in channel.make and not channel.crops and not channel.photos_of:  # that is told already
            continue
        if channel.photos_of in lenders:
            lender = lenders[channel.photos_of]
            lent = lent_by[lender.key]
            if bare := [code for code in pictured if code not in lent and code not in maybe_shown]:
                it, they_have = ("it", "it has") if len(bare) == 1 else ("them", "they have")
                shows = f"it shows the pictures of {lender.name}, which does not show {listed(bare)}"
                message, hint = f"{shows}, so {they_have} none here.", f"Show {it} there too, or leave {it} out here."
                yield Problem(channel.place("photos_of"), "pictures-none", message, hint)
            continue
        if not channel.photo_address:
            continue
        rows = [offer for listing in shown for offer in listing.offers]
        if not any(offer.images for offer in rows):
            message = f"it has an address for pictures, and none of its {times(len(rows), 'row')} has a picture."
            borrow = f"Write photos_of = {makers[0]} to show those made there, or add" if makers else "Add"
            hint = f'{borrow} "photos" to make and a [[crop]] here.'
            yield Problem(channel.place("photo_address"), "pictures-none", message, hint)


def block_needed(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a channel whose texts leave out what its feed has no column of, and a set has something of it."""
    for channel, shown in listings.by_channel():
        fields = feed_fields(channel)
        gone = [block for block in sorted(SAFETY) if channel.blocks and block not in channel.blocks]
        silent = [block for block in gone if not may_go(block, fields) and any(_has(block, each) for each in shown)]
        if silent:
            columns = listed([f'value = "{BLOCK_FIELDS[block]}"' for block in silent])
            them = "it" if len(silent) == 1 else "them"
            message = f"its texts leave out {listed(silent)}, and its feed has no column of {them}."
            names = listed([f'"{block}"' for block in silent])
            hint = f"Write {names} among the blocks, or add a [[column]] with {columns}."
            yield Problem(channel.place("blocks"), "block-needed", message, hint)


def _has(block: str, listing: Listing) -> bool:
    return any(offer.cautions if block == "cautions" else offer.allergens for offer in listing.offers)


def blocks_ignored(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a template of the owner's that knows nothing of the blocks which a channel orders."""
    shop = listings.catalog.shop
    texts = dict(shop.templates.texts)
    asking: dict[str, list[str]] = {}
    for channel in shop.channels:
        named = file_fields(channel).intersection(BLOCK_FIELDS[block] for block in BLOCK_LINES)
        if channel.blocks or channel.if_long or named:
            asking.setdefault(PATHS[channel.text], []).append(channel.name)
    for kind, path in PATHS.items():
        if path in asking and not _knows_blocks(texts[path], kind):
            message = f"it does not ask for blocks, so what {listed(asking[path])} says of them changes nothing."
            hint = "Write it after ours, with {% for block in blocks %}, or take blocks and if_long out."
            yield Problem(Place(f"templates/{path}"), "blocks-ignored", message, hint)


def _knows_blocks(text: str, kind: str) -> bool:
    try:
        return "blocks" in compile_template(text, kind=KINDS[kind], formats=Formats("en", NO_CURRENCY)).names
    except TemplateFault:  # told where the listings are made
        return True
