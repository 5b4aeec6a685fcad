"""The cautions of a piece: those that its owner names, and those that its form and ingredients ask for.

Pure: the same row gives the same keys. What a rule chooses is printed even when the row does not name it, unless the
owner silences it and says why. listkit reminds and certifies nothing: local rules decide.
"""

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache, lru_cache
from typing import Final

from listkit.compute.materials import COLOURING, ESSENTIAL, FOAMING, MELTING, NUTS, PERFUME, SPIRIT, first_of
from listkit.model.item import Item, NoIngredients
from listkit.model.labels import Silenced
from listkit.problem import quoted
from listkit.units.net import Measure

# Which cautions a piece asks for, by what kind of thing it is, what is in it and whom it is for.
#
# One table, RULES, with the source of each line. The rules choose and remind; what a label must say is decided by the
# rules in force where the goods are sold, and where it matters by a licensed professional.

# Words of a form (or a name) that tell what a thing is, in English, French, German, Spanish and Italian; a word stands
# for all that begins with it, "=" asks for the whole word, "*" takes it behind other letters too, since
# German writes them in one ("Zuckerpeeling"). Words of the trade, from memory.
LIPS: Final = ("=lip", "=lips", "lèvre", "lippen", "=labial", "labbra")
SOAPS: Final = ("soap", "savon", "*seife", "jabón", "sapone", "shampoo", "shampooing", "champú", "shower", "douche")
SCRUBS: Final = ("scrub", "polish", "gommage", "*peeling", "exfoliant", "exfoliante", "scrubb")
BATHS: Final = (
    "bath",
    "=bain",
    "=bains",
    "bade",
    "*schaumbad",
    "=fußbad",
    "=milchbad",
    "=kräuterbad",
    "=sprudelbad",
    "=ölbad",
    "=baño",
    "=bagno",
    "badekugel",
    "bubble",
    "tub",
)
FIZZ: Final = ("bomb", "fizz", "fizzer", "effervescent", "badekugel", "bombe")
SALTS: Final = ("salts", "=sels", "badesalz", "=sales", "=sali")
SACHETS: Final = ("sachet", "powder", "poudre", "pulver", "=milk", "=tea", "soak")
LEAVE_ON: Final = (
    *("balm", "butter", "lotion", "cream", "serum", "salve", "=oil", "=oils", "mist", "perfume", "cologne", "deodor"),
    *("baume", "beurre", "crème", "lait", "huile", "parfum", "*balsam", "*creme", "*butter", "*salbe", "*lotion"),
    *("körperöl", "massageöl", "gesichtsöl", "bartöl", "=öl"),
    *("bálsamo", "manteca", "crema", "aceite", "balsamo", "burro", "olio"),
)
FLAMES: Final = (
    *("candle", "tea light", "tealight", "taper", "bougie", "*kerze", "teelicht", "=vela", "=velas", "candela"),
)
WAX_MELTS: Final = (
    *("wax melt", "wax tart", "wax cube", "scented wax", "melt cup", "fondant", "cire parfumée", "duftwachs"),
    *("schmelzwachs", "wachsmelt", "cera aromática", "cera perfumada", "cera profumata", "cialde di cera"),
)
INCENSE: Final = (
    *("incense", "joss", "smudge", "palo santo", "encens", "räucher", "sahumerio", "=incienso", "=inciensos"),
    *("=incenso", "=incensi"),
)
MATCHES: Final = (
    *("=match", "=matches", "matchbox", "matchstick", "matchbook", "safety match", "allumette", "streichh", "zündh"),
    *("cerilla", "=fósforo", "=fósforos", "fiammifer"),
)
SCENTS_A_ROOM: Final = (
    *("diffuser", "diffuseur", "room", "potpourri", "raumduft", "linen spray", *WAX_MELTS, *INCENSE),
)
HAIR_DYES: Final = (
    *("henna", "henné", "hair dye", "hair colour", "hair color", "beard dye", "brow dye", "coloration", "haarfarbe"),
    *("=tinte", "=tintes", "tinta per capelli", "bartfarbe"),
)
TANNING: Final = (
    *(
        "tanning",
        "suntan",
        "sun tan",
        "sun oil",
        "sun-kissed",
        "sun kissed",
        "bronzing oil",
        "huile solaire",
        "bräunung",
        "sonnenöl",
    ),
    *("bronceador", "abbronzante"),
)
SPRAYS: Final = ("spray", "mist", "perfume", "cologne", "diffuser", "parfum", "diffuseur", "brume", "raumduft")
TOYS: Final = ("toy", "charm", "bead", "figurine", "trinket", "jouet", "spielzeug", "juguete", "giocattolo")
# What is used in a bathroom and is no soap: it goes on no skin and does not foam.
THINGS: Final = (
    *("dish", "brush", "cloth", "towel", "=mat", "tray", "rack", "sponge", "loofah", "mitt", "pillow", "holder"),
    *("porte", "brosse", "serviette", "éponge", "schale", "bürste", "handtuch", "schwamm", "plato", "cepillo"),
)
# What is empty when it is sold: what it holds is its net content at most by name.
VESSELS: Final = frozenset(
    (
        *(
            "mug",
            "bowl",
            "cup",
            "plate",
            "platter",
            "saucer",
            "vase",
            "jug",
            "pitcher",
            "teapot",
            "planter",
            "flowerpot",
        ),
        *("beaker", "tumbler", "goblet", "carafe", "coaster", "trivet", "candlestick", "candleholder", "spoon"),
        *(
            "bol",
            "tasse",
            "assiette",
            "soucoupe",
            "cruche",
            "pichet",
            "becher",
            "teller",
            "krug",
            "kanne",
            "untersetzer",
        ),
        *("taza", "cuenco", "florero", "jarra", "maceta", "tazza", "ciotola", "piatto", "vaso", "brocca"),
    )
)
# What is shaped, or called, like something to eat.
LIKE_FOOD: Final = (
    *("cupcake", "doughnut", "donut", "lollipop", "popsicle", "ice cream", "ice lolly", "cake pop", "cake slice"),
    *("layer cake", "bath cake", "macaron", "macaroon", "truffle", "praline", "bonbon", "candy", "sweetie", "cookie"),
    *("biscuit", "brownie", "muffin", "fudge", "toffee", "marshmallow", "gummy", "gummies", "jelly", "=tart", "=tarts"),
    *("meringue", "waffle", "pancake", "croissant", "eclair", "pudding", "sundae", "milkshake", "chocolate bar"),
    *("truffe", "gâteau", "guimauve", "gaufre", "sucette", "makrone", "trüffel", "törtchen", "kuchen", "=keks"),
    *("=kekse", "lutscher", "waffel", "macarrón", "macarrones", "trufa", "pastelito", "galleta", "piruleta", "helado"),
    *("bombón", "bombones", "tartufo", "tartufi", "dolcetto", "pasticcino", "caramella", "caramelle", "biscott"),
    *("lecca lecca", "gelato", "cioccolatin"),
)
BABIES: Final = (
    *("baby", "babies", "newborn", "=infant", "=infants", "bébé", "nourrisson", "säugling", "=bebé", "=bebés"),
    *("neonato", "neonati", "=bimbo", "=bimbi"),
)
"""Words of a name that say it is for children under three, whatever its row says of an age."""

KINDS: Final = (
    *(*LIPS, *SOAPS, *SCRUBS, *BATHS, *FIZZ, *SALTS, *SACHETS, *LEAVE_ON, *FLAMES, *SCENTS_A_ROOM, *SPRAYS, *TOYS),
    *(*MATCHES, *HAIR_DYES, *TANNING, *THINGS, *LIKE_FOOD),
)
"""Every word that tells what a thing is."""


@dataclass(frozen=True, slots=True)
class CautionRule:
    """One line of the table: the key of a caution, and when a piece asks for it.

    `kinds` are words of its form, one of which it has; `unless` words that it has not; `by_name` looks in its name too.
    `contains` are kinds of material, one of which is in its ingredients. What is empty does not matter. A `grave` one
    is about fire, children or prescribed words: the owner names it or silences it, and unless silenced it is printed
    in any case.
    """

    key: str
    source: str
    kinds: tuple[str, ...] = ()
    unless: tuple[str, ...] = ()
    contains: tuple[str, ...] = ()
    by_name: bool = False
    grave: bool = False


_COMMON: Final = "common practice, no source"
_SKIN: Final = (*SOAPS, *SCRUBS, *BATHS, *FIZZ, *LEAVE_ON)
_HOLDS: Final = (
    "*holder",
    "candlestick",
    "*snuffer",
    "*burner",
    "*warmer",
    "porte",
    "halter",
    "éteignoir",
    "brûle",
    "portavela",
)
_FRAGRANT: Final = (PERFUME, ESSENTIAL)
_NOT_SKIN: Final = (*LIPS, *FLAMES, *MATCHES, *SCENTS_A_ROOM, *TOYS, *THINGS)
_TUB: Final = (*BATHS, *FIZZ)
# A foaming agent in what is added to a bath is looked for apart, because a yes or no of the owner goes before it.
RULES: Final = (
    CautionRule(
        "candle",
        "ASTM F2058-07(2021) and EN 15494:2019, both voluntary",
        kinds=FLAMES,
        unless=_HOLDS,
        grave=True,
    ),
    CautionRule("wax-melt", _COMMON, kinds=WAX_MELTS, unless=(*FLAMES, *_HOLDS), grave=True),
    CautionRule("incense", _COMMON, kinds=INCENSE, unless=_HOLDS, grave=True),
    CautionRule("matches", _COMMON, kinds=MATCHES, unless=_HOLDS, grave=True),
    CautionRule(
        "no-sunscreen",
        "21 CFR 740.19",
        kinds=TANNING,
        unless=(*SOAPS, *SCRUBS, *BATHS, *FIZZ, *_NOT_SKIN),
        by_name=True,
        grave=True,
    ),
    CautionRule("hair-dye", "21 CFR 73.2190(d) for henna", kinds=HAIR_DYES, unless=LIPS),
    CautionRule("small-parts", "16 CFR 1501.4", kinds=TOYS, grave=True),
    CautionRule("not-food", "Regulation (EU) 2023/988, Article 6, from memory", kinds=LIKE_FOOD, by_name=True),
    CautionRule("aerosol", "21 CFR 740.11(a), from memory", kinds=("aerosol", "aérosol", "spraydose"), grave=True),
    CautionRule("flammable", _COMMON, kinds=SPRAYS, contains=(SPIRIT,), grave=True),
    CautionRule("lip-use", _COMMON, kinds=LIPS),
    CautionRule("external-use", _COMMON, kinds=(*_SKIN, *HAIR_DYES, *TANNING), unless=_NOT_SKIN),
    CautionRule("room-only", _COMMON, kinds=SCENTS_A_ROOM, unless=FLAMES),
    CautionRule("avoid-eyes", _COMMON, kinds=(*SOAPS, *SCRUBS, *SALTS, *FIZZ), unless=_NOT_SKIN),
    CautionRule("slippery-tub", _COMMON, kinds=(*SCRUBS, *BATHS, *FIZZ), unless=(*SOAPS, *_NOT_SKIN)),
    CautionRule("keep-dry", _COMMON, kinds=(*SALTS, *FIZZ, *SCRUBS, *SACHETS), unless=(*SOAPS, *_NOT_SKIN)),
    CautionRule("patch-test", _COMMON, kinds=(*SCRUBS, *LEAVE_ON), unless=(*LIPS, *_TUB), contains=_FRAGRANT),
    CautionRule("keep-cool", _COMMON, kinds=(*LEAVE_ON, *LIPS, *FLAMES), contains=(MELTING,)),
    CautionRule("stains", _COMMON, kinds=_TUB, unless=(*SOAPS, *_NOT_SKIN), contains=(COLOURING,)),
    CautionRule("keep-from-children", _COMMON, kinds=(*FLAMES, *SALTS, *FIZZ), unless=(*SOAPS, *THINGS)),
    CautionRule(
        "essential-oils",
        "US Food and Drug Administration, Aromatherapy",
        unless=FLAMES,
        contains=(ESSENTIAL,),
    ),
    CautionRule("nut-oils", "informative only", unless=FLAMES, contains=(NUTS,)),
)


_PIECES: Final = 32_768
"""What is kept of pieces, for more than a table may hold: texts, labels and checks ask for the same ones in turn."""
ADULT: Final = 18 * 12
"""Months from which goods are for adults only."""
CHILD: Final = 13 * 12
"""Months below which goods are children's: designed for twelve years or younger (16 CFR 1200.2, from memory)."""
UNDER_THREE: Final = 36
"""Months below which a small part is forbidden (16 CFR 1501.2(a))."""
FOAMING_SOURCE: Final = "21 CFR 740.17"
FOAMS: Final = ("foaming-bath", "foaming-bath-child")
_OF_CHILDREN: Final = frozenset(
    ("candle", "wax-melt", "incense", "matches", "room-only", "aerosol", "adults-only", *FOAMS)
)
"""The keys whose sentence keeps children away itself."""
USUAL: Final = frozenset((*(rule.key for rule in RULES), *FOAMS, "adults-only", "not-tested"))
"""The keys that every file of cautions has a sentence for."""
_FOAM_BY_NAME: Final = ("bubble", "foam", "moussant", "schaumb", "badeschaum", "espuma", "bagnoschiuma")

_NEVER_FOAM: Final = (*SOAPS, *FLAMES, *MATCHES, *SCENTS_A_ROOM, *SALTS, *TOYS, *THINGS)


@dataclass(frozen=True, slots=True)
class Due:
    """A caution that a piece asks for: its key, what in the row asks for it, whose rule it is."""

    key: str
    because: str
    source: str
    grave: bool = False


def due(item: Item) -> tuple[Due, ...]:
    """Return the cautions that a piece asks for by rule, whatever its row names; grave ones first."""
    called = _called(f"{item.name} {item.form}")
    return _due(
        item.form, "" if item.form else item.name, called, item.ingredients, foams=item.foams, from_age=item.from_age
    )


@lru_cache(maxsize=_PIECES)
def _called(name: str) -> tuple[str, ...]:
    """Return the keys of the rules that go by names too, of those that ask for something by this one."""
    folded = _folded(name)
    return tuple(rule.key for rule in RULES if rule.by_name and _is_of(rule.kinds, rule.unless, folded))


@lru_cache(maxsize=_PIECES)
def _due(
    form: str, name: str, called: tuple[str, ...], ingredients: str, *, foams: bool | None, from_age: int | None
) -> tuple[Due, ...]:
    """Return what a piece asks for by its form, or its name where it has none, by how it is called and what is in it.

    Most pieces have these in common with others, so that it is found out once for all of them.
    """
    kind = _folded(form or name)
    of_kind = {rule.key for rule in RULES if not rule.by_name and _is_of(rule.kinds, rule.unless, kind)}
    asked = [_by_rule(rule, form, ingredients) for rule in RULES if rule.key in of_kind.union(called)]
    foam = _foam(kind, ingredients, foams, from_age)
    if foam and "avoid-eyes" not in of_kind:  # the prescribed words speak of skin alone, and foam gets into eyes
        asked.append(Due("avoid-eyes", foam.because, _COMMON))
    # Its words say how near children may come, so nothing else of theirs is said beside.
    kept = (caution for caution in asked if caution and not (foam and caution.key == "keep-from-children"))
    return tuple(sorted((*kept, *filter(None, (foam,))), key=lambda caution: not caution.grave))


@dataclass(frozen=True, slots=True)
class Silences:
    """The cautions that are silenced with a reason: of every item, and of single ones by their codes.

    With `own_words` sentences may be the owner's, of which nobody knows whether they keep children away.
    """

    everywhere: frozenset[str] = frozenset()
    of_item: Mapping[str, frozenset[str]] = field(default_factory=dict)
    own_words: bool = False


def silences_of(silenced: Iterable[Silenced], files: Iterable[str] = ()) -> Silences:
    """Return what is silenced by the items that it is left off; without a reason nothing is.

    `files` are the owner's own among the templates.
    """
    everywhere, of_item = set[str](), defaultdict[str, set[str]](set)
    for silence in silenced:
        if silence.reason.strip() and not silence.items:
            everywhere.add(silence.caution)
        for code in silence.items if silence.reason.strip() else ():
            of_item[code].add(silence.caution)
    by_code = {code: frozenset(keys) for code, keys in of_item.items()}
    return Silences(frozenset(everywhere), by_code, own_words=any(file.startswith("cautions/") for file in files))


_NO_SILENCES: Final = Silences()


def entries_of(item: Item, silences: Silences = _NO_SILENCES) -> tuple[str, ...]:
    """Return all that is printed with a piece: keys and the owner's own sentences.

    First what its row names, in its order, then what the rules add. A silenced key is left out, if a reason is given,
    and "keep from children" beside a longer one of ours that says so itself.
    """
    chosen = dict.fromkeys((*item.cautions, *(one.key for one in due(item) if not _told(one.key, item.cautions))))
    quiet = silences.of_item.get(item.code, frozenset()) | silences.everywhere
    kept = tuple(entry for entry in chosen if entry not in quiet)
    if silences.own_words or _OF_CHILDREN.isdisjoint(kept):
        return kept
    return tuple(entry for entry in kept if entry != "keep-from-children")


def _kind_text(item: Item) -> str:
    """Return what tells what kind of thing a piece is: its form, without one its name."""
    return _folded(item.form or item.name)


# What is made for the skin, by its form; things, flames and scents for a room are not.
_FOR_SKIN: Final = (*LIPS, *SOAPS, *SCRUBS, *BATHS, *FIZZ, *SALTS, *LEAVE_ON)
_OF_OR_IN: Final = frozenset(("in", "of", "with", "dans", "avec", "en", "con", "mit", "im"))
_OTHER_USES: Final = (*THINGS, *FLAMES, *MATCHES, *SCENTS_A_ROOM)


def is_for_the_skin(item: Item) -> bool:
    """Whether a sign says that a piece is a cosmetic: its form, what it is filled with, ingredients, a caution.

    A bowl, a cloth and a candle have none of them, whether or not a list names them.
    """
    text = _folded(f"{item.form} {item.name}")
    if isinstance(item.ingredients, NoIngredients) or _pattern(_OTHER_USES).search(text):
        return False
    empty = is_vessel(item.form or item.name)
    filled = not empty and item.net is not None and item.net.measure in (Measure.MASS, Measure.VOLUME)
    return filled or bool(item.ingredients or item.cautions) or bool(_pattern(_FOR_SKIN).search(text))


def is_vessel(form: str) -> bool:
    """Whether a form is that of a mug or a bowl, by its first or last word, and of nothing that is in it.

    >>> is_vessel("tea bowls"), is_vessel("tasse à thé"), is_vessel("balm in a mug")
    (True, True, False)
    """
    words = re.findall(r"[^\W\d_]+", _folded(form))
    ends = {end for word in {*words[:1], *words[-1:]} for end in (word, word.removesuffix("s"))}
    filled = not _OF_OR_IN.isdisjoint(words) and _pattern(_FOR_SKIN).search(_folded(form))
    return not VESSELS.isdisjoint(ends) and not filled


def unknown_kind(item: Item) -> tuple[str, ...]:
    """Return the words of a form that tells no kind of thing; () where it tells one, or there is none."""
    form = _folded(item.form)
    return () if _pattern(KINDS).search(form) or is_vessel(form) else tuple(re.findall(r"[^\W\d_]+", form))


def foam_unknown(item: Item) -> bool:
    """Whether a piece goes into the bath and nothing tells whether it foams: neither its row nor its ingredients."""
    return item.foams is None and not item.ingredients and _goes_in(item.foams, _kind_text(item))


def too_young(item: Item, entries: tuple[str, ...]) -> str:
    """Return the key of a caution that cannot be for the age stated; "" where there is none."""
    age = 0 if item.from_age is None and said_for_babies(item) else item.from_age
    if age is None or age >= UNDER_THREE:
        return ""
    return next((key for key in ("small-parts", "essential-oils") if key in entries), "")


def said_for_babies(item: Item) -> bool:
    """Whether a piece is called as something for babies."""
    return bool(_pattern(BABIES).search(_folded(f"{item.name} {item.form}")))


def scents_the_air(item: Item) -> bool:
    """Whether a piece is a scented mixture that is burned, melted or stood in a room: a candle of plain wax is none."""
    text = _kind_text(item)
    if _pattern((*_HOLDS, *THINGS)).search(text):
        return False
    if _pattern(SCENTS_A_ROOM).search(text) or not _pattern(FLAMES).search(text):
        return bool(_pattern(SCENTS_A_ROOM).search(text))
    inside = any(first_of(kind, item.ingredients) for kind in _FRAGRANT)
    return inside or (bool(item.scent) and not item.ingredients)  # "plain beeswax" is called a scent as well


def _told(key: str, named: tuple[str, ...]) -> bool:
    """Whether a row says a caution in another way: of the two for foam, the one that the owner names stands."""
    return key in FOAMS and any(other in named for other in FOAMS)


def _by_rule(rule: CautionRule, form: str, ingredients: str) -> Due | None:
    inside = next(filter(None, (first_of(kind, ingredients) for kind in rule.contains)), "")
    if rule.contains and not inside:
        return None
    because = f"its ingredient {quoted(inside)}" if inside else f"its form {quoted(form)}" if form else "its name"
    return Due(rule.key, because, rule.source, rule.grave)


@lru_cache(maxsize=65_536)  # many pieces have one form
def _is_of(kinds: tuple[str, ...], unless: tuple[str, ...], text: str) -> bool:
    """Whether a text names one of some kinds, where there are any, and none of those that they are not."""
    return bool(not kinds or _pattern(kinds).search(text)) and not (unless and _pattern(unless).search(text))


def _foam(kind: str, ingredients: str, foams: bool | None, from_age: int | None) -> Due | None:
    """What goes into the bath and foams (21 CFR 740.17(a)): by the owner's word, else by its form or what is in it."""
    agent = first_of(FOAMING, ingredients)
    made_to = _pattern(_FOAM_BY_NAME).search(kind)
    if not _goes_in(foams, kind) or not (foams or (foams is None and (agent or made_to))):
        return None
    if from_age is not None and from_age >= ADULT:
        return Due("adults-only", "it foams and is for adults", FOAMING_SOURCE, grave=True)
    key = "foaming-bath-child" if from_age is not None and from_age < CHILD else "foaming-bath"
    because = f"its ingredient {quoted(agent)}" if agent else "that it foams in the bath"
    return Due(key, because, FOAMING_SOURCE, grave=True)


def _goes_in(foams: bool | None, kind: str) -> bool:
    """Whether a piece is added to the bath: a bath bomb is, a soap for the bath is not."""
    bath = _pattern((*BATHS, *FIZZ, *_FOAM_BY_NAME)).search(kind)
    return bool(foams or (bath and not _pattern(_NEVER_FOAM).search(kind)))


@cache
def _pattern(stems: tuple[str, ...]) -> re.Pattern[str]:
    return re.compile("|".join(map(as_pattern, stems)))


def as_pattern(stem: str) -> str:
    """Return the pattern of a word of a form: what begins with it, "=" the whole word, "*" it anywhere in a word."""
    word = re.escape(_folded(stem.lstrip("=*")))
    return rf"\b{word}\b" if stem.startswith("=") else word if stem.startswith("*") else rf"\b{word}"


@lru_cache(maxsize=8192)
def _folded(text: str) -> str:
    if text.isascii():
        return text.lower()
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in decomposed if not unicodedata.combining(letter))
