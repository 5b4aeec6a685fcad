"""The table of units: every unit that an owner's files, labels, feeds and samples may name, a row each.

A new unit is one row of UNITS. Readers, declarations, unit prices, channels' dialects, comparisons and the learner of
headings take their words and factors from here.

Sizes are exact: NIST Handbook 44, Appendix C (avoirdupois pound 453.59237 g, US gallon 231 in³, of which a fluid ounce
is a 128th) and NIST Special Publication 811, Appendix B (inch 25.4 mm). Legal factors are those that a label in the
United States must use, six digits and "none others" (16 CFR 500.19(a) as amended, 80 FR 71686, 2015).
"""

from dataclasses import dataclass
from decimal import Context, Decimal
from enum import StrEnum
from typing import Final

WIDE: Final = Context(prec=60)
"""For quotients and roundings of large amounts, for which the usual 28 digits are too few."""


class UnitKind(StrEnum):
    """What a unit measures. Base units: g, ml, mm, months, pieces."""

    MASS = "mass"
    VOLUME = "volume"
    LENGTH = "length"
    TIME = "time"
    COUNT = "count"


@dataclass(frozen=True, slots=True)
class LegalFactor:
    """How many of the other system's unit `sign` a label states for one: 28.3495 g for an ounce."""

    sign: str
    factor: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """One row; all but the first four may be left out.

    Args:
        sign: our name for it, and what labels print: "fl oz". One with spaces is read with full stops and without
            spaces as well; among the words its parts are joined: "floz".
        kind: what it measures.
        size: one of it in the kind's base unit, exactly.
        words: what an owner's cell may call it, lower case.
        marks: signs that are no letters: "″".
        also: what headings and cells of other programs call it besides, lower case, without accents.
        learned: whether such a heading may state it; false for words that mean something else there.
        typed: those of its words that a story means by it, and nothing else ("pound" may be money).
        metric: whether it is of the metric system.
        label: the sign that labels print instead, when they never print its own.
        legal: the factor that a law prescribes for labels; without one its exact size is used.
        priced: how many of it a unit price may be for: 100 g; 0 for none.
        places: digits behind the point in a feed; None where no channel may ask for the unit.
        digits: digits behind the point in a text.
        cldr: its name in CLDR, by which a text writes it in any language.
        code: its common code in UN/CEFACT Recommendation 20.
    """

    sign: str
    kind: UnitKind
    size: Decimal
    words: str
    marks: str = ""
    also: str = ""
    learned: bool = True
    typed: str = ""
    metric: bool = True
    label: str = ""
    legal: LegalFactor | None = None
    priced: int = 0
    places: int | None = None
    digits: int = 2
    cldr: str = ""
    code: str = ""

    @property
    def printed(self) -> str:
        """The sign that labels print."""
        return self.label or self.sign

    @property
    def price_name(self) -> str:
        """What a unit price is for: "kg", "100 g"."""
        return self.sign if self.priced == 1 else f"{self.priced} {self.sign}"


_GRAMS_A_POUND: Final = Decimal("453.59237")

# Places: about a gram or finer in every unit, a tenth of one in grams, as fine as parcel scales; a tenth of a
# millimetre and about as fine in inches. Digits: whole and tenth grams, as scales of the trade show them.
# Both common practice, no source. Words of other languages: from memory, as the trade speaks.
UNITS: Final[tuple[Unit, ...]] = (
    Unit(sign="mg", kind=UnitKind.MASS, size=Decimal("0.001"), words="mg", label="g"),
    Unit(
        sign="g", kind=UnitKind.MASS, size=Decimal(1), words="g gr gram grams",
        also="gramm gramme grammes gramo gramos grm", typed="g gram grams",
        legal=LegalFactor("oz", Decimal("0.0352740")), priced=100, places=1, digits=1, cldr="mass-gram", code="GRM",
    ),
    Unit(
        sign="kg", kind=UnitKind.MASS, size=Decimal(1000), words="kg kilogram kilograms",
        also="kilogramm kilogramme kilogrammes kilo kilos kilogramo kilogramos", typed="kg",
        legal=LegalFactor("lb", Decimal("2.20462")), priced=1, places=3, cldr="mass-kilogram", code="KGM",
    ),
    Unit(
        sign="oz", kind=UnitKind.MASS, size=_GRAMS_A_POUND / 16, words="oz ozs ounce ounces",
        also="unze unzen once onces onza onzas", typed="oz ounce ounces", metric=False,
        legal=LegalFactor("g", Decimal("28.3495")), priced=1, places=2, digits=1, cldr="mass-ounce", code="ONZ",
    ),
    Unit(
        sign="lb", kind=UnitKind.MASS, size=_GRAMS_A_POUND, words="lb lbs pound pounds",
        also="pfund livre livres libra libras", typed="lb lbs", metric=False,
        legal=LegalFactor("g", Decimal("453.592")), priced=1, places=3, cldr="mass-pound", code="LBR",
    ),
    Unit(
        sign="ml", kind=UnitKind.VOLUME, size=Decimal(1), words="ml millilitre millilitres milliliter milliliters",
        also="mililitro mililitros", typed="ml", legal=LegalFactor("fl oz", Decimal("0.0338140")), priced=100,
    ),
    Unit(
        sign="cl", kind=UnitKind.VOLUME, size=Decimal(10), words="cl centilitre centilitres",
        also="centiliter centilitro centilitros", typed="cl",
    ),
    Unit(
        sign="l", kind=UnitKind.VOLUME, size=Decimal(1000), words="l litre litres liter liters",
        also="litro litros", priced=1,
    ),
    Unit(
        sign="fl oz", kind=UnitKind.VOLUME, size=Decimal("29.5735295625"), words="floz", typed="floz", metric=False,
        legal=LegalFactor("ml", Decimal("29.5735")), priced=1,
    ),
    Unit(
        sign="mm", kind=UnitKind.LENGTH, size=Decimal(1), words="mm millimetre millimetres millimeter millimeters",
        also="milimetro milimetros", typed="mm", places=1, code="MMT",
    ),
    Unit(
        sign="cm", kind=UnitKind.LENGTH, size=Decimal(10), words="cm centimetre centimetres centimeter centimeters",
        also="zentimeter centimetro centimetros", typed="cm", places=2, code="CMT",
    ),
    Unit(
        sign="m", kind=UnitKind.LENGTH, size=Decimal(1000), words="m metre metres meter meters",
        learned=False,  # an M above a column is a size of clothes, a month, a man
    ),
    Unit(
        sign="in", kind=UnitKind.LENGTH, size=Decimal("25.4"), words="in inch inches", marks='″"',
        also="zoll pouce pouces pulgada pulgadas", typed="in inch inches", metric=False,
        legal=LegalFactor("cm", Decimal("2.54")), places=2, code="INH",
    ),
    Unit(
        sign="months", kind=UnitKind.TIME, size=Decimal(1), words="months month",
        also="mo mth mths monat monate monaten mois mes meses",
    ),
    Unit(
        sign="years", kind=UnitKind.TIME, size=Decimal(12), words="years year",
        also="yr yrs jahr jahre jahren an ans annee annees ano anos",
    ),
    Unit(
        sign="", kind=UnitKind.COUNT, size=Decimal(1), words="piece pieces pc pcs", metric=False,
        learned=False,  # a heading "Price per piece" states no quantity
    ),
)  # fmt: skip


def units_of(*kinds: UnitKind) -> tuple[Unit, ...]:
    """Return the rows of some kinds, in the order of the table."""
    return tuple(unit for unit in UNITS if unit.kind in kinds)


def printed_signs() -> tuple[str, ...]:
    """Return the signs of masses, volumes and lengths that stand behind a figure on labels, each once."""
    measured = units_of(UnitKind.MASS, UnitKind.VOLUME, UnitKind.LENGTH)
    return tuple(dict.fromkeys(unit.printed for unit in measured))


def sizes_by_word(*kinds: UnitKind) -> dict[str, Decimal]:
    """Return the size of a unit in its base unit by each of the owner's words for it."""
    return {word: unit.size for unit in units_of(*kinds) for word in unit.words.split()}


_COUNTED: Final = frozenset(
    {
        *("%", "-", "–", "—", "#", "no", "qty", "pcs", "pc", "piece", "pieces", "each", "ea", "unit", "units"),
        *("stk", "stück", "st", "pce", "pces", "pièce", "pièces", "unité", "unités"),
        *("ud", "uds", "pza", "pzas", "pieza", "piezas", "unidad", "unidades", "pz", "pezzo", "pezzi", "cad", "unità"),
    }
)
"""What rows of units have above columns that are counted, or have no unit; common practice, no source."""


def says_no_unit(text: str) -> bool:
    """Whether a cell of a row of units says that pieces are counted there: "pcs", "%", "-".

    >>> says_no_unit("Pcs."), says_no_unit("g"), says_no_unit("")
    (True, False, False)
    """
    return text.casefold().rstrip(".") in _COUNTED


def channel_places(kind: UnitKind) -> dict[str, int]:
    """Return the units of a kind that a channel may ask for, with the digits behind the point of each."""
    return {unit.sign: unit.places for unit in units_of(kind) if unit.places is not None}


def price_units(kind: UnitKind) -> tuple[Unit, ...]:
    """Return the units of a kind that a unit price may be for: metric ones first, large ones first."""
    units = (unit for unit in units_of(kind) if unit.priced)
    return tuple(sorted(units, key=lambda unit: (not unit.metric, -unit.priced * unit.size)))
