"""The header of a storefront's sample: its row, and which column is which of our fields, and how surely.

The words of the headings count first, then the look of the cells, then the other columns. A heading of unknown words
is no field, whatever its cells are; a match below SURE is not filled in. The order of the columns plays no part.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from listkit.fields import FIELDS
from listkit.learn.candidates import DOUBT, FLOOR, SURE, Candidate
from listkit.learn.cell_shapes import amount, could_be_gtin, has_letters, is_plain_code
from listkit.learn.feed_heading import Heading, heading_of, members_of
from listkit.learn.feed_values import TELLING, feed_verdict, field_by_cells, has_markup, is_address, is_day, is_picture
from listkit.learn.feed_words import FEED_WORDS
from listkit.learn.folding import FILLERS, words_of
from listkit.learn.hits import AMONG, EXACT, WEAK_LESS, WITHIN, Hit, hits
from listkit.learn.values import Cells, Verdict, filled
from listkit.problem import FieldError

# The row of a sample that names its columns, below titles and notes.

_WITHIN: Final = 30
_LONGEST: Final = 80
_HINT: Final = "Write the storefront's headings above the first row, or write the channel's [[column]]s by hand."


def header_row(rows: Sequence[Sequence[str]]) -> int:
    """Return the place of the row that names the columns.

    Raises:
        FieldError: no row does.
    """
    scores = [_named(row) for row in rows[:_WITHIN]]
    best = max(range(len(scores)), key=lambda at: (scores[at], -at), default=None)
    if best is None:
        raise FieldError("nothing stands in it.", "Ask the storefront for a sample with a row of headings.")
    if scores[best] >= min(2, sum(map(bool, rows[best]))) and _looks_like_headings(rows[best]):
        return best
    first = next(at for at, row in enumerate(rows) if any(row))
    below = [row for row in rows[first + 1 : _WITHIN] if any(row)]
    if _looks_like_headings(rows[first]) and sum(map(bool, rows[first])) > 1 and _unlike(rows[first], below):
        return first
    raise FieldError("no row names the columns.", _HINT)


def _named(row: Sequence[str]) -> int:
    """Return how many meanings a row names."""
    found = [hits(heading_of(cell).numbered.plain, FEED_WORDS) for cell in row if cell and len(cell) <= _LONGEST]
    return len({(one[0].meaning.feed or one[0].meaning.name) for one in found if one and one[0].score >= AMONG})


def _looks_like_headings(row: Sequence[str]) -> bool:
    """Whether the cells of a row may be headings, one odd one in five aside: words, no amounts, addresses, days."""
    filled = [cell for cell in row if cell]
    return bool(filled) and 5 * sum(map(_is_value, filled)) <= len(filled)


def _is_value(cell: str) -> bool:
    bare = amount(cell) is not None or could_be_gtin(cell) or is_day(cell)
    linked = is_address(cell) or is_picture(cell) or has_markup(cell)
    return bare or linked or len(cell) > _LONGEST or not has_letters(cell)


def _unlike(header: Sequence[str], below: Sequence[Sequence[str]]) -> bool:
    """Whether the rows below look like something else than headings, or there are none."""
    values = [_is_value(cell) or is_plain_code(cell) for row in below for cell in row if cell]
    return not below or (any(values) and not any(map(is_plain_code, header)))


# What columns of a sample mean beside each other: a title beside slots, a length beside a width, two prices.

_BESIDE: Final = 0.93


@dataclass(frozen=True, slots=True)
class FeedColumn:
    """A column of a sample: its heading, the filled cells of its family, its own in the order of the rows.

    `candidates` are what it may be, the likeliest first; `known` names what it is where we have no field for it.
    """

    heading: Heading
    cells: Cells
    rows: Cells
    candidates: tuple[Candidate, ...]
    known: str = ""

    @property
    def field(self) -> str:
        """The likeliest field, "" where there is none."""
        return self.candidates[0].field if self.candidates and not self.known else ""

    @property
    def sure(self) -> bool:
        """Whether its words alone leave no doubt."""
        return bool(self.field) and self.candidates[0].score >= SURE

    def become(self, field: str, score: float, why: str) -> "FeedColumn":
        """Return the column as surely another field."""
        unit = self.candidates[0].unit if self.candidates else ""
        most = round(score - 0.2, 2)  # what it would else have been is a second thought
        others = tuple(replace(one, score=min(one.score, most)) for one in self.candidates if one.field != field)
        return replace(self, candidates=(Candidate(field, score, unit, why), *others), known="")


def in_context(columns: Sequence[FeedColumn]) -> tuple[FeedColumn, ...]:
    """Return the columns with their candidates in view of the others; their order plays no part."""
    found = _option_names(tuple(columns))
    found = _titles(found)
    found = _sides(found)
    return _prices(found)


def _words(*said: str) -> frozenset[tuple[str, ...]]:
    return frozenset(words_of(word) for line in said for word in line.split(","))


_BARE_OPTIONS: Final = _words("option,choice,Auswahl,Wahl,opción,elección,choix,attribute,Merkmal,atributo")


# What a word beside one for options makes of it: one for names what to choose, one for values what is chosen.
_OF_OPTIONS: Final = {
    **dict.fromkeys(("name", "nom", "nombre", "label", "libelle", "title", "titre", "titulo", "titel"), "slot"),
    **dict.fromkeys(("intitule", "bezeichnung"), "slot"),
    **dict.fromkeys(("value", "valeur", "valor", "wert"), "choice"),
}


def _option_names(columns: tuple[FeedColumn, ...]) -> tuple[FeedColumn, ...]:
    """ "Choice 1" is what is chosen, unless another column has what is chosen: then it is what to choose."""
    columns = tuple(map(_named_option, columns))
    bare = [words_of(column.heading.numbered.plain) in _BARE_OPTIONS for column in columns]
    if not any(bare):
        return columns
    others = {column.field for column, plain in zip(columns, bare, strict=True) if not plain and column.sure}
    return tuple(_option(column, others) if plain else column for column, plain in zip(columns, bare, strict=True))


def _named_option(column: FeedColumn) -> FeedColumn:
    """Return the column as slot or choice where its heading is a word for options beside one for names or values.

    German writes both as one word, with an "s" between or without.
    """
    heading = [word for word in words_of(column.heading.numbered.plain) if word not in FILLERS]
    if len(heading) == 1:
        ending = next((part for part in _OF_OPTIONS if heading[0].endswith(part)), "")
        heading = [heading[0].removesuffix(ending).removesuffix("s"), ending]
    beside = [word for word in heading if word in _OF_OPTIONS]
    if len(heading) != 2 or len(beside) != 1 or not any((word,) in _BARE_OPTIONS for word in heading):
        return column
    field = _OF_OPTIONS[beside[0]]
    against = feed_verdict(field, column.cells) is Verdict.AGAINST
    return column if against else column.become(field, EXACT, "")


def _option(column: FeedColumn, others: set[str]) -> FeedColumn:
    if "choice" in others and "slot" not in others:
        return column.become("slot", _BESIDE, "another column has what is chosen")
    if "slot" in others:
        return column.become("choice", _BESIDE, "another column has what to choose")
    doubtful = column.become("choice", DOUBT, "it may be what to choose, and not what is chosen")
    return replace(doubtful, candidates=(doubtful.candidates[0], Candidate("slot", 0.65)))


_BARE_TITLES: Final = _words(
    "name,title,product name,product title,item name,item title,item,article,product",
    "nom,titre,nom du produit,nom de l'article,désignation,libellé,intitulé,produit",
    "Bezeichnung,Artikelbezeichnung,Produktbezeichnung,Produktname,Artikelname,Titel,Benennung,Artikel,Produkt",
    "nombre,título,nombre del producto,nombre producto,nombre del artículo,denominación,producto,artículo",
)
_GROUPING: Final = frozenset({"slot", "choice", "inProductGroupWithID"})


def _titles(columns: tuple[FeedColumn, ...]) -> tuple[FeedColumn, ...]:
    """Where choices stand in columns of their own a title is the set's, else the variant's with what was chosen."""
    bare = [one for one in columns if one.field in {"name", "title"} and _is_bare(one)]
    stated = {one.field for one in columns if one.field in {"name", "title"} and not _is_bare(one) and one.sure}
    if not bare or len({one.field for one in bare}) > 1:
        return columns
    grouped = any(one.field in _GROUPING and one.candidates[0].score >= DOUBT for one in columns)
    field = "name" if "title" in stated or not (grouped or "name" in stated) else "title"
    return tuple(_title(column, field) if column in bare else column for column in columns)


def _is_bare(column: FeedColumn) -> bool:
    return words_of(column.heading.numbered.plain) in _BARE_TITLES


def _title(column: FeedColumn, field: str) -> FeedColumn:
    other = "title" if field == "name" else "name"
    score = column.candidates[0].score
    made = column.become(field, score, column.candidates[0].why)
    rest = tuple(candidate for candidate in made.candidates[1:] if candidate.field != other)
    return replace(made, candidates=(made.candidates[0], Candidate(other, score - 0.2), *rest))


def _sides(columns: tuple[FeedColumn, ...]) -> tuple[FeedColumn, ...]:
    """Length and width of a box are its width and depth, as one stands before it; width and depth are themselves."""
    lengths = [one for one in columns if one.known == "length"]
    widths = [one for one in columns if one.field == "width"]
    if len(lengths) != 1 or len(widths) != 1 or any(one.field == "depth" for one in columns):
        return columns
    [length], [width] = lengths, widths
    unit = next((hit.unit for hit in hits(length.heading.numbered.plain) if hit.unit), "")
    turned = length.become("width", _BESIDE, "beside a width it is the longer side of the box")
    turned = replace(turned, candidates=(replace(turned.candidates[0], unit=unit), *turned.candidates[1:]))
    beside = width.become("depth", _BESIDE, "beside a length it is the shorter side of the box")
    return tuple(turned if one is length else beside if one is width else one for one in columns)


def _prices(columns: tuple[FeedColumn, ...]) -> tuple[FeedColumn, ...]:
    """Of two columns that would both be the price none is sure, unless all their cells are alike."""
    prices = [one for one in columns if one.field == "price"]
    if len(prices) < 2 or (all(one.cells for one in prices) and len({one.rows for one in prices}) == 1):
        return columns
    why = "another column may be the price as well"
    return tuple(
        one.become("price", min(one.candidates[0].score, DOUBT), why) if one in prices else one for one in columns
    )


_TOLD_BY_CELLS: Final = 0.93
_WEAK: Final = round(WITHIN - WEAK_LESS, 2)
"""Words that are used for other things as well; below it stand headings with words that are not known at all."""
_NEAR: Final = 0.1
_LEAST_SECOND: Final = 0.2
_OTHER: Final = "the cells look like something else"
_ONE_ONLY: Final = "there is one of it, and the heading is numbered"
# Never filled in by itself, however plain the heading.
_ASKED_FIRST: Final = {
    "fullCost": "what things cost you is shown only where you say so",
    "kept": "what you keep is shown only where you say so",
    "wholesalePrice": "prices for shops are shown only where you say so",
    "includedTax": "it may be the rate and not the amount",
    "box": "it may be another box than the gift box",
}


@dataclass(frozen=True, slots=True)
class FeedMatch:
    """What one column of a sample is: a field of ours ("image_3") or None, and how surely, from 0 to 1.

    `second` is the next likely field, `reason` why it is doubtful, in words; `unit` is what the heading states.
    """

    heading: Heading
    field: str | None
    confidence: float
    second: str | None
    reason: str
    unit: str = ""

    @property
    def sure(self) -> bool:
        """Whether it may be filled in without asking."""
        return self.field is not None and self.confidence >= SURE


def match_feed(headings: Sequence[str], samples: Sequence[Sequence[str]] = ()) -> tuple[FeedMatch, ...]:
    """Return what each column is, in their order.

    Args:
        headings: the header row, "" where nothing stands.
        samples: some rows below it; short rows are as if filled up with nothing.
    """
    rows = [tuple(row[at].strip() if at < len(row) else "" for row in samples) for at in range(len(headings))]
    parts = tuple(map(heading_of, headings))
    together: dict[str, list[str]] = defaultdict(list)  # the cells of a family, whose members are alike
    for part, cells in zip(parts, rows, strict=True):
        together[part.family] += filled(cells)
    columns = [_column(part, tuple(together[part.family]), cells) for part, cells in zip(parts, rows, strict=True)]
    members = members_of(parts)
    return tuple(_match(column, member) for column, member in zip(in_context(columns), members, strict=True))


def _column(heading: Heading, cells: Cells, rows: Cells) -> FeedColumn:
    """Return what one column may be by its words and cells, the likeliest first."""
    own = heading.numbered.plain
    if own in FIELDS:
        against = feed_verdict(own, cells) is Verdict.AGAINST
        candidate = Candidate(own, 0.5 if against else 1.0, "", _OTHER if against else "")
        return FeedColumn(heading, cells, rows, (candidate,))
    found = hits(heading.numbered.plain, FEED_WORDS)
    best: dict[str, Candidate] = {}
    for candidate in (_by_heading(hit, cells) for hit in found if hit.meaning.feed):
        if candidate.field not in best or candidate.score > best[candidate.field].score:
            best[candidate.field] = candidate
    other = next((hit for hit in found if not hit.meaning.feed), None)
    candidates = sorted(best.values(), key=lambda one: (-one.score, one.field))
    if other and candidates and other.score >= candidates[0].score - _NEAR:
        why = f"it may be the {other.meaning.name}, which a set does not have"
        candidates = [Candidate(one.field, min(one.score, 0.7), one.unit, why) for one in candidates]
    known = other.meaning.name if other and (not candidates or other.score > candidates[0].score) else ""
    return FeedColumn(heading, cells, rows, tuple(candidates), known)


def _by_heading(hit: Hit, cells: Cells) -> Candidate:
    field = hit.meaning.feed
    says = feed_verdict(field, cells)
    if says is Verdict.AGAINST:
        return Candidate(field, hit.score / 2, hit.unit, _OTHER)
    if _WEAK <= hit.score < SURE and says is Verdict.TELLING and field in TELLING:
        return Candidate(field, max(_TOLD_BY_CELLS, hit.score), hit.unit, "the cells tell")
    return Candidate(field, hit.score, hit.unit, hit.why)


def _match(column: FeedColumn, member: int | None) -> FeedMatch:
    if not column.candidates or column.candidates[0].score < FLOOR or column.known:
        return _unknown(column)
    first, *others = column.candidates
    score, why = first.score, first.why
    second = others[0] if others and others[0].score >= _LEAST_SECOND else None
    if second and second.score > score - _NEAR and score < 1:
        score, why = min(score, DOUBT), f"it may also mean: {FIELDS[second.field].meaning.rstrip('.')}"
    if first.field in _ASKED_FIRST:
        score, why = min(score, DOUBT), _ASKED_FIRST[first.field]
    field, many = first.field, FIELDS[first.field].many
    if member is not None and many:
        field = f"{field}_{member}"
    elif member is not None and column.heading.numbered.number is not None:
        score, why = min(score, DOUBT), _ONE_ONLY
    return FeedMatch(
        heading=column.heading,
        field=field,
        confidence=round(score, 2),
        second=second.field if second else None,
        reason=why,
        unit=first.unit,
    )


def _unknown(column: FeedColumn) -> FeedMatch:
    """Return a column that is no field; what its cells look like, or its words might mean, is its `second`."""
    guess = column.candidates[0].field if column.candidates else field_by_cells(column.cells)
    if column.known:
        why = f"it is the {column.known}, which a set does not have"
    elif column.candidates:
        why = column.candidates[0].why
    else:
        why = "no word of it is known" if column.heading.text.strip() else "it has no heading"
    return FeedMatch(column.heading, None, 0.0, guess or None, why)
