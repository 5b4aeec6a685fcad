"""listings/<set>.html, .txt or .md: one set's title, text and keywords, in the channel's own kind.

For places that take no feed: the owner opens the file and copies. HTML comes as a whole page with the place's pictures,
because a fragment without its encoding is shown with broken signs; in the page's source two comments say where the text
begins and ends. The page's own headings are in the owner's language. A feed has the text alone.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote

from markupsafe import Markup

from listkit.listing.listings import Listing, Listings
from listkit.listing.markdown import MarkdownText
from listkit.listing.photos import photos_folder
from listkit.listing.proof import ProofWords, proof_words
from listkit.listing.templates import Formats, Kind, compile_template
from listkit.model.shop import Shop
from listkit.problem import FieldError
from listkit.save.job import File, Job, Recipe, key_of
from listkit.write.context import WriteContext, codes_of


@dataclass(frozen=True, slots=True)
class Page:
    """The form of one kind of text; `finished` marks the text as escaped already."""

    kind: Kind
    finished: type[str]
    source: str


STYLE: Final = "listing/page.css"
"""The template of how a page in HTML looks."""
_HTML: Final = """\
<!doctype html>
<html lang="{{ language }}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{{ title }}</title>
<style>
{{ style }}
</style>
</head>
<body>
<main>
<h1>{{ title }}</h1>
{% if pictures %}
{% if words %}<h2 lang="{{ words.language }}">{{ words.pictures }}</h2>{% endif +%}
<ul class="pictures">
{% for one in pictures %}
<li><img src="{{ one.address }}" alt="{{ one.alt }}" width="{{ one.width }}" height="{{ one.height }}"></li>
{% endfor %}
</ul>
{% endif %}
{% if words %}<h2 lang="{{ words.language }}">{{ words.text }}</h2>{% endif +%}
<!-- the text begins here -->
{{ text }}
<!-- the text ends here -->
{% if keywords %}
{% if words %}<h2 lang="{{ words.language }}">{{ words.keywords }}</h2>{% endif +%}
<p>{{ keywords | join(", ") }}</p>
{% endif %}
</main>
</body>
</html>
"""
_PLAIN: Final = """\
{{ title }}

{{ text }}
{% if keywords %}

{{ keywords | join(", ") }}
{% endif %}
"""
PAGES: Final = {
    "html": Page(Kind.HTML, Markup, _HTML),
    "plain": Page(Kind.PLAIN, str, _PLAIN),
    "markdown": Page(Kind.MARKDOWN, MarkdownText, "# " + _PLAIN),
}


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield a file a set for every channel that asks for listings."""
    shop = listings.catalog.shop
    headings, style = _own_words(shop), shop.templates[STYLE]
    for channel, own in listings.by_channel():
        if "listings" in channel.make:
            for listing in own:
                text = page(listing, headings, photos=photos_folder(channel, shop), style=style)
                file = File(
                    listing.page,
                    key_of(context.version, text),
                    codes_of((listing,)),
                    channel=channel.key,
                    verify=verify_text,
                )
                yield Job(write_text, (text,), (file,))


def _own_words(shop: Shop) -> ProofWords | None:
    """Return the words of the page's own headings; None where the owner's file has a fault, which the proof tells."""
    try:
        return proof_words(shop)
    except FieldError:
        return None


@dataclass(frozen=True, slots=True)
class ShownPicture:
    """A picture on the page: its address from there, what it shows, its size in pixels."""

    address: str
    alt: str
    width: int
    height: int


def page(listing: Listing, headings: ProofWords | None = None, *, photos: str = "", style: str = "") -> str:
    """Return the listing's title, text and keywords as one text; in HTML with pictures that lie at `photos`.

    That is seen from the channel's folder; without it there are none. Of each photo it shows the first crop.
    """
    form = PAGES[listing.channel.text]
    formats = Formats(listing.language, listing.currency)
    template = compile_template(form.source, kind=form.kind, formats=formats, name="listing page")
    return template.render(
        {
            "language": listing.language,
            "style": Markup(style.strip()),  # noqa: S704 - a file of ours or of the owner's
            "title": listing.title,
            "text": form.finished(listing.description.rstrip("\n")),
            "keywords": listing.keywords,
            "words": headings,
            "pictures": tuple(_pictures(listing, photos)) if photos else (),
        }
    )


def _pictures(listing: Listing, photos: str) -> Iterator[ShownPicture]:
    for listed in listing.photos:
        for picture in listed.pictures[:1]:
            address = f"../{photos}/{quote(picture.name)}"
            yield ShownPicture(address, listed.alt, picture.cut.width, picture.cut.height)


def write_text(text: str, paths: tuple[Path, ...]) -> None:
    """Write the text in UTF-8, its line ends as they are: a recipe."""
    paths[0].write_text(text, encoding="utf-8", newline="")


def verify_text(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when the file is the text, else what is wrong."""
    try:
        return "" if path.read_bytes().decode("utf-8") == inputs[0] else "it is not the text that was asked for."
    except UnicodeDecodeError as fault:
        return f"byte {fault.start} is no utf-8."
