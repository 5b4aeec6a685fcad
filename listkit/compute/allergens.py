"""Fragrance allergens that a label names: the list of 2003 and the longer one of 2023, where and from when each holds.

Names, numbers of entries and CAS numbers are those of Annex III to Regulation (EC) 1223/2009 as Regulation (EU)
2023/1545 replaced it, taken from public transcriptions and not from the Official Journal: compare this table with the
annex before a release. Of its 81 entries 80 are for goods of the bath; 6-Methyl Coumarin may be in oral goods only.
"""

import datetime
import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from operator import itemgetter
from typing import Final

from listkit.compute.materials import folded_name

LIST_2003, LIST_2023 = 2003, 2023

REMARKS: Final = re.compile(r"[(\[{][^)\]}]{0,500}[)\]}]|[*†°+]+")
"""What stands in brackets in a name, and asterisks; of bounded length, so that many open brackets take no time."""


@lru_cache(maxsize=32_768)
def compared_name(name: str) -> str:
    """Return a name as allergens are compared by it: without remarks in brackets, signs and spaces.

    >>> compared_name("Acetyl Cedrene*") == compared_name("ACETYLCEDRENE (natural)")
    True
    """
    return folded_name(REMARKS.sub(" ", name)).replace(" ", "")


@dataclass(frozen=True, slots=True)
class Allergen:
    """One entry: what a label calls it, its CAS numbers, which list brought it, its number; 0 for the owner's own.

    Several substances may share a printed name, and are added up before they are compared. `stems` are how names of the
    natural oils and extracts begin that are printed so. `also` are what makers and suppliers call it.
    """

    name: str
    cas: tuple[str, ...] = ()
    since: int = LIST_2003
    stems: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    entry: int = 0
    called: frozenset[str] = field(init=False, repr=False, compare=False)
    """The names, as they are compared; they are asked for with every ingredient."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "called", frozenset(map(compared_name, (self.name, *self.also))))

    @property
    def with_entry(self) -> str:
        """Its name and the number of its entry: "Linalool (entry 84)"."""
        return f"{self.name} (entry {self.entry})" if self.entry else self.name


# entry, S one substance, G several under one name, N an oil or extract: CAS
_OLD: Final = """
90 S Alpha-Isomethyl Ionone: 127-51-5
67 S Amyl Cinnamal: 122-40-7
74 S Amylcinnamyl Alcohol: 101-85-9
80 S Anise Alcohol: 105-13-5
45 S Benzyl Alcohol: 100-51-6
85 S Benzyl Benzoate: 120-51-4
81 S Benzyl Cinnamate: 103-41-3
75 S Benzyl Salicylate: 118-58-1
76 S Cinnamal: 104-55-2
69 S Cinnamyl Alcohol: 104-54-1
70 G Citral: 5392-40-5 141-27-5 106-26-3
86 G Citronellol: 106-22-9 26489-01-0 1117-61-9 7540-51-4
77 S Coumarin: 91-64-5
71 S Eugenol: 97-53-0
92 N Evernia Furfuracea Extract: 90028-67-4
91 N Evernia Prunastri Extract: 90028-68-5
82 S Farnesol: 4602-84-0
78 S Geraniol: 106-24-1
87 S Hexyl Cinnamal: 101-86-0
72 S Hydroxycitronellal: 107-75-5
73 G Isoeugenol: 97-54-1 5932-68-3 5912-86-7
88 G Limonene: 138-86-3 7705-14-8 5989-27-5 5989-54-8
84 S Linalool: 78-70-6
89 S Methyl 2-Octynoate: 111-12-6
"""
_NEW: Final = """
175 S 3-Propylidenephthalide: 17369-59-4
327 S Acetyl Cedrene: 32388-55-9
131 S Alpha-Terpinene: 99-86-5
328 S Amyl Salicylate: 2050-08-0
329 G Anethole: 104-46-1 4180-23-8
330 S Benzaldehyde: 100-52-7
332 S Beta-Caryophyllene: 87-44-5
331 G Camphor: 76-22-2 21368-68-3 464-49-3 464-48-2
347 N Cananga Odorata Oil/Extract: 83863-30-3 8006-81-3 68606-83-7 93686-30-7
333 G Carvone: 99-49-0 6485-40-1 2244-16-8
122 N Cedrus Atlantica Oil/Extract: 92201-55-3 8023-85-6
348 N Cinnamomum Cassia Leaf Oil: 8007-80-5 84961-46-6
349 N Cinnamomum Zeylanicum Bark Oil: 8015-91-6 84649-98-9
352 N Citrus Aurantium Bergamia Peel Oil: 8007-75-8 89957-91-5 68648-33-9 85049-52-1
350 N Citrus Aurantium Flower Oil: 72968-50-4 8028-48-6 8016-38-4
351 N Citrus Aurantium Peel Oil: 68916-04-1 72968-50-4 97766-30-8 8028-48-6 8008-57-9
353 N Citrus Limon Peel Oil: 84929-31-7 8008-56-8
334 S Dimethyl Phenethyl Acetate: 151-05-3
355 N Eucalyptus Globulus Oil: 97926-40-4 8000-48-4
356 N Eugenia Caryophyllus Oil: 8000-34-8 8015-97-2 84961-50-2
368 S Eugenyl Acetate: 93-28-7
369 S Geranyl Acetate: 105-87-3
335 S Hexadecanolactone: 109-29-5
336 S Hexamethylindanopyran: 1222-05-5
370 S Isoeugenyl Acetate: 93-29-8
357 N Jasmine Oil/Extract: 84776-64-7 90045-94-6 8022-96-6 8024-43-9
358 N Juniperus Virginiana Oil: 8000-27-9 85085-41-2
359 N Laurus Nobilis Leaf Oil: 8002-41-3 8007-48-5 84603-73-6
360 N Lavandula Oil/Extract: 91722-69-9 8022-15-9 93455-96-0 93455-97-1 92623-76-2 84776-65-8 8000-28-0 90063-37-9
354 N Lemongrass Oil: 8007-02-1 89998-16-3 91844-92-7
337 S Linalyl Acetate: 115-95-7
196 N Lippia Citriodora Absolute: 8024-12-2 85116-63-8
361 N Mentha Piperita Oil: 8006-90-4 84082-70-2
362 N Mentha Viridis Leaf Oil: 8008-79-5 84696-51-5
338 G Menthol: 89-78-1 1490-04-6 2216-51-5 15356-60-2
324 S Methyl Salicylate: 119-36-8
154 N Myroxylon Pereirae Oil/Extract: 8007-00-9
363 N Narcissus Extract: 90064-26-9 68917-12-4 90064-27-0 90064-25-8
364 N Pelargonium Graveolens Flower Oil: 90082-51-2 8000-46-2
371 G Pinene: 80-56-8 7785-70-8 127-91-3 18172-67-3
109 N Pinus Mugo: 90082-72-7
114 N Pinus Pumila: 97676-05-6
365 N Pogostemon Cablin Oil: 8014-09-3 84238-39-1
366 N Rose Flower Oil/Extract: 8007-01-0 90106-38-0 93334-48-6 84696-47-9 84604-12-6 84604-13-7 92347-25-6
157 G Rose Ketones: 43052-87-5 23726-94-5 24720-09-0 23696-85-7 57378-68-4 71048-82-3 23726-92-3 23726-91-2
340 S Salicylaldehyde: 90-02-8
341 G Santalol: 11031-45-1 115-71-9 77-42-9
367 N Santalum Album Oil: 8006-87-9 84787-70-2
342 S Sclareol: 515-03-7
343 G Terpineol: 8000-41-7 98-55-5 138-87-4 586-81-2
133 S Terpinolene: 586-62-9
344 G Tetramethyl Acetyloctahydronaphthalenes: 54464-57-2 54464-59-4 68155-66-8 68155-67-9
345 S Trimethylbenzenepropanol: 103694-68-4
339 S Trimethylcyclopentenyl Methylisopentenol: 67801-20-1
124 N Turpentine: 9005-90-7 8006-64-2 8052-14-0
346 S Vanillin: 121-33-5
"""
# How names of the oils and extracts begin, of which the annex prints one name for several; without accents and signs.
_STEMS: Final = {
    "Evernia Prunastri Extract": ("evernia prunastri",),
    "Evernia Furfuracea Extract": ("evernia furfuracea",),
    "Pinus Mugo": ("pinus mugo",),
    "Pinus Pumila": ("pinus pumila",),
    "Cedrus Atlantica Oil/Extract": ("cedrus atlantica",),
    "Turpentine": ("turpentine",),
    "Myroxylon Pereirae Oil/Extract": ("myroxylon pereirae",),
    "Lippia Citriodora Absolute": ("lippia citriodora absolute",),
    "Cananga Odorata Oil/Extract": (
        "cananga odorata",
        "ylang ylang oil",
    ),
    "Cinnamomum Cassia Leaf Oil": ("cinnamomum cassia leaf",),
    "Cinnamomum Zeylanicum Bark Oil": ("cinnamomum zeylanicum bark",),
    "Citrus Aurantium Flower Oil": (
        "citrus aurantium amara flower",
        "citrus aurantium dulcis flower",
        "citrus aurantium flower",
        "neroli oil",
    ),
    "Citrus Aurantium Peel Oil": (
        "citrus aurantium amara peel",
        "citrus aurantium dulcis peel",
        "citrus sinensis peel",
        "citrus aurantium peel",
    ),
    "Citrus Aurantium Bergamia Peel Oil": ("citrus aurantium bergamia peel",),
    "Citrus Limon Peel Oil": ("citrus limon peel",),
    "Lemongrass Oil": (
        "cymbopogon schoenanthus",
        "cymbopogon flexuosus",
        "cymbopogon citratus leaf",
        "lemongrass oil",
    ),
    "Eucalyptus Globulus Oil": ("eucalyptus globulus",),
    "Eugenia Caryophyllus Oil": ("eugenia caryophyllus",),
    "Jasmine Oil/Extract": (
        "jasminum grandiflorum",
        "jasminum officinale",
        "jasmine",
    ),
    "Juniperus Virginiana Oil": ("juniperus virginiana",),
    "Laurus Nobilis Leaf Oil": ("laurus nobilis leaf",),
    "Lavandula Oil/Extract": (
        "lavandula hybrida",
        "lavandula intermedia",
        "lavandula angustifolia",
        "lavandula",
    ),
    "Mentha Piperita Oil": ("mentha piperita",),
    "Mentha Viridis Leaf Oil": ("mentha viridis leaf",),
    "Narcissus Extract": ("narcissus",),
    "Pelargonium Graveolens Flower Oil": ("pelargonium graveolens",),
    "Pogostemon Cablin Oil": ("pogostemon cablin",),
    "Rose Flower Oil/Extract": (
        "rosa damascena flower",
        "rosa alba flower",
        "rosa canina flower",
        "rosa centifolia flower",
        "rosa gallica flower",
        "rosa moschata flower",
        "rosa rugosa flower",
        "rose flower",
    ),
    "Santalum Album Oil": ("santalum album",),
}
_ROW: Final = re.compile(r"(\d+) [SGN] (.+): (.+)")


def _rows(text: str, since: int) -> Iterable[Allergen]:
    for entry, name, numbers in _ROW.findall(text):
        yield Allergen(name, tuple(numbers.split()), since, _STEMS.get(name, ()), entry=int(entry))


ALLERGENS: Final = tuple(_rows(_OLD, LIST_2003))
"""The first 24 that are still allowed."""
NEWER: Final = tuple(_rows(_NEW, LIST_2023))
"""The 56 that Regulation (EU) 2023/1545 adds for goods of the bath."""

# Annex II to Regulation (EC) 1223/2009, entries 1380 and 1666 (short names from memory);
# and what Annex III, entry 46, leaves to oral goods.
FORBIDDEN: Final = (
    Allergen(
        "Hydroxyisohexyl 3-Cyclohexene Carboxaldehyde", ("31906-04-4", "51414-25-6"), also=("HICC", "Lyral"), entry=1380
    ),
    Allergen("Butylphenyl Methylpropional", ("80-54-6",), also=("BMHCA", "Lilial"), entry=1666),
)
ORAL_ONLY: Final = (Allergen("6-Methyl Coumarin", ("92-48-8",), entry=46),)

EUROPE: Final = frozenset(
    (
        *("AT", "BE", "BG", "CY", "CZ", "DE", "DK", "EE", "ES", "FI", "FR", "GR", "HR", "HU", "IE", "IT", "LT", "LU"),
        *("LV", "MT", "NL", "PL", "PT", "RO", "SE", "SI", "SK", "IS", "LI", "NO", "CH"),
    )
)
"""The European Economic Area and Switzerland (the latter from memory)."""
# Great Britain keeps the older list, Northern Ireland follows the Union; Canada takes the Union's list by reference
# (SOR/2024-63), a day later.
NAMED_IN: Final = EUROPE | {"GB", "CA"}
"""Where fragrance allergens are to be named at all."""
NORTHERN_IRELAND: Final = "GB-NIR"
LAST_OF_OLDER: Final = datetime.date(2026, 7, 31)
"""The last day on which goods may be placed on the market by the older list (Regulation (EU) 2023/1545)."""
LAST_ON_SHELVES: Final = datetime.date(2028, 7, 31)
"""The last day on which goods that were placed before may be sold."""


def list_in_force(country: str, region: str, day: datetime.date) -> int:
    """Return which list goods placed on the market of a country on a day go by; 0 where none is asked for.

    >>> list_in_force("FR", "", datetime.date(2026, 7, 31)), list_in_force("FR", "", datetime.date(2026, 8, 1))
    (2003, 2023)
    >>> list_in_force("GB", "", datetime.date(2027, 1, 1)), list_in_force("GB", "GB-NIR", datetime.date(2027, 1, 1))
    (2003, 2023)
    """
    if country not in NAMED_IN:
        return 0
    follows = country in EUROPE or country == "CA" or region == NORTHERN_IRELAND
    return LIST_2023 if follows and day > LAST_OF_OLDER else LIST_2003


_OF_PLANTS: Final = re.compile(r"\b(?:oil|extract|absolute|resinoid|concrete)\b")


def candidates(name: str, cas: str, known: tuple[Allergen, ...]) -> tuple[Allergen, ...]:
    """Return which allergens an ingredient may be: by its CAS number where it has one, else by its name.

    A number may belong to two entries; then the name decides, and without it both are returned.
    """
    index = _index_of(known)
    if cas:
        by_number = index.by_number.get(cas, ())
        named = tuple(each for each in by_number if is_called(name, each))
        return named if len(by_number) > 1 and named else by_number
    called, plant = index.by_name.get(compared_name(name), ()), _of_plant(name)
    grown = [(at, each) for at, each in index.of_plants if plant.startswith(each.stems)] if plant else []
    return tuple(dict(sorted([*called, *grown], key=itemgetter(0))).values())


@dataclass(frozen=True, slots=True)
class _Index:
    """Known allergens by what they are asked for, with their places among all where several finds are put in order."""

    known: tuple[Allergen, ...]
    by_number: Mapping[str, tuple[Allergen, ...]]
    by_name: Mapping[str, Sequence[tuple[int, Allergen]]]
    of_plants: Sequence[tuple[int, Allergen]]


_indexes: Final[dict[int, _Index]] = {}
_MOST_INDEXES: Final = 100


def _index_of(known: tuple[Allergen, ...]) -> _Index:
    """Return the index of some allergens, made once: an owner may add hundreds, and each ingredient is asked for."""
    index = _indexes.get(id(known))
    if index is not None and index.known is known:
        return index
    by_number, by_name = defaultdict[str, list[Allergen]](list), defaultdict[str, list[tuple[int, Allergen]]](list)
    for at, each in enumerate(known):
        for number in dict.fromkeys(each.cas):
            by_number[number].append(each)
        for name in each.called:
            by_name[name].append((at, each))
    if len(_indexes) >= _MOST_INDEXES:
        _indexes.clear()
    of_plants = [(at, each) for at, each in enumerate(known) if each.stems]
    index = _Index(known, {number: tuple(found) for number, found in by_number.items()}, dict(by_name), of_plants)
    _indexes[id(known)] = index
    return index


def is_called(name: str, allergen: Allergen) -> bool:
    """Whether a name is an allergen's, or that of an oil or extract that is printed under it."""
    return compared_name(name) in allergen.called or _of_plant(name).startswith(allergen.stems)


@lru_cache(maxsize=32_768)
def _of_plant(name: str) -> str:
    """Return the name of an oil or extract without remarks in brackets, "" of anything else."""
    plain = folded_name(REMARKS.sub(" ", name))
    return plain if _OF_PLANTS.search(plain) else ""


_LEAST: Final = re.compile(r"(?<!≤ )\b(\d+(?:\.\d+)?)(?:–\d+(?:\.\d+)?)? %")
"""The lower figure of a range; what is only bounded above has none."""


@dataclass(frozen=True, slots=True)
class Usual:
    """What an essential oil usually brings: how its names begin, allergens with their shares in words, the source."""

    stems: tuple[str, ...]
    brings: str
    source: str

    @property
    def names(self) -> tuple[str, ...]:
        """The allergens alone."""
        return tuple(part.strip().rstrip("0123456789–.,% ≤").strip() for part in self.brings.split(";"))

    @property
    def much(self) -> tuple[str, ...]:
        """Those of which there is at least 1 % of the oil, by the lower of two figures."""
        parts = zip(self.names, self.brings.split(";"), strict=True)
        least = ((name, _LEAST.search(part.removeprefix(name))) for name, part in parts)
        return tuple(name for name, figure in least if figure and float(figure[1]) >= 1)


# Published contents, % of the oil; for a question to the supplier only, whose own document always wins.
_PH_EUR: Final = "limits of the European Pharmacopoeia, by copies"
USUAL: Final = (
    Usual(
        ("lavandula", "lavender"),
        "Linalool 20–45 %; Linalyl Acetate 25–47 %; Limonene ≤ 1 %",
        "Ph. Eur. 10 in Molecules 2022, 27, 3216",
    ),
    Usual(
        ("citrus aurantium dulcis peel", "citrus sinensis peel", "sweet orange", "orange oil", "orange essential"),
        "Limonene 92–97 %; Linalool 0.2–0.7 %",
        _PH_EUR,
    ),
    Usual(("citrus limon", "lemon oil", "lemon essential"), "Limonene 56–78 %; Citral 0.8–3.8 %", _PH_EUR),
    Usual(
        ("citrus aurantium bergamia", "bergamot"),
        "Limonene 30–50 %; Linalool 6–15 %; Linalyl Acetate 23–35 %",
        "EMA, HMPC report 2012, as quoted",
    ),
    Usual(("mentha piperita", "peppermint"), "Menthol 30–55 %; Limonene 1–5 %; Carvone ≤ 1 %", _PH_EUR),
    Usual(
        ("mentha viridis", "mentha spicata", "spearmint"),
        "Carvone 50–70 %; Limonene 20 %",
        "two merchants' pages, weak",
    ),
    Usual(
        ("melaleuca alternifolia", "tea tree"),
        "Alpha-Terpinene 5–13 %; Terpinolene 1.5–5 %; Limonene 0.5–4 %",
        "ISO 4730 in PMC5516420",
    ),
    Usual(
        ("eugenia caryophyllus", "syzygium aromaticum", "clove"),
        "Eugenol 75–88 %; Eugenyl Acetate 4–15 %; Beta-Caryophyllene 5–14 %",
        "EMA/HMPC/534946/2010, by a copy",
    ),
    Usual(
        ("cinnamomum zeylanicum bark", "cinnamomum verum bark", "cinnamon bark"),
        "Cinnamal 63–76 %; Eugenol 2–13 %; Linalool 0.2–7 %",
        "Hoard, citing Tisserand",
    ),
    Usual(
        ("cymbopogon flexuosus", "cymbopogon citratus", "cymbopogon schoenanthus", "lemongrass"),
        "Citral 65–85 %",
        "Merck Index and two pages",
    ),
    Usual(
        ("pelargonium graveolens", "geranium", "rose geranium"),
        "Citronellol 35–58 %",
        "ISO 4731 as quoted by Lis-Balchin",
    ),
    Usual(
        ("rosa damascena", "rose otto", "rose oil", "rose essential", "rose absolute"),
        "Citronellol 25–43 %; Geraniol 2–18 %",
        "J. Sci. Food Agric. 1994, 64(4)",
    ),
    Usual(
        ("eucalyptus globulus", "eucalyptus"), "Pinene ≤ 10.5 %; Limonene ≤ 12 %", "British Pharmacopoeia, as quoted"
    ),
    Usual(
        ("rosmarinus officinalis", "salvia rosmarinus", "rosemary"),
        "Limonene 2–2.6 %; Linalool 1.5–2.4 %; Camphor 7–12 %",
        "Perfumer & Flavorist, two oils",
    ),
    Usual(("santalum album", "sandalwood"), "Santalol 89–90 %", "Perfumer & Flavorist (Chana 1994)"),
    Usual(
        ("cymbopogon winterianus", "citronella"),
        "Geraniol 26 %; Citronellol 13 %",
        "Ind. Crops Prod. 94 (2016) 178, one oil",
    ),
)


def usually_brings(name: str) -> Usual | None:
    """Return what an essential oil usually brings; None for what no source was opened of."""
    plain = folded_name(REMARKS.sub(" ", name))
    return next((usual for usual in USUAL if plain.startswith(usual.stems)), None)
