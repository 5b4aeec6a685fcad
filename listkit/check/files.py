"""Check of the names that files would get: whatever `save` will ask of them, so that no build stops half way."""

from collections.abc import Iterator

from listkit.check.places import CheckContext
from listkit.listing.listings import Listings
from listkit.listing.photos import slug_of
from listkit.paths import folded_path, path_faults
from listkit.problem import Place, Problem


def folder_name(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A set's folder names its pages in a way that every system takes; told once a folder.

    All other outputs have names of our own, or plain letters and digits made of the owner's words.
    """
    pages = {listing.page: listing for listing in listings if "listings" in listing.channel.make}
    taken = {folded_path(facts.source.folder) for facts in listings.catalog.listed}
    told: set[str] = set()
    for page, fault in path_faults(pages):
        listing = pages[page]
        folder = listing.folder
        if folder in told:
            continue
        told.add(folder)
        name = _free(slug_of(folder) or "set", taken)
        taken.add(name)
        single = listing.facts.is_single
        place = listing.place("code") if single else Place(f"sets/{folder}")
        hint = "Give the item another code." if single else f'Call the folder "{name}".'
        yield Problem(place, "folder-name", f'its page "{page}" {fault}.', hint)


def _free(stem: str, taken: set[str]) -> str:
    """Return a name like `stem` that every system takes and no other set's folder has."""
    number, name = 1, stem
    while folded_path(name) in taken or any(path_faults([name])):
        number += 1
        name = f"{stem}-{number}"
    return name
