"""Who made a picture and how it is described: read from the original, written into a crop as XMP.

Everything else in the original's metadata (place, device, times) is dropped. The alternative
text is IPTC Photo Metadata 2021.1, AltTextAccessibility, a language alternative with
x-default; the creator is dc:creator. A credit line is kept in the namespace in which it stood.
"""

from dataclasses import dataclass
from html import escape
from pathlib import Path
from xml.etree import ElementTree

from PIL import ImageFile, IptcImagePlugin

from listkit import bounds
from listkit.picture.open import BROKEN, exif_of, identified, quiet
from listkit.picture.structure import exif_chunk

RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
DC = "http://purl.org/dc/elements/1.1/"
IPTC_CORE = "http://iptc.org/std/Iptc4xmpCore/1.0/xmlns/"
SCHEMA = "https://schema.org/"
ARTIST, COPYRIGHT = 0x013B, 0x8298  # EXIF tags
BY_LINE, CREDIT = (2, 80), (2, 110)  # IPTC IIM 4.2 data sets
LONGEST = 2000  # characters of one text: a marker of a JPEG holds 64 kB


@dataclass(frozen=True, slots=True)
class Credit:
    """What is kept of the original's metadata; `namespace` and `line` are its credit line."""

    creator: str = ""
    rights: str = ""
    line: str = ""
    namespace: str = ""


def read_credit(path: Path, content: bytes) -> Credit:
    """Return creator, notice and credit line from XMP, else EXIF, else IPTC; broken metadata gives none."""
    with identified(path, content) as picture, quiet():
        if picture.format == "PNG" and "Raw profile type exif" not in picture.info:
            picture.info.setdefault("exif", exif_chunk(content))  # else the library decodes all pixels to look for it
        xmp = _from_xmp(picture)
        exif = _exif_texts(picture)
        iptc = _iptc_texts(picture)
    line, namespace = (xmp.line, xmp.namespace) if xmp.line else (iptc[1], SCHEMA if iptc[1] else "")
    return Credit(xmp.creator or exif[0] or iptc[0], xmp.rights or exif[1], line, namespace)


def packet(credit: Credit, alt: str) -> bytes:
    """Return the XMP packet of a crop, without times; b"" when there is nothing to say."""
    parts = []
    if alt:
        parts.append(f'<Iptc4xmpCore:AltTextAccessibility xmlns:Iptc4xmpCore="{IPTC_CORE}">{_alternative(alt)}'
                     "</Iptc4xmpCore:AltTextAccessibility>")  # fmt: skip
    if credit.creator:
        seq = f"<rdf:Seq><rdf:li>{_text(credit.creator)}</rdf:li></rdf:Seq>"
        parts.append(f'<dc:creator xmlns:dc="{DC}">{seq}</dc:creator>')
    if credit.rights:
        parts.append(f'<dc:rights xmlns:dc="{DC}">{_alternative(credit.rights)}</dc:rights>')
    if credit.line:
        namespace = credit.namespace if len(credit.namespace) <= LONGEST else SCHEMA  # no real one is as long
        name = "creditText" if namespace == SCHEMA else "Credit"
        parts.append(f'<c:{name} xmlns:c="{escape(namespace)}">{_text(credit.line)}</c:{name}>')
    if not parts:
        return b""
    body = f'<rdf:RDF xmlns:rdf="{RDF}"><rdf:Description rdf:about="">{"".join(parts)}</rdf:Description></rdf:RDF>'
    return (
        '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>'  # the fixed id of XMP, ISO 16684-1 7.3.2
        f'<x:xmpmeta xmlns:x="adobe:ns:meta/">{body}</x:xmpmeta><?xpacket end="r"?>'
    ).encode()


def _alternative(text: str) -> str:
    return f'<rdf:Alt><rdf:li xml:lang="x-default">{_text(text)}</rdf:li></rdf:Alt>'


def _text(text: str) -> str:
    allowed = (char for char in text[:LONGEST] if (char >= " " or char in "\t\n") and char not in "\ufffe\uffff")
    return escape("".join(allowed))  # the rest cannot stand in XML 1.0 (2.2)


def _from_xmp(picture: ImageFile.ImageFile) -> Credit:
    xmp = picture.info.get("xmp") or picture.info.get("XML:com.adobe.xmp") or b""
    raw = xmp.encode() if isinstance(xmp, str) else bytes(xmp)
    # XMP has no document type; one here would only be there to blow up the parser, as more than any packet has.
    if b"<!" in raw or len(raw) > bounds.PICTURE_CREDIT:
        return Credit()
    try:
        root = ElementTree.fromstring(raw.strip(b"\0 \n\r\t"))  # noqa: S314 - no declaration can stand in it
    except (ElementTree.ParseError, ValueError):
        return Credit()
    line, namespace = _credit_line(root)
    return Credit(_listed(root, f"{{{DC}}}creator"), _listed(root, f"{{{DC}}}rights"), line, namespace)


def _listed(root: ElementTree.Element, name: str) -> str:
    """Return the entries of a property in their order; one that lies within another of its kind is read once."""
    within: set[int] = set()
    entries: list[str] = []
    for listing in root.iter(name):
        if id(listing) not in within:
            for element in listing.iter():
                within.add(id(element))
                if element.tag == f"{{{RDF}}}li":
                    entries.append((element.text or "").strip())
    return "; ".join(dict.fromkeys(entry for entry in entries if entry))


def _credit_line(root: ElementTree.Element) -> tuple[str, str]:
    """Return the first property called Credit and its namespace, as an element or as an attribute."""
    for element in root.iter():
        for name, value in ((element.tag, element.text), *element.attrib.items()):
            if name.endswith("}Credit") and value and value.strip():
                return value.strip(), name[1:].partition("}")[0]
    return "", ""


def _exif_texts(picture: ImageFile.ImageFile) -> tuple[str, str]:
    try:
        exif = exif_of(picture)
        return _exif_text(exif.get(ARTIST)), _exif_text(exif.get(COPYRIGHT))
    except BROKEN:
        return "", ""


def _exif_text(value: object) -> str:
    return value.strip("\0 ") if isinstance(value, str) else ""


def _iptc_texts(picture: ImageFile.ImageFile) -> tuple[str, str]:
    try:
        found = IptcImagePlugin.getiptcinfo(picture) or {}
    except BROKEN:
        return "", ""
    return _iptc_text(found.get(BY_LINE)), _iptc_text(found.get(CREDIT))


def _iptc_text(value: object) -> str:
    first = value[0] if isinstance(value, list) and value else value
    return first.decode("utf-8", "replace").strip("\0 ") if isinstance(first, bytes) else ""
