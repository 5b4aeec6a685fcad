"""Tests of what is kept of a photo's metadata and how it is written into a crop."""

from pathlib import Path
from xml.etree import ElementTree

import pytest
from PIL import Image

from listkit.picture.credit import Credit, packet, read_credit
from tests.picture.sample import encoded, scene

PHOTO = Path("photo.jpg")
RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"
SUPPLIER = "http://example.org/supplier/1.0/"
XMP = f"""<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:s="{SUPPLIER}" s:Credit="Ash &amp; Fern"
xmlns:dc="http://purl.org/dc/elements/1.1/">
<dc:creator><rdf:Seq><rdf:li>Nan Otter</rdf:li><rdf:li>Bee Marl</rdf:li></rdf:Seq></dc:creator>
<dc:rights><rdf:Alt><rdf:li xml:lang="x-default">2027 Otter</rdf:li></rdf:Alt></dc:rights>
</rdf:Description></rdf:RDF></x:xmpmeta>""".encode()


def tagged(**settings: object) -> bytes:
    return encoded(scene((48, 36)), "JPEG", **settings)


def artist(name: str) -> Image.Exif:
    exif = Image.Exif()
    exif[0x013B] = name
    return exif


def test_creator_notice_and_credit_line_are_read_from_xmp() -> None:
    credit = read_credit(PHOTO, tagged(xmp=XMP, exif=artist("Someone else")))
    assert credit == Credit("Nan Otter; Bee Marl", "2027 Otter", "Ash & Fern", SUPPLIER)


def test_without_xmp_the_exif_artist_is_the_creator() -> None:
    """EXIF tag 0x013B (CIPA DC-008)."""
    assert read_credit(PHOTO, tagged(exif=artist("Nan Otter"))).creator == "Nan Otter"


def test_without_either_the_by_line_of_iptc_is() -> None:
    """IPTC IIM 4.2: record 2, data set 80 by-line and 110 credit, each with marker 0x1C and two bytes of length."""
    texts = ((80, b"Nan Otter"), (110, b"Ash & Fern"))
    entries = b"".join(b"\x1c\x02" + bytes((number, 0, len(text))) + text for number, text in texts)
    named = Image.new("RGB", (8, 8))
    file = encoded(named, "TIFF", tiffinfo={33723: entries})  # TIFF tag 33723 holds the IPTC record
    credit = read_credit(Path("photo.tif"), file)
    assert (credit.creator, credit.line) == ("Nan Otter", "Ash & Fern")


@pytest.mark.parametrize(
    "xmp",
    [b"", b"<x", b"<!DOCTYPE a [<!ENTITY b 'c'>]><a>&b;</a>", b"\xff\xfe\x00", XMP[:300], b"<a/>" * 3],
    ids=["none", "broken", "entities", "no text", "cut", "many roots"],
)
def test_broken_or_hostile_metadata_gives_no_credit(xmp: bytes) -> None:
    assert read_credit(PHOTO, tagged(xmp=xmp)) == Credit()


def test_the_packet_holds_the_alternative_text_as_iptc_says() -> None:
    """IPTC Photo Metadata 2021.1: Iptc4xmpCore AltTextAccessibility, a language alternative with x-default."""
    root = ElementTree.fromstring(packet(Credit("Nan <Otter>"), 'A "box" & a jar'))
    name = ".//{http://iptc.org/std/Iptc4xmpCore/1.0/xmlns/}AltTextAccessibility"
    (entry,) = root.findall(f"{name}/{RDF}Alt/{RDF}li")
    assert entry.text == 'A "box" & a jar'
    assert entry.get("{http://www.w3.org/XML/1998/namespace}lang") == "x-default"
    (creator,) = root.findall(f".//{{http://purl.org/dc/elements/1.1/}}creator/{RDF}Seq/{RDF}li")
    assert creator.text == "Nan <Otter>"


def test_what_was_kept_is_read_back_the_same() -> None:
    credit = Credit("Nan Otter", "2027 Otter & Söhne", "Ash & Fern", SUPPLIER)
    assert read_credit(PHOTO, tagged(xmp=packet(credit, "alt"))) == credit


def test_control_characters_cannot_break_the_packet() -> None:
    packet_ = packet(Credit("a\x00b\x1fc\ufffe"), "x" * 100_000)
    assert "abc" in "".join(ElementTree.fromstring(packet_).itertext())
    assert len(packet_) < 65_000  # what one marker of a JPEG holds


@pytest.mark.parametrize("longest", ['"' * 2000, "&" * 5000, "https://n.example/" + "n" * 200_000])
def test_no_credit_however_long_is_more_than_a_jpeg_holds(longest: str) -> None:
    """XMP of a PNG may be of any length; what was read of it ended the build where a JPEG was to be written."""
    packet_ = packet(Credit(longest, longest, longest, longest), longest)
    assert ElementTree.fromstring(packet_) is not None
    assert len(packet_) < 65_000


def test_nothing_to_say_gives_no_packet() -> None:
    assert packet(Credit(), "") == b""
