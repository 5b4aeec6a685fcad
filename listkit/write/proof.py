"""proof.html: every set as every place will show it, on one page to look at before anything goes out.

It lies at the top of the output folder and shows the pictures that lie below it. It works as a file, without network
and by keyboard: one style and one small script are within it, and its policy lets no other script run. A text in HTML
is shown as the lines that are read, never as markup: a frame for each would have a height that nobody knows, be cut
off on paper, and cost the browser a document each. What is pasted is beside it, letter for letter.

A shop with more sets than a page holds gets several, each with the seasons in their order; they name each other.
"""

import base64
import hashlib
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote

from listkit.listing.listings import Listing, Listings
from listkit.listing.photos import lender_of
from listkit.listing.proof import FOLDER, PlaceProof, ProofWords, SetProof, proof_words, set_proof
from listkit.listing.sentences import fill
from listkit.listing.templates import Formats, Kind, Template, compile_template
from listkit.listing.translate import read_language
from listkit.listing.words import capital
from listkit.model.shop import Shop
from listkit.problem import FieldError, Level, Place, Problem
from listkit.save.job import File, Job, Recipe, key_of
from listkit.write.contact_sheet import pictures_on, sheet_crop
from listkit.write.context import OwnersNotes, WriteContext

NAME: Final = "proof"
MOST_SETS: Final = 40
"""So many sets are on one page."""
MOST_PROBLEMS: Final = 200
"""So many problems that are of no set on the page are shown."""
_PARTS: Final = ("head", "set", "place", "end", "tail")
LAST: Final = f"{FOLDER}/{_PARTS[-1]}.html"
"""The template of a page's end, which holds its script."""
_PATH: Final = re.compile(rf"{NAME}(-\d+)?\.html")
_SCRIPT: Final = re.compile(r"<script>(.*?)</script>", re.DOTALL)
_SETTINGS: Final = Place("shop.toml")


def is_proof(path: str) -> bool:
    """Whether a path below the output folder is a page of the proof, which is the owner's alone.

    >>> is_proof("proof.html"), is_proof("proof-2.html"), is_proof("web_shop/proof.html")
    (True, True, False)
    """
    return _PATH.fullmatch(path) is not None


@dataclass(frozen=True, slots=True)
class ProofPicture:
    """A picture, at its address from the page; `notes` want a look."""

    address: str
    alt: str
    width: int
    height: int
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ProofCut:
    """All pictures of one crop; `open` where they are shown at once."""

    name: str
    open: bool
    pictures: tuple[ProofPicture, ...]


@dataclass(frozen=True, slots=True)
class ProofProblem:
    """A problem as it is shown; `kind` is "must" or "look"."""

    kind: str
    level: str
    text: str
    place: str
    code: str


@dataclass(frozen=True, slots=True)
class ProofSet:
    """A set with what is to be mended of it; for each of its places the pictures, and what is said of them.

    `left_out` says so where it is not published until it is mended.
    """

    anchor: str
    left_out: str
    proof: SetProof
    problems: tuple[ProofProblem, ...]
    cuts: tuple[tuple[ProofCut, ...], ...]
    pictures_of: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ProofJump:
    """Something to be jumped to."""

    anchor: str
    name: str
    count: str = ""


@dataclass(frozen=True, slots=True)
class ProofAside:
    """A set that is not on the page, and why."""

    name: str
    why: str


@dataclass(frozen=True, slots=True)
class ProofLink:
    """A page of the proof; `here` is the one that it stands on."""

    path: str
    says: str
    here: bool


@dataclass(frozen=True, slots=True)
class ProofPage:
    """One page. What is of no set of it is on the first."""

    title: str
    words: ProofWords
    currency: str
    accent: str
    sets: tuple[ProofSet, ...]
    elsewhere: tuple[ProofProblem, ...]
    more: str
    aside: tuple[ProofAside, ...]
    pages: tuple[ProofLink, ...]
    page_says: str
    templates: tuple[str, ...]


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield a job for each page where the owner's notes are there, one at least: it also says why nothing can be shown.

    Where her own words of it have a fault, the job fails with that.
    """
    notes, shop = context.notes, listings.catalog.shop
    if notes is None:
        return
    try:
        pages = tuple(_pages(listings, notes, proof_words(shop)))
    except FieldError as fault:
        path = f"{NAME}.html"
        yield Job(refuse, (fault.message, fault.hint), (File(path, key_of(context.version, fault.message)),))
        return
    for path, page in pages:
        codes = tuple(each.proof.code for each in page.sets)
        file = File(path, key_of(context.version, page), codes, verify=verify_page)
        yield Job(write_page, (page,), (file,))


def _pages(listings: Listings, notes: OwnersNotes, phrases: ProofWords) -> Iterator[tuple[str, ProofPage]]:
    shop = listings.catalog.shop
    sets = tuple(_sets(listings, notes, phrases))
    parts = tuple(sets[start : start + MOST_SETS] for start in range(0, max(1, len(sets)), MOST_SETS))
    paths = tuple(f"{NAME}-{number}.html" if number > 1 else f"{NAME}.html" for number in range(1, len(parts) + 1))
    folders = {each.proof.folder for each in sets}
    beside = [problem for problem in notes.problems if _folder_of(problem) not in folders]
    hidden = len(beside) - MOST_PROBLEMS
    for number, (path, part) in enumerate(zip(paths, parts, strict=True), 1):
        first = number == 1
        yield (
            path,
            ProofPage(
                title=fill(phrases.title, shop=shop.settings.name),
                words=phrases,
                currency=shop.settings.currency,
                accent=shop.settings.accent,
                sets=part,
                elsewhere=tuple(_shown(each, phrases) for each in beside[:MOST_PROBLEMS]) if first else (),
                more=fill(phrases.more, count=str(hidden)) if first and hidden > 0 else "",
                aside=tuple(_aside(notes, phrases)) if first else (),
                pages=tuple(_links(paths, parts, path)) if len(parts) > 1 else (),
                page_says=fill(phrases.page, number=str(number), count=str(len(parts))) if len(parts) > 1 else "",
                templates=tuple(shop.templates[f"{FOLDER}/{each}.html"] for each in _PARTS),
            ),
        )


def _links(paths: tuple[str, ...], parts: tuple[tuple[ProofSet, ...], ...], here: str) -> Iterator[ProofLink]:
    for number, (path, part) in enumerate(zip(paths, parts, strict=True), 1):
        seasons = ", ".join(dict.fromkeys(each.proof.season for each in part if each.proof.season))
        names = f"{part[0].proof.name} – {part[-1].proof.name}"
        yield ProofLink(path, f"{number}. {f'{seasons}: ' if seasons else ''}{names}", path == here)


def _aside(notes: OwnersNotes, phrases: ProofWords) -> Iterator[ProofAside]:
    why = {phrases.aside_mend: notes.broken, phrases.aside_draft: notes.drafts, phrases.aside_without: notes.without}
    return (ProofAside(name, says) for says, names in why.items() for name in names)


def _sets(listings: Listings, notes: OwnersNotes, phrases: ProofWords) -> Iterator[ProofSet]:
    """Yield the sets that some place shows, in the order of the listings, season by season; then those to be mended."""
    catalog, shop = listings.catalog, listings.catalog.shop
    by_set: dict[tuple[str, str], list[Listing]] = {}
    for listing in (*listings, *notes.to_mend):
        by_set.setdefault((listing.facts.code, listing.folder), []).append(listing)
    usual = {(facts.code, facts.source.folder): facts for facts in catalog.listed}
    language, _ = read_language(shop, shop.settings.language, _SETTINGS)
    wording = language.words if language else None
    problems: dict[str, list[ProofProblem]] = {}
    for problem in notes.problems:
        problems.setdefault(_folder_of(problem), []).append(_shown(problem, phrases))
    for number, (key, shown) in enumerate(by_set.items(), 1):
        made = key in usual
        facts = usual[key] if made else min(shown, key=lambda each: each.language != shop.settings.language).facts
        proof = set_proof(facts, tuple(shown), shop, wording=wording, phrases=phrases)
        yield ProofSet(
            anchor=f"set-{number}",
            left_out="" if made else phrases.aside_mend,
            proof=proof,
            problems=tuple(problems.get(proof.folder, ())),
            cuts=tuple(tuple(_cuts(listing, shop)) if made else () for listing in shown),
            pictures_of=tuple(_pictures_of(listing, shop, phrases) if made else "" for listing in shown),
        )


def _folder_of(problem: Problem) -> str:
    """Return the folder of the set that a problem is of; "" for none."""
    parts = problem.place.file.split("/")
    return parts[1] if parts[0] == "sets" and len(parts) > 2 else ""


def _shown(problem: Problem, phrases: ProofWords) -> ProofProblem:
    must = problem.level is Level.MUST_FIX
    level = phrases.draft if problem.draft else phrases.must if must else phrases.look
    text = f"{capital(problem.message)} {problem.hint}".rstrip()
    return ProofProblem("must" if must and not problem.draft else "look", level, text, str(problem.place), problem.code)


def _pictures_of(listing: Listing, shop: Shop, phrases: ProofWords) -> str:
    lender = lender_of(listing.channel, shop)
    if not lender or not any(listed.pictures for listed in listing.photos):
        return phrases.no_pictures
    name = next(each.name for each in shop.channels if each.key == lender)
    return fill(phrases.pictures_of, place=name) if lender != listing.channel.key else ""


def _cuts(listing: Listing, shop: Shop) -> Iterator[ProofCut]:
    """Yield the pictures of each crop, those of the first one open."""
    lender = lender_of(listing.channel, shop)
    by_crop: dict[str, list[ProofPicture]] = {}
    for listed in listing.photos if lender else ():
        for picture in listed.pictures:
            crop = sheet_crop(picture, listing.channel)
            address = quote(f"{lender}/photos/{crop.name}")
            shown = ProofPicture(address, listed.alt, crop.shown_width, crop.shown_height, crop.notes)
            by_crop.setdefault(crop.crop, []).append(shown)
    for number, (name, pictures) in enumerate(by_crop.items()):
        yield ProofCut(name, number == 0, tuple(pictures))


def refuse(message: str, hint: str, _paths: tuple[Path, ...]) -> None:
    """Fail with what is wrong with the owner's own words: a recipe."""
    raise FieldError(message, hint)


def write_page(page: ProofPage, paths: tuple[Path, ...]) -> None:
    """Write a page: a recipe."""
    formats = Formats(page.words.language, page.currency)
    head, each_set, each_place, end, tail = (
        compile_template(text, kind=Kind.HTML, formats=formats) for text in page.templates
    )
    last = tail.render({"words": page.words})
    with paths[0].open("w", encoding="utf-8", newline="\n") as file:
        file.write(head.render(_head(page, last)))
        for one in page.sets:
            file.write(each_set.render({"words": page.words, "one": one}))
            file.writelines(_places(one, page, each_place))
            file.write(end.render({}))
        file.write(last)


def _head(page: ProofPage, last: str) -> dict[str, object]:
    mends = Counter({each.anchor: len(each.problems) for each in page.sets})
    jumps = tuple(ProofJump(each.anchor, each.proof.name) for each in page.sets)
    return {
        "words": page.words,
        "title": page.title,
        "accent": page.accent or "currentColor",
        "policy": page_policy(last),
        "page_says": page.page_says,
        "pages": page.pages,
        "sets": jumps,
        "jumps": tuple(
            ProofJump(each.anchor, each.name, str(mends[each.anchor])) for each in jumps if mends[each.anchor]
        ),
        "elsewhere": page.elsewhere,
        "more": page.more,
        "aside": page.aside,
    }


def _places(of_set: ProofSet, page: ProofPage, template: Template) -> Iterator[str]:
    shown: tuple[tuple[PlaceProof, tuple[ProofCut, ...], str], ...]
    shown = tuple(zip(of_set.proof.places, of_set.cuts, of_set.pictures_of, strict=True))
    for number, (place, cuts, pictures_of) in enumerate(shown, 1):
        names = {"place": place, "cuts": cuts, "pictures_of": pictures_of}
        yield template.render({**names, "words": page.words, "anchor": f"{of_set.anchor}-{number}"})


def page_policy(last: str) -> str:
    """Return what the page may do: show pictures that lie beside it, and run its own script, known by its digest.

    Args:
        last: its end, with the script; the template of it serves as well, since nothing is filled into the script.
    """
    script = _SCRIPT.search(last)
    digest = base64.b64encode(hashlib.sha256(script[1].encode() if script else b"").digest()).decode()
    return (
        f"default-src 'none'; img-src 'self' file:; style-src 'unsafe-inline'; script-src 'sha256-{digest}'; "
        "form-action 'none'; base-uri 'none'"
    )


def verify_page(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when an independent parser finds every picture on the page, each with words; else what is wrong."""
    page: ProofPage = inputs[0]
    wanted = [
        picture.address for one in page.sets for cuts in one.cuts for cut in cuts for picture in cut.pictures
    ]  # fmt: skip
    return "" if pictures_on(path) == wanted else "some pictures are missing on the page."
