"""What columns of a sample say of each other: a title beside slots, a length beside a width, two prices."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from listkit.learn.candidates import DOUBT, SURE, Candidate
from listkit.learn.feed_heading import Heading
from listkit.learn.folding import words_of
from listkit.learn.hits import hits
from listkit.learn.values import Cells

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
    """Return the columns with what the others say of each; their order plays no part."""
    found = _option_names(tuple(columns))
    found = _titles(found)
    found = _sides(found)
    return _prices(found)


def _words(*said: str) -> frozenset[tuple[str, ...]]:
    return frozenset(words_of(word) for line in said for word in line.split(","))


_BARE_OPTIONS: Final = _words("option,choice,Auswahl,Wahl,opción,elección,choix,attribute,Merkmal,atributo")


def _option_names(columns: tuple[FeedColumn, ...]) -> tuple[FeedColumn, ...]:
    """ "Option 1" is what is chosen, unless another column has what is chosen: then it is what to choose."""
    bare = [words_of(one.heading.numbered.plain) in _BARE_OPTIONS for one in columns]
    if not any(bare):
        return columns
    others = {one.field for one, plain in zip(columns, bare, strict=True) if not plain and one.sure}
    return tuple(_option(one, others) if plain else one for one, plain in zip(columns, bare, strict=True))


def _option(one: FeedColumn, others: set[str]) -> FeedColumn:
    if "choice" in others and "slot" not in others:
        return one.become("slot", _BESIDE, "another column has what is chosen")
    if "slot" in others:
        return one.become("choice", _BESIDE, "another column has what to choose")
    doubtful = one.become("choice", DOUBT, "it may be what to choose, and not what is chosen")
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
    return tuple(_title(one, field) if one in bare else one for one in columns)


def _is_bare(one: FeedColumn) -> bool:
    return words_of(one.heading.numbered.plain) in _BARE_TITLES


def _title(one: FeedColumn, field: str) -> FeedColumn:
    other = "title" if field == "name" else "name"
    score = one.candidates[0].score
    made = one.become(field, score, one.candidates[0].why)
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
