"""What kind of thing a piece is: the words of a form (or a name) that tell it, in five languages.

Cautions, rules for the skin and allergens go by them. What the words do not know has no kind, which is no promise.
"""

import re
import unicodedata
from functools import cache, lru_cache
from typing import Final

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
    *(
        "dish",
        "brush",
        "cloth",
        "towel",
        "=mat",
        "=mats",
        "bathmat",
        "tray",
        "rack",
        "sponge",
        "loofah",
        "mitt",
        "glove",
    ),
    *("pillow", "holder", "soap saver", "soap bag", "soap sack", "soap stand", "soap dispenser", "shower cap"),
    *("bath caddy", "bath robe", "bathrobe", "porte", "brosse", "serviette", "éponge", "=gant", "=gants"),
    *("boîte à savon", "sac à savon", "filet à savon", "distributeur de savon", "tapis de bain", "bonnet de douche"),
    *("fleur de douche", "=peignoir", "sortie de bain", "schale", "seifenschale", "seifenablage", "seifenhalter"),
    *(
        "seifenbeutel",
        "seifensäckchen",
        "seifennetz",
        "seifendose",
        "seifenspender",
        "*bürste",
        "*handtuch",
        "=badetuch",
    ),
    *("duschtuch", "badematte", "badeteppich", "bademantel", "badehaube", "duschhaube", "*handschuh", "*schwamm"),
    *("*waschlappen", "*kissen", "plato", "cepillo", "jabonera", "=portajabón", "portajabones", "esponja", "toalla"),
    *("guante", "manopla", "alfombr", "almohad", "dispensador de jabón", "bolsa para jabón", "bolsita para jabón"),
    *("gorro de", "portasapone", "spugna", "spazzol", "asciugaman", "=guanto", "=guanti", "tappetino"),
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
    *("neonato", "neonati", "=bimbo", "=bimbi", "toddler", "tout-petit", "tout petit", "kleinkind"),
)
"""Words of a name that say it is for children under three, whatever its row says of an age."""

# What holds or puts out a flame is no candle.
HOLDS: Final = (
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
# What is made for the skin, by its form; things, flames and scents for a room are not.
FOR_SKIN: Final = (*LIPS, *SOAPS, *SCRUBS, *BATHS, *FIZZ, *SALTS, *LEAVE_ON)
KINDS: Final = (
    *(*LIPS, *SOAPS, *SCRUBS, *BATHS, *FIZZ, *SALTS, *SACHETS, *LEAVE_ON, *FLAMES, *SCENTS_A_ROOM, *SPRAYS, *TOYS),
    *(*MATCHES, *HAIR_DYES, *TANNING, *THINGS, *LIKE_FOOD),
)
"""Every word that tells what a thing is."""


@cache
def pattern(stems: tuple[str, ...]) -> re.Pattern[str]:
    """Return the pattern that finds any of some words in folded text."""
    return re.compile("|".join(map(as_pattern, stems)))


def as_pattern(stem: str) -> str:
    """Return the pattern of a word of a form: what begins with it, "=" the whole word, "*" it anywhere in a word.

    A small one may be written in one word with "mini", as in Spanish: "minimanteca".
    """
    word = re.escape(folded(stem.lstrip("=*")))
    return word if stem.startswith("*") else rf"\b(?:mini)?{word}" + r"\b" * stem.startswith("=")


@lru_cache(maxsize=8192)
def folded(text: str) -> str:
    """Return text as forms are compared: in small letters without accents."""
    if text.isascii():
        return text.lower()
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in decomposed if not unicodedata.combining(letter))


_OF_OR_IN: Final = frozenset(("in", "of", "with", "dans", "avec", "en", "con", "mit", "im"))


def is_vessel(form: str) -> bool:
    """Whether a form is that of a mug or a bowl, by its first or last word, and of nothing that is in it.

    >>> is_vessel("tea bowls"), is_vessel("tasse à thé"), is_vessel("balm in a mug")
    (True, True, False)
    """
    words = re.findall(r"[^\W\d_]+", folded(form))
    ends = {end for word in {*words[:1], *words[-1:]} for end in (word, word.removesuffix("s"))}
    filled = not _OF_OR_IN.isdisjoint(words) and pattern(FOR_SKIN).search(folded(form))
    return not VESSELS.isdisjoint(ends) and not filled
