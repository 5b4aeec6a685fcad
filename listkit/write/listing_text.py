"""listings/<set>.html, .txt or .md: one set's title, text and keywords, in the channel's own kind.

For places that take no feed: the owner opens the file and copies. HTML comes as a complete small page, because a
fragment without its encoding is shown with broken signs; in the page's source two comments say where the text begins
and ends. A feed has the text alone.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from markupsafe import Markup

from listkit.listing.listings import Listing, Listings
from listkit.listing.markdown import MarkdownText
from listkit.listing.templates import Formats, Kind, compile_template
from listkit.save.job import File, Job, Recipe, key_of
from listkit.write.context import WriteContext, codes_of


@dataclass(frozen=True, slots=True)
class Page:
    """The form of one kind of text; `finished` marks the text as escaped already."""

    kind: Kind
    finished: type[str]
    source: str


_HTML: Final = """\
<!doctype html>
<html lang="{{ language }}">
<head>
<meta charset="utf-8">
<title>{{ title }}</title>
</head>
<body>
<h1>{{ title }}</h1>
<!-- the text begins here -->
{{ text }}
<!-- the text ends here -->
{% if keywords %}
<p>{{ keywords | join(", ") }}</p>
{% endif %}
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
    for channel, own in listings.by_channel():
        if "listings" in channel.make:
            for listing in own:
                text = page(listing)
                file = File(
                    listing.page,
                    key_of(context.version, text),
                    codes_of((listing,)),
                    channel=channel.key,
                    verify=verify_text,
                )
                yield Job(write_text, (text,), (file,))


def page(listing: Listing) -> str:
    """Return the listing's title, text and keywords as one text."""
    form = PAGES[listing.channel.text]
    formats = Formats(listing.language, listing.currency)
    template = compile_template(form.source, kind=form.kind, formats=formats, name="listing page")
    return template.render(
        {
            "language": listing.language,
            "title": listing.title,
            "text": form.finished(listing.description.rstrip("\n")),
            "keywords": listing.keywords,
        }
    )


def write_text(text: str, paths: tuple[Path, ...]) -> None:
    """Write the text in UTF-8, its line ends as they are: a recipe."""
    paths[0].write_text(text, encoding="utf-8", newline="")


def verify_text(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when the file is the text, else what is wrong."""
    try:
        return "" if path.read_bytes().decode("utf-8") == inputs[0] else "it is not the text that was asked for."
    except UnicodeDecodeError as fault:
        return f"byte {fault.start} is no utf-8."
