"""Pages: a layout, facts and pictures become a PDF that is tagged, embeds its fonts and has the same bytes every time.

A layout may be somebody else's. It runs in a process of its own, in a folder that holds the named files and nothing
more, without packages and without network; it is stopped when it takes too long, and where the system can see to it
when it takes too much memory. The facts are texts that are only ever shown, so no word of a shop can become layout.
"""

import calendar
import datetime
import json
import os
import re
import shutil
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any, Final

from listkit import bounds
from listkit.limited import Limits, run_limited
from listkit.listing.print_words import print_words
from listkit.listing.sheet import contact_of
from listkit.model.shop import Shop
from listkit.problem import FieldError, heap_of
from listkit.save.job import Recipe
from listkit.save.temporary import full, only_temporary, temporary_folder
from listkit.units.colour import WHITE, contrast, in_grey
from listkit.units.table import printed_signs

FACTS: Final = "facts.json"
PICTURES: Final = "pictures"
MOST_SECONDS: Final = bounds.PRINT_PATIENCE
MOST_BYTES: Final = bounds.PRINT_BYTES
_UNDATED: Final = datetime.date(2000, 1, 1)  # PDF/A wants a date in every file; where the shop states none, this one
_WORKER: Final = Path(__file__).with_name("print_worker.py")
_NAME: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")
_AT: Final = re.compile(r"┌─ \S*?([\w.-]+\.typ):(\d+):")
_UNSHOWN: Final = re.compile(r'the (?:text|PDF contains the codepoint) `"(.+?)"`')
_ESCAPED: Final = re.compile(r"\\(?:u\{([0-9a-f]+)\}|(.))")  # as the compiler writes signs that have no look
_CONTROL: Final = re.compile("[\\0-\\x1f\\x7f-\\x9f\\u2028\\u2029\\u202a-\\u202e\\u2066-\\u2069]")
_PAPER: Final = {"A4": "a4", "letter": "us-letter"}
_NOWHERE: Final = "http://127.0.0.1:9"  # where every call out is sent, and nobody answers
_MOST_POINTS: Final = 10
_MOST_TOLD: Final = 300  # letters of what the compiler says


@dataclass(frozen=True, slots=True)
class Layout:
    """A page layout ready to be run: the texts it is made of by their paths below templates/, the first being run.

    `facts` is the JSON that it reads, `day` the one that stands in the file.
    """

    texts: tuple[tuple[str, str], ...]
    facts: str
    day: datetime.date | None = None

    @property
    def path(self) -> str:
        """Where the layout that is run stands."""
        return self.texts[0][0]

    def with_facts(self, facts: dict[str, Any]) -> "Layout":
        """Return it with other facts."""
        return replace(self, facts=facts_text(facts))


def facts_text(facts: dict[str, Any]) -> str:
    """Return facts as a layout reads them: the same text for the same facts."""
    return json.dumps(facts, ensure_ascii=False, sort_keys=True)


def layout_with(
    shop: Shop, paths: tuple[str, ...], facts: dict[str, Any], *, day: datetime.date | None = None
) -> Layout:
    """Return the layouts of a shop at these paths, the first being run, with the facts that they show."""
    return Layout(tuple((path, shop.templates[path]) for path in paths), facts_text(facts), day)


class UnshownError(FieldError):
    """A sign of the facts that no font has, or marks that are heaped upon one letter and would lie over other lines.

    `signs` are all that this run found, the one that is told first.
    """

    def __init__(self, sign: str, around: str, signs: tuple[str, ...] = ()) -> None:
        heaped = bool(heap_of(sign))
        named = sign if sign.isprintable() and not heaped else points_of(sign)
        what = f"{len(sign)} marks stand upon one letter" if heaped else f'no font of ours has the sign "{named}"'
        super().__init__(f'{what}, as in "{around}".', "Write it otherwise.")
        self.signs = signs or (sign,)


def points_of(signs: str) -> str:
    """Return signs by their numbers.

    >>> points_of("é")
    'U+00E9'
    """
    return " ".join(f"U+{ord(sign):04X}" for sign in signs[:_MOST_POINTS])


@cache
def printer() -> str:
    """Return what the bytes of a page depend on besides layout, facts and pictures: part of a file's key."""
    return f"typst {version('typst')}"


def print_pdf(
    path: Path, layout: Layout, pictures: tuple[tuple[str, Path], ...] = (), *, seconds: int = MOST_SECONDS
) -> None:
    """Run the layout and write the PDF to `path`; each picture lies at pictures/<name> for it.

    Raises:
        FieldError: the layout has a fault, takes too long or too much, or reaches for what it was not given.
        BlockedError: there is no room for temporary files.
    """
    with temporary_folder() as root:
        with only_temporary():
            _lay_out(root, layout, pictures)
        _run(layout, _order(root, layout), seconds)
        shutil.copyfile(root / "out.pdf", path)


def page_pictures(
    layout: Layout, pictures: tuple[tuple[str, bytes], ...] = (), *, ppi: int, seconds: int = MOST_SECONDS
) -> tuple[bytes, ...]:
    """Run the layout and return each page as a PNG of so many pixels an inch: to be looked at, not to be kept.

    Raises:
        FieldError: as print_pdf.
    """
    with temporary_folder() as root:
        with only_temporary():
            _lay_out(root, layout, pictures)
        _run(layout, {**_order(root, layout), "out": str(root / "page-{p}.png"), "ppi": ppi}, seconds)
        made = sorted(root.glob("page-*.png"), key=lambda page: int(page.stem.rpartition("-")[2]))
        return tuple(page.read_bytes() for page in made)


def pdf_of(layout: Layout, *, seconds: int = MOST_SECONDS) -> bytes:
    """Run a layout without pictures and return its PDF, which is kept nowhere; raises as print_pdf."""
    with temporary_folder() as root:
        with only_temporary():
            _lay_out(root, layout, ())
        _run(layout, _order(root, layout), seconds)
        return (root / "out.pdf").read_bytes()


def print_unless_said(
    path: Path,
    layout: Layout,
    label: str,
    *,
    pictures: tuple[tuple[str, bytes], ...] = (),
    seconds: int = MOST_SECONDS,
) -> tuple[Any, ...]:
    """Run the layout and return what it says of itself: the values of its metadata marked <label>, in order.

    The PDF is written to `path` only when it says nothing.

    Raises:
        FieldError: as print_pdf.
    """
    with temporary_folder() as root:
        with only_temporary():
            _lay_out(root, layout, pictures)
        said = _run(layout, {**_order(root, layout), "ask": label}, seconds)
        if not said:
            shutil.copyfile(root / "out.pdf", path)
        return said


def _order(root: Path, layout: Layout) -> dict[str, object]:
    return {
        "root": str(root),
        "layout": _file_name(layout.path),
        "out": str(root / "out.pdf"),
        "ask": "",
        "ppi": 0,
        "time": calendar.timegm((layout.day or _UNDATED).timetuple()),
    }


def _lay_out(root: Path, layout: Layout, pictures: Sequence[tuple[str, Path | bytes]]) -> None:
    for path, text in layout.texts:
        (root / _file_name(path)).write_text(text, encoding="utf-8", newline="")
    (root / FACTS).write_text(layout.facts, encoding="utf-8", newline="")
    (root / PICTURES).mkdir()
    for name, picture in pictures:
        if not _NAME.fullmatch(name):
            raise ValueError(f"{name!r} is no name for a picture")
        if isinstance(picture, bytes):
            (root / PICTURES / name).write_bytes(picture)
        else:
            shutil.copyfile(picture, root / PICTURES / name)


def _file_name(path: str) -> str:
    return path.rpartition("/")[2]


def _run(layout: Layout, order: dict[str, object], seconds: int) -> tuple[Any, ...]:
    root = str(order["root"])
    if heap := heap_of(layout.facts):
        raise UnshownError(heap, _around(layout.facts, heap))
    limits = Limits(MOST_BYTES, bounds.PRINT_SECONDS, patience=seconds)
    try:
        ended = run_limited(_WORKER, order, limits, folder=root, environment=_alone())
    except TimeoutError:
        raise _too_much(layout, f"did not come to its end within {seconds} seconds") from None
    told = json.loads(ended.answer) if ended.answer else {"said": []}
    if "unwritten" in told:
        raise full(str(told["unwritten"]))
    if "said" not in told:
        raise _fault(layout, told, root)
    if ended.status == 0:
        return tuple(told["said"])
    if ended.took_too_much:
        raise _too_much(layout, "took more time or memory than a page needs")
    why = ended.lines[-1] if ended.lines else ended.status
    raise FieldError(f"pages cannot be made here: {why}.", "Install listkit again.")


def _alone() -> dict[str, str]:
    """Return the environment of a process that reaches nobody."""
    kept = {name: value for name, value in os.environ.items() if not name.upper().startswith(("TYPST_", "NO_PROXY"))}
    proxies = ("HTTP_PROXY", "HTTPS_PROXY", "ALL_PROXY")
    return {**kept, **{form: _NOWHERE for name in proxies for form in (name, name.lower())}}


def _too_much(layout: Layout, what: str) -> FieldError:
    hint = "Look for what it repeats without end, or print less at once."
    return FieldError(f"the layout templates/{layout.path} {what}.", hint)


def _fault(layout: Layout, diagnostic: dict[str, object], root: str) -> FieldError:
    """Return what the compiler says of a layout, with the line, in the words of those who mend it."""
    said = _CONTROL.sub("\ufffd", str(diagnostic["message"]).replace(f"{root}/", "").replace(root, ""))
    where = _where(layout, str(diagnostic["diagnostic"]))
    if "package" in said:
        return FieldError(f"{where}: it asks for a package.", "Copy what it needs into the layout; nothing is fetched.")
    if "file not found" in said or "project root" in said or "is a directory" in said:
        given = ", ".join((*(_file_name(path) for path, _ in layout.texts), FACTS, f"{PICTURES}/…"))
        return FieldError(f"{where}: it reads a file that it is not given.", f"It may read {given}.")
    if (signs := _unshown(said)) and (words := _around(layout.facts, signs[0])):
        return UnshownError(signs[0], words, _unshown(str(diagnostic["diagnostic"])))
    hints = [str(hint) for hint in diagnostic["hints"]] if isinstance(diagnostic["hints"], list) else []
    hint = f"{hints[0][:_MOST_TOLD].rstrip('.').capitalize()}." if hints else "Mend the layout."
    return FieldError(f"{where}: {said[:_MOST_TOLD].rstrip('.')}.", hint)


def _unshown(diagnostic: str) -> tuple[str, ...]:
    """Return the signs that the compiler says no font has, each once."""
    signs = (
        _ESCAPED.sub(lambda one: chr(int(one[1], 16)) if one[1] else one[2], sign)
        for sign in _UNSHOWN.findall(diagnostic)
    )
    return tuple(dict.fromkeys(signs))


def _around(facts: str, sign: str) -> str:
    """Return the words in which a sign stands, "" when no fact holds it."""
    waiting: list[object] = [json.loads(facts)]
    while waiting:
        value = waiting.pop()
        if isinstance(value, str) and sign in value:
            at = value.index(sign)
            end = at + len(sign)
            return f"{value[max(0, at - 30) : at]}{sign[:1]}{value[end : end + 29]}".strip()
        waiting += value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return ""


def _where(layout: Layout, diagnostic: str) -> str:
    found = _AT.search(diagnostic)
    if found is None:
        return f"templates/{layout.path}"
    path = next((path for path, _ in layout.texts if _file_name(path) == found[1]), layout.path)
    return f"templates/{path}, line {found[2]}"


def verify_pdf(path: Path, _recipe: Recipe, _inputs: tuple[object, ...]) -> str:
    """Return "" when the file begins and ends as a PDF does and its last cross-reference lies where it says."""
    content = path.read_bytes()
    if not content.startswith(b"%PDF-1."):
        return "it does not begin as a PDF does."
    end = re.search(rb"startxref\s+(\d+)\s+%%EOF\s*\Z", content[-64:])
    if end is None:
        return "it breaks off before its end."
    if not re.match(rb"xref\b|\d+ \d+ obj\b", content[int(end[1]) :]):
        return "its table of contents is not where it says."
    return ""


# The colour of headings and rules on paper: the owner's accent where it is read well there, else a dark grey.

LEAST: Final = 4.5  # Web Content Accessibility Guidelines 2.2, success criterion 1.4.3
DARK: Final = "#222222"


def lang_of(language: str) -> dict[str, str | None]:
    """Return a language as a layout sets it.

    >>> lang_of("en-GB"), lang_of("fr")
    ({'lang': 'en', 'region': 'GB'}, {'lang': 'fr', 'region': None})
    """
    base, _, region = language.partition("-")
    return {"lang": base, "region": region if len(region) == 2 else None}


def ink_of(accent: str) -> str:
    """Return the accent when it is read on white paper in colour and printed in grey, else DARK."""
    return accent if min(contrast(accent, WHITE), contrast(in_grey(accent), WHITE)) >= LEAST else DARK


# What every paper of a shop is set with, and how the shop is reached.


def shop_facts(shop: Shop, title: str, language: str) -> dict[str, Any]:
    """Return what every layout is set with: title, shop, language, ink, and the units that stay with their figures."""
    return {
        "title": title,
        "shop": shop.settings.name,
        **lang_of(language),
        "ink": ink_of(shop.settings.accent),
        "units": list(printed_signs()),
    }


def head_facts(shop: Shop, title: str, *, language: str, contact: tuple[str, ...], page: str) -> dict[str, Any]:
    """Return what the head and foot of a page are set with, without a logo: see common.typ."""
    return {
        **shop_facts(shop, title, language),
        "paper": _PAPER[shop.paper],
        "logo": False,
        "logo-alt": shop.settings.name,
        "postal": _postal(shop),
        "contact": [{"says": says, "link": _link(says, shop)} for says in contact],
        "page": page,
        "running": title,
    }


def _postal(shop: Shop) -> str:
    """Return the shop's address without its name, which stands above it; not of "Sedge Lane 3", whoever is "Sedge"."""
    name, address = shop.settings.name, shop.settings.address
    rest = address.removeprefix(name)
    return rest.lstrip(", \n") if not rest or rest[0] in ",\n" else address


def own_head(shop: Shop, title: str) -> dict[str, Any]:
    """Return the head of a page for the owner herself, in her language: who she is, and not how she is reached."""
    language = shop.settings.language
    words = print_words(shop.templates, language)[0]
    page = words.sheet.page if words else "{number} / {count}"
    return head_facts(shop, title, language=language, contact=contact_of(shop)[:1], page=page)


def _link(says: str, shop: Shop) -> str:
    """Return where a part of the contact leads to when it is clicked, "" for nowhere."""
    if says == shop.settings.email:
        return f"mailto:{says}"
    website = shop.settings.website
    return website if says and website.removeprefix("https://").removesuffix("/") == says else ""
