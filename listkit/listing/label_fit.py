"""Whether the text of an outside label goes on it: how high and how wide it is when set in the smallest type allowed.

An estimate from the widths of the font's letters, on the safe side: a label that is said to fit fits. It follows the
shipped layout, print/outside_labels.typ; the page itself is the judge when it is made. Lengths are millimetres.
"""

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from math import ceil
from typing import Final

from listkit.compute.barcodes import is_gtin, symbol
from listkit.compute.catalog import Catalog
from listkit.listing.labels import LabelPaper, LabelText, label_paper
from listkit.model.labels import Face, Labels
from listkit.units.table import printed_signs

# Advance widths of Libertinus Serif, the text font that comes with typst, in thousandths of an em, without kerning;
# a test measures them anew.
# fmt: off
_REGULAR: Final = {
    125: "\u202f", 190: "'", 205: "|", 220: ",.", 236: ":;", 250: "·\u00a0", 264: "lł", 267: "°", 268: "‘’‚",
    271: "iı", 272: "j", 277: "{}", 287: "\\", 288: "!¡", 297: "I", 298: "()", 307: "²³", 310: "f", 316: "t",
    322: "J", 323: "/", 336: "\"", 338: "-", 351: "•", 356: "[]", 369: "*", 372: "r", 375: "“”„", 390: "s",
    392: "`", 424: "z", 428: "c", 435: "?¿", 447: "e", 449: "~", 457: "a", 465: "#$0123456789£€", 473: "§",
    485: "FS", 486: "_ð", 490: "x", 493: "b", 497: "v", 500: "g", 502: "þ", 503: "q", 504: "oø", 506: "d", 512: "k",
    515: "yµ", 518: "^", 519: "p", 527: "Þ", 528: "LŁ", 531: "u", 538: "h", 541: "Pß", 542: "n", 543: "«»",
    548: "–", 550: "+<=>±×", 557: "E", 575: "Y", 587: "R", 588: "B", 597: "T", 604: "Z", 637: "%K", 646: "C",
    652: "V", 660: "X½¼¾", 661: "U", 685: "G", 687: "æ", 695: "A©®", 699: "N", 701: "DÐ", 702: "OQØ", 705: "&",
    730: "H", 742: "—", 747: "w", 749: "…", 778: "œ", 790: "m", 795: "™", 839: "M", 865: "Æ", 869: "Œ", 895: "@",
    951: "W",
}
_BOLD: Final = {
    156: "\u202f", 215: "'", 220: "|", 244: ",.", 250: "·\u00a0", 253: "‘’‚", 256: ":;", 266: "!¡", 267: "°",
    307: "\\{}", 312: "j", 315: "()", 316: "/", 322: "iı", 325: "lł", 340: "²³", 351: "•", 358: "-t", 367: "I",
    373: "J", 376: "\"", 391: "f", 392: "`", 397: "[]", 427: "s", 428: "r", 430: "?¿", 433: "*", 440: "“”„",
    452: "z", 456: "c", 466: "§", 473: "~", 486: "_", 489: "e", 504: "S", 506: "a", 512: "<>", 514: "#$0123456789€",
    518: "^", 521: "g", 527: "±×", 529: "v", 534: "–", 537: "+", 540: "£", 542: "b", 545: "F", 551: "=o", 555: "«»",
    558: "y", 559: "µð", 561: "dx", 567: "ø", 573: "q", 577: "LŁ", 581: "p", 588: "þ", 598: "u", 609: "E", 613: "k",
    614: "P", 615: "ß", 616: "nÞ", 619: "h", 624: "YZ", 637: "%", 641: "©®", 652: "T", 654: "B", 700: "V½¼¾",
    706: "C", 715: "æ", 716: "R", 718: "X", 729: "&", 730: "OQØ", 732: "GU", 734: "DÐ", 736: "K", 740: "AN",
    742: "—", 777: "w", 795: "™", 817: "H…", 828: "œ", 899: "M", 905: "m", 925: "Œ", 956: "Æ", 988: "@", 1028: "W",
}
# fmt: on
_UNKNOWN: Final = 1000  # a sign that is in no table: as wide as it is high

_SMALL_LETTERS, _FIGURES = 0.429, 0.608  # how high "o" and "1" are, in em
_LINE, _BOLD_LINE = 0.658, 0.645  # from the foot of a line to the top of its capitals, in em

# What the shipped layout sets: sizes and distances in em, those with a name in mm.
_ROUNDED_UP: Final = 1.004  # of a size that a rule asks for
_LEADING, _BETWEEN = 0.42, 0.6  # between lines, between paragraphs
_ABOVE_HEADING, _BELOW_HEADING, _BELOW_BLANK = 0.9, 0.55, 0.7
_LEADING_OF_CONTENTS, _BETWEEN_CONTENTS = 0.3, 0.4
_OFF_FRAME = 0.2  # what letters of the contents reach below their line, left free where there is a frame
_HEADING, _SECOND_HEADING = 1.4, 1.2  # how large headings of the first and second level are
_NAME: Final = 1.7 * _HEADING
_TRACKED: Final = 0.06  # between the letters of the shop's name
_INSET_MM, _GAP_MM, _BESIDE_BARCODE_MM, _BESIDE_SIGN_MM = 3.5, 1.6, 3.0, 1.2
_BELOW_LETTERS_MM = 2.0  # beside as much as declared contents are high, above them where the panel rules that
_SIGN: Final = 2.4  # how wide and high the warning sign is
_JAR_WIDE, _JAR_HIGH, _BESIDE_JAR, _BEHIND_JAR = 3.0, 2.7, 0.4, 0.75
_BLANKS_BESIDE_JAR_MM, _BEFORE_BLANK_MM, _TO_WRITE_MM = 2.0, 1.0, 22.0
_OWN_LINE = 1.2  # how far below its words the line of a blank lies that has no room behind them

_SIDES: Final = ("width", "height")
_TRIES: Final = 12  # sizes that are tried, each larger by what is missing in the one before
_LARGEST: Final = 420  # mm, the longer side of A3
# Begun at no later digit of a number, so that a long one is walked along once.
_NEVER_PARTED: Final = re.compile(rf"(?<!\d)(\d+(?:[.,]\d+)?) (?=(?:{'|'.join(printed_signs())})\b)")
_MAY_PART: Final = re.compile(r" |(?<=[^\s-]-)(?=[^\W\d])|(?<=/)(?=[^\W\d])|(?<=—)|(?=—)")


@dataclass(frozen=True, slots=True, eq=False)
class Font:
    """The widths of signs in thousandths of an em, and how high a line is in em; told apart by identity."""

    widths: dict[str, int]
    line: float

    def width(self, text: str) -> float:
        """Return how wide a text is on one line, in em; a letter with an accent is as wide as without."""
        try:
            return sum(map(self.widths.__getitem__, text)) / 1000
        except KeyError:
            return sum(map(self._sign, text)) / 1000

    def _sign(self, sign: str) -> int:
        known = self.widths.get(sign)
        if known is not None:
            return known
        plain = unicodedata.normalize("NFD", sign)[0]
        return 0 if unicodedata.combining(sign) else self.widths.get(plain, _UNKNOWN)


def _font(table: dict[int, str], line: float) -> Font:
    return Font({sign: width for width, signs in table.items() for sign in signs} | {" ": 250, "\u00a0": 250}, line)


REGULAR, BOLD = _font(_REGULAR, _LINE), _font(_BOLD, _BOLD_LINE)
_SPACE: Final = REGULAR.width(" ")


@lru_cache(maxsize=4096)
def line_count(text: str, width: float, *, font: Font = REGULAR, begins: str = "", tracked: float = 0.0) -> int:
    """Return on how many lines a text is set that are `width` em wide; `begins` stands before it in bold.

    >>> line_count("nn nn nn", 2.5), line_count("nn nn nn", 1.2), line_count("100 g", 0.5)
    (2, 3, 1)
    """
    before = _measured(begins, BOLD) if begins else ()
    return _lines((*before, *_measured(text, font)), width, tracked)


def _lines(measured: Iterable[tuple[float, int, bool]], width: float, tracked: float = 0.0) -> int:
    """Return on how many lines measured words are set."""
    lines, at, spacing = 1, 0.0, _SPACE + tracked
    for wide, signs, spaced in measured:
        needed = wide + tracked * signs
        space = spacing if spaced and at else 0.0
        if at and at + space + needed > width:
            lines, at = lines + 1, needed
        else:
            at += space + needed
    return lines


@lru_cache(maxsize=4096)
def _measured(text: str, font: Font) -> tuple[tuple[float, int, bool], ...]:
    """Return the words of a text: how wide each is in em, its signs, whether a space is before it."""
    return tuple((font.width(word), len(word), spaced) for word, spaced in _words(text))


def _words(text: str) -> Iterator[tuple[str, bool]]:
    """Yield the parts between which a line may end, and whether a space stands before each."""
    for word in _NEVER_PARTED.sub("\\1\u00a0", text).split(" "):
        for at, part in enumerate(part for part in _MAY_PART.split(word) if part):
            yield part, at == 0


def _high(lines: int, font: Font = REGULAR, leading: float = _LEADING) -> float:
    """Return how high so many lines of one paragraph are, in em."""
    return lines * font.line + (lines - 1) * leading


@dataclass(frozen=True, slots=True)
class Short:
    """A label that may not hold its text: its code, and what is missing in mm of "height" or "width"."""

    code: str
    side: str
    missing: float


def shorts_of(paper: LabelPaper) -> Iterator[Short]:
    """Yield the labels that may not hold their text, each with what is missing most, in the order of the labels."""
    size = paper.labels.size
    for text in paper.texts:
        needs = [face_needs(text, paper, face) for face in faces_of(paper.labels)]
        missing = (
            Short(text.code, "height", max(high for _, high in needs) - float(size.height)),
            Short(text.code, "width", max(wide for wide, _ in needs) - float(size.width)),
        )
        worst = max(missing, key=lambda short: short.missing)
        if worst.missing > 0:
            yield worst


@dataclass(frozen=True, slots=True)
class Tight:
    """A size of labels that is too small: the codes of the sets whose text it may not hold, and one that holds all.

    `size` is None where no label up to the largest that is tried holds all.
    """

    sets: tuple[str, ...]
    size: Face | None


def tight_of(catalog: Catalog, labels: Labels) -> Tight | None:
    """Return what labels of this kind cannot hold; None where they hold all, or there is nothing to label."""
    asked, sets = labels, dict[str, None]()
    for _ in range(_TRIES):
        settings = catalog.shop.settings.model_copy(update={"labels": asked})
        paper = label_paper(replace(catalog, shop=replace(catalog.shop, settings=settings)))
        shorts = tuple(shorts_of(paper)) if paper else ()
        if not shorts:
            return Tight(tuple(sets), asked.size) if sets else None
        of = {variant.code: facts.code for facts in catalog.sets for variant in facts.variants}
        sets = sets or dict.fromkeys(of[short.code] for short in shorts)
        more = {side: max((short.missing for short in shorts if short.side == side), default=0) for side in _SIDES}
        width, height = (
            Decimal(ceil(float(now) + more[side]))
            for now, side in zip((asked.size.width, asked.size.height), _SIDES, strict=True)
        )
        if max(width, height) > _LARGEST:
            break
        asked = asked.model_copy(update={"size": Face(width, height)})
    return Tight(tuple(sets), None)


def faces_of(labels: Labels) -> tuple[str, ...]:
    """Return the names of a label's faces."""
    return ("front", "back") if labels.faces == 2 else ("whole",)


def face_needs(text: LabelText, paper: LabelPaper, face: str) -> tuple[float, float]:
    """Return how wide and how high one face of a label must be at least: "front", "back" or "whole"."""
    heights, labels = text.heights, paper.labels
    small = float(heights.small) / _SMALL_LETTERS * _ROUNDED_UP
    letters = _letters(text)
    room, gap = float(labels.size.width) - 2 * _INSET_MM, _GAP_MM / small
    drawn = symbol(text.gtin, labels.barcodes) if is_gtin(text.gtin) and face != "front" else None
    barcode = (float(drawn.width), float(drawn.height)) if drawn else (0.0, 0.0)
    contents = tuple(dict.fromkeys(one.contents for one in text.spoken)) if face != "back" else ()
    ems = 0.0
    if face != "back":
        ems += _identity(text, paper.shop, room / small)
    warned = any(one.warnings for one in text.spoken)
    if face == "whole":
        ems += gap + (0.0 if warned else _ABOVE_HEADING * _SECOND_HEADING if text.ingredients else gap)
    if face == "back":
        ems += _high(line_count(text.name, room / small, font=BOLD), BOLD) + gap
    if face != "front":
        ems += _notes(text, room / small, gap, (barcode[0] / small, barcode[1] / small))
    high = ems * small
    if contents:
        apart = _BELOW_LETTERS_MM + _FIGURES * letters if heights.letters > heights.small else 2 * _GAP_MM
        high += _contents_high(contents, room, letters) + apart
        high += _OFF_FRAME * letters if labels.frame else 0.0
    beside = barcode[0] + _BESIDE_BARCODE_MM if drawn else 0.0
    wide = max(_longest(text, face) * small, _widest(contents) * letters, _widest((text.number,)) * small + beside)
    return wide + 2 * _INSET_MM, high + 2 * _INSET_MM


def _longest(text: LabelText, face: str) -> float:
    """Return how wide the longest word of a face is, in em; of its notes nothing else is wider than a line."""
    bold, plain = [text.name], list[str]()
    if face != "back":
        bold += [one.identity for one in text.spoken]
        plain += text.spoken[0].pieces
    if face != "front":
        bold += [of for of, _ in text.ingredients]
        plain += [names for _, names in text.ingredients]
        plain += [part for one in text.spoken for part in (*one.cautions, *one.made)]
    warned = _widest((part for one in text.spoken for part in one.warnings), BOLD) if face != "front" else 0.0
    return max(_widest(bold, BOLD), _widest(plain), warned + _SIGN if warned else 0.0)


def _letters(text: LabelText) -> float:
    """Return the size of type of declared contents, in mm."""
    heights = text.heights
    return max(float(heights.letters) / _SMALL_LETTERS, float(heights.figures) / _FIGURES) * _ROUNDED_UP


def _contents_high(contents: tuple[str, ...], room: float, letters: float) -> float:
    """Return how high declared contents are, each language's running on, in mm."""
    lines = [line_count(one, room / letters, font=BOLD) for one in contents]
    high = sum(_high(count, BOLD, _LEADING_OF_CONTENTS) for count in lines)
    return (high + (len(lines) - 1) * _BETWEEN_CONTENTS) * letters


def contents_reach(text: LabelText, labels: Labels) -> float:
    """Return how far up a label its declared contents reach at least, from its lower edge, in mm.

    What runs on is the lowest that the layout has: it lists an item a line only where that stays low enough.
    """
    room, letters = float(labels.size.width) - 2 * _INSET_MM, _letters(text)
    off_frame = _OFF_FRAME * letters if labels.frame else 0.0
    return _INSET_MM + off_frame + _contents_high(tuple({one.contents: None for one in text.spoken}), room, letters)


def _identity(text: LabelText, shop: str, width: float) -> float:
    """Return how high shop, name, identity and pieces are, in em; `width` is that of the lines."""
    high = _high(line_count(shop, width, tracked=_TRACKED))
    high += (_ABOVE_HEADING + _BELOW_HEADING) * _HEADING
    name = max(1.0, min(_NAME, width / (_widest((text.name,), BOLD) or 1.0)))  # so small that its longest word has room
    high += name * _high(line_count(text.name, width / name, font=BOLD), BOLD)
    for one in text.spoken:
        high += _high(line_count(one.identity, width, font=BOLD), BOLD) + _BETWEEN
    # Nearly each variant has a row of pieces of its own, but the pieces are few: so each is measured, not the row.
    first, *others = text.spoken[0].pieces
    rest = (word for piece in others for word in (*_measured("·", REGULAR), *_measured(piece, REGULAR)))
    return high + _high(_lines((*_measured(first, REGULAR), *rest), width))


def _notes(text: LabelText, width: float, gap: float, barcode: tuple[float, float]) -> float:
    """Return how high ingredients, cautions, maker and blanks are, in em, without what is left above them."""
    high, heading = 0.0, _SECOND_HEADING * (BOLD.line + _BELOW_HEADING)
    if warned := [" ".join(one.warnings) for one in text.spoken if one.warnings]:
        beside = width - _SIGN - _BESIDE_SIGN_MM / _GAP_MM * gap
        lines = sum(_high(line_count(one, beside, font=BOLD), BOLD) for one in warned)
        high += max(_SIGN, lines + (len(warned) - 1) * _BETWEEN) + gap
    if text.ingredients:
        high += heading + (len(text.ingredients) - 1) * _BETWEEN + gap
        high += sum(_high(line_count(names, width, begins=of)) for of, names in text.ingredients)
    if text.spoken[0].cautions:
        high += heading + (len(text.spoken) - 1) * _BETWEEN + gap
        high += sum(_high(line_count(" ".join(one.cautions), width)) for one in text.spoken)
    high += sum(_high(line_count(" · ".join(one.made), width)) for one in text.spoken)
    high += (len(text.spoken) - 1) * _BETWEEN + gap
    wide, tall = barcode
    beside = width - wide - (_BESIDE_BARCODE_MM / _GAP_MM * gap if tall else 0.0)
    numbers = 1 if REGULAR.width(text.number) <= beside else line_count(text.number, beside)
    return high + max(_blanks(text, beside, gap / _GAP_MM) + _high(numbers), tall)


def _blanks(text: LabelText, width: float, mm: float) -> float:
    """Return how high the blanks for batch and date are, in em, with open jars beside or below them.

    `mm` is how many em a millimetre is.
    """
    beside = bool(text.opened) and not any(opened.names for opened in text.opened)
    if beside:
        width -= len(text.opened) * _JAR_WIDE + _BLANKS_BESIDE_JAR_MM * mm
    asked = ((one.batch for one in text.spoken), (one.date for one in text.spoken))
    first, last = (_blank(" / ".join(dict.fromkeys(names)), width, mm) for names in asked)
    high = first + _BELOW_BLANK + last
    return (max(high, _JAR_HIGH) if beside else high + _jars(text, width)) + _BELOW_BLANK


def _blank(label: str, width: float, mm: float) -> float:
    """Return how high a blank is, in em: its words alone, or with a line below where too little is left behind them."""
    if REGULAR.width(label) + (_BEFORE_BLANK_MM + _TO_WRITE_MM) * mm <= width:
        return REGULAR.line
    return _high(line_count(label, width)) + _OWN_LINE


def _jars(text: LabelText, width: float) -> float:
    """Return how high open jars are below the blanks, in em."""
    if not text.opened:
        return 0.0
    heights: list[float] = []
    at = 0.0
    for opened in text.opened:
        words = _measured(opened.names, REGULAR)
        for number, (wide, _, spaced) in enumerate(words):
            needed = wide if number else _JAR_WIDE + _BESIDE_JAR + wide
            if number == len(words) - 1 and opened is not text.opened[-1]:
                needed += _BEHIND_JAR  # stays with the last word, at the end of a line too
            space = _SPACE * spaced
            if not at or at + space + needed > width:
                heights, at = [*heights, REGULAR.line], needed
            else:
                at += space + needed
            heights[-1] = heights[-1] if number else _JAR_HIGH
    return sum(heights) + (len(heights) - 1) * _LEADING + _BELOW_BLANK


def _widest(texts: Iterable[str], font: Font = REGULAR) -> float:
    return max((_widest_word(text, font) for text in texts), default=0.0)


@lru_cache(maxsize=4096)
def _widest_word(text: str, font: Font) -> float:
    return max((font.width(word) for word, _ in _words(text)), default=0.0)
