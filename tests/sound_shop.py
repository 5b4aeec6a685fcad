"""A shop in order, of an invented maker of soaps, balms, candles, cloths and dishes: twelve sets, in two measures.

Everything is as a careful owner would write it, once in millimetres, grams and pounds, once in inches, ounces and
dollars; nothing is left out that a rule asks for.
"""

import random
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from PIL import Image, ImageDraw

from tests.shops import with_files

TODAY: Final = "2027-03-15"
_SOAP: Final = "Sodium Olivate, Sodium Cocoate, Aqua, Glycerin, Sodium Shea Butterate"
_BALM: Final = "Helianthus Annuus Seed Oil, Cera Alba, Butyrospermum Parkii Butter"
_WASH: Final = "external-use;avoid-eyes;nut-oils"
_RUB: Final = "external-use;keep-cool;nut-oils"
_FLAME: Final = "candle;keep-cool;keep-from-children"


@dataclass(frozen=True, slots=True)
class _Piece:
    """A row of the items table; what is in it, what it weighs and its sides each in both measures."""

    code: str
    name: str
    form: str
    prices: str  # retail, cost
    net: tuple[str, str]
    weight: tuple[str, str]
    size: tuple[str, str]
    ingredients: str = ""
    cautions: str = ""
    larger: str = ""
    keeps: str = "18"


_BAR: Final = (("95 g", "3.4 oz"), ("101 g", "3.6 oz"), ("78 x 54 x 26 mm", "3 x 2 1/8 x 1 in"))
_TIN: Final = (("50 ml", "1.6 oz"), ("74 g", "2.6 oz"), ("66 x 66 x 28 mm", "2 5/8 x 2 5/8 x 1 1/8 in"))
_FLAT: Final = (("15 ml", "0.5 oz"), ("26 g", "0.9 oz"), ("40 x 40 x 20 mm", "1 5/8 x 1 5/8 x 3/4 in"))
_WICK: Final = (("160 g", "5.6 oz"), ("212 g", "7.5 oz"), ("72 x 72 x 58 mm", "2 7/8 x 2 7/8 x 2 1/4 in"))
_ITEMS: Final = (
    _Piece("FS-S1", "Oat Straw", "bar soap", "6.50,1.30", *_BAR, f"{_SOAP}, Avena Sativa Kernel Flour", _WASH),
    _Piece("FS-S2", "Sea Kale", "bar soap", "6.50,1.35", *_BAR, f"{_SOAP}, Maris Sal, CI 77288", _WASH),
    _Piece(
        "FS-S3",
        "Hedge Mint",
        "bar soap",
        "6.80,1.45",
        *_BAR,
        f"{_SOAP}, Mentha Piperita Oil, Menthol, Limonene",
        f"{_WASH};essential-oils",
    ),
    _Piece("FS-B1", "Heather Honey", "hand balm", "9.50,2.20", *_TIN, f"{_BALM}, Mel", _RUB),
    _Piece(
        "FS-B2", "Plain Garden", "hand balm", "9.00,2.05", *_TIN, f"{_BALM}, Calendula Officinalis Flower Extract", _RUB
    ),
    _Piece("FS-M1", "Heather Honey", "mini hand balm", "4.50,1.00", *_FLAT, f"{_BALM}, Mel", _RUB, "FS-B1"),
    _Piece(
        "FS-L1", "Quince Paste", "lip balm", "4.80,0.95", *_FLAT, f"{_BALM}, Mel, Aroma", "lip-use;keep-cool;nut-oils"
    ),
    _Piece("FS-C1", "Hayloft", "candle in a tin", "14.00,3.60", *_WICK, "", _FLAME, keeps="24"),
    _Piece("FS-C2", "Fig Wall", "candle in a tin", "14.00,3.70", *_WICK, "", _FLAME, keeps="24"),
    _Piece(
        "FS-T1",
        "Undyed Linen",
        "face cloth",
        "7.50,2.40",
        ("1 pcs", "1 pcs"),
        ("38 g", "1.3 oz"),
        ("120 x 80 x 18 mm", "4 3/4 x 3 1/8 x 3/4 in"),
        keeps="",
    ),
    _Piece(
        "FS-D1",
        "Ash Glaze",
        "soap dish",
        "11.00,3.90",
        ("1 pcs", "1 pcs"),
        ("190 g", "6.7 oz"),
        ("120 x 85 x 24 mm", "4 3/4 x 3 3/8 x 1 in"),
        keeps="",
    ),
    _Piece(
        "FS-D2",
        "Slate Glaze",
        "soap dish",
        "11.00,3.90",
        ("1 pcs", "1 pcs"),
        ("190 g", "6.7 oz"),
        ("120 x 85 x 24 mm", "4 3/4 x 3 3/8 x 1 in"),
        keeps="",
    ),
)


_IN_ENGLISH: Final = {
    "CI 77288": "Chromium Oxide Greens",
    "Aqua": "Water",
    "Cera Alba": "Beeswax",
    "Maris Sal": "Sea Salt",
    "Mel": "Honey",
    "Aroma": "Flavor",
}


def _items(*, customary: bool) -> str:
    rows = [
        "code,name,form,retail,cost,net,weight,size,upright,on hand,shelf life (months),ingredients,cautions,larger"
    ]
    for each in _ITEMS:
        net, weight, size = (pair[customary] for pair in (each.net, each.weight, each.size))
        inside = each.ingredients.split(", ")
        inside = [_IN_ENGLISH.get(name, name) for name in inside] if customary else inside
        upright = "yes" if "candle" in each.form else "no"
        rows.append(
            f"{each.code},{each.name},{each.form},{each.prices},{net},{weight},{size},{upright},60,{each.keeps},"
            f'"{", ".join(inside)}",{each.cautions},{each.larger}'
        )
    return "\n".join(rows) + "\n"


_SHOP: Final = """name = "Fennow & Sparrick"
{measure}
website = "https://fennow.example"
address = "Fennow & Sparrick, The Old Sail Loft, 3 Staithe Row, Nether Fennow {place}"
email = "hello@fennow.example"

[prices]
uplift = "1.50"
wage = "13.00"
wholesale = "50 %"
lowest_margin = "20 %"

[packing]
loose_below = "10 %"
spare_height = "{spare}"

[labels]
size = "{label}"
sheet = "{sheet}"
faces = 2

[cards]
size = "{card}"

[[season]]
name = "spring"
on_sale = 2027-02-15
off_sale = 2027-05-31

[[season]]
name = "autumn"
on_sale = 2027-09-01
off_sale = 2027-11-30
"""
_METRIC: Final = {
    "measure": 'currency = "GBP"\nlanguage = "en-GB"\ncountry = "GB"',
    "place": "NF2 6XX",
    "spare": "50 mm",
    "label": "140 x 110 mm",
    "sheet": "A4 landscape",
    "card": "88 x 56 mm",
}
_CUSTOMARY: Final = {
    "measure": 'currency = "USD"\nlanguage = "en-US"\ncountry = "US"\nmeasure = "customary"',
    "place": "ZZ 00000",
    "spare": "2 in",
    "label": "5 1/2 x 4 1/4 in",
    "sheet": "letter landscape",
    "card": "3 1/2 x 2 in",
}
_PACKAGING: Final = (
    """[[box]]
code = "S"
inside = "170 x 125 x 62 mm"
weight = "55 g"
cost = "0.85"
minutes = 3
fill = { weight = "8 g", cost = "0.08" }
carton = { outside = "195 x 150 x 85 mm", weight = "80 g" }

[[box]]
code = "M"
inside = "220 x 160 x 66 mm"
weight = "90 g"
cost = "1.20"
minutes = 4
fill = { weight = "12 g", cost = "0.12" }
carton = { outside = "245 x 185 x 90 mm", weight = "110 g" }

[card]
weight = "8 g"
cost = "0.10"

[[case]]
code = "C1"
inside = "400 x 300 x 280 mm"
outside = "410 x 310 x 292 mm"
weight = "400 g"
""",
    """[[box]]
code = "S"
inside = "6 3/4 x 5 x 2 1/2 in"
weight = "2 oz"
cost = "0.85"
minutes = 3
fill = { weight = "0.3 oz", cost = "0.08" }
carton = { outside = "7 3/4 x 6 x 3 1/2 in", weight = "3 oz" }

[[box]]
code = "M"
inside = "8 3/4 x 6 1/4 x 2 5/8 in"
weight = "3.2 oz"
cost = "1.20"
minutes = 4
fill = { weight = "0.4 oz", cost = "0.12" }
carton = { outside = "9 3/4 x 7 1/4 x 3 1/2 in", weight = "4 oz" }

[card]
weight = "0.3 oz"
cost = "0.10"

[[case]]
code = "C1"
inside = "16 x 12 x 11 in"
outside = "16 1/4 x 12 1/4 x 11 1/2 in"
weight = "14 oz"
""",
)
_WHOLESALE: Final = """season = "spring"
issued = 2027-02-01
valid_until = 2027-07-31
opening = "150"
reorder = "80"
case_pack = { items = 6, sets = 4 }

[[group]]
title = "Sets"
lines = ["FSS-01", "FSS-02", "FSS-03"]

[[group]]
title = "Single pieces"
lines = ["FS-S1", "FS-S2", "FS-B1", "FS-C1"]
"""
_OWN: Final = """name = "Own shop"
make = ["feed", "listings", "photos"]
fee = "2 %"
fixed_fee = "0.20"

[limits]
title = 90
keywords = 10

[[crop]]
name = "page"
ratio = "4:3"
width = 900
smallest = 800
"""
_STALL: Final = 'name = "Staithe market"\nmake = ["price list"]\nfee = "1.5 %"\n'


@dataclass(frozen=True, slots=True)
class _Set:
    """A set: folder, name, theme, box, season, its items ("|" between options of a slot), its story."""

    folder: str
    name: str
    theme: str
    box: str
    contents: tuple[str, ...]
    story: str
    season: str = ""


_SETS: Final = (
    _Set(
        "basin-and-bar",
        "Basin & Bar",
        "What stands beside a basin, and looks well there.",
        "S",
        ("FS-S1|FS-S2|FS-S3", "FS-D1|FS-D2"),
        "Our basin is chipped and nobody minds, since the dish beside it is not. {{ set.name }} holds {{ items }}, and "
        "goes from {{ cheapest | in_currency }}.\n",
    ),
    _Set(
        "loft-evening",
        "Loft Evening",
        "One flame and something for tired hands.",
        "M",
        ("FS-C1|FS-C2", "FS-B1", "FS-T1"),
        "We sew until the window is dark, light one candle and talk. In the box are {{ items }}.\n",
    ),
    _Set(
        "gardeners-pocket",
        "Gardener's Pocket",
        "For the coat that hangs by the back door.",
        "S",
        ("FS-M1", "FS-L1", "FS-S3"),
        "Two small tins and a bar of mint soap, for whoever comes in last. {{ items }}, wrapped in straw.\n",
    ),
    _Set(
        "three-bars",
        "Three Bars",
        "Every soap we make, side by side.",
        "S",
        ("FS-S1", "FS-S2", "FS-S3"),
        "There are three, because that is how many moulds we own. {{ set.name }} is {{ items }}.\n",
    ),
    _Set(
        "two-flames",
        "Two Flames",
        "A pair of candles for one long table.",
        "M",
        ("FS-C1", "FS-C2"),
        "Hay at one end of the table, fig leaves at the other. The box holds {{ items }}.\n",
    ),
    _Set(
        "quiet-hands",
        "Quiet Hands",
        "A balm, a cloth, and an hour without either being needed.",
        "S",
        ("FS-B1|FS-B2", "FS-T1"),
        "Warm the cloth on the stove rail first. You get {{ items }}.\n",
    ),
    _Set(
        "new-house",
        "New House",
        "For the first shelf that is put up.",
        "M",
        ("FS-C2", "FS-S2", "FS-D1|FS-D2"),
        "A new house smells of paint until somebody lights something. We packed {{ items }}.\n",
    ),
    _Set(
        "little-thanks",
        "Little Thanks",
        "Small enough to hand over at a door.",
        "none",
        ("FS-M1", "FS-L1"),
        "Said quickly and meant for longer: {{ items }}, tied with tape.\n",
    ),
    _Set(
        "sea-wall",
        "Sea Wall",
        "Salt on the window, kale on the shingle.",
        "S",
        ("FS-S2", "FS-T1", "FS-L1"),
        "We walk the wall before work when the tide lets us. Inside are {{ items }}.\n",
    ),
    _Set(
        "the-guest-shelf",
        "The Guest Shelf",
        "What we put out when somebody stays.",
        "M",
        ("FS-S1", "FS-B2", "FS-T1", "FS-L1"),
        "Nobody has ever left it all behind. {{ set.name }} has {{ items }}.\n",
    ),
    _Set(
        "first-sowing",
        "First Sowing",
        "For the day when the seed tins come down.",
        "S",
        ("FS-S3", "FS-B2"),
        "Wash with the mint, then rub the balm in. {{ items }}, until {{ season.off_sale | date }}.\n",
        "spring",
    ),
    _Set(
        "hay-in",
        "Hay In",
        "For the evening after the last cart.",
        "M",
        ("FS-C1", "FS-S1", "FS-B1"),
        "The loft is full and the wind may do as it likes. In the box: {{ items }}.\n",
        "autumn",
    ),
)


def _set_toml(at: int, each: _Set) -> str:
    lines = [f'code = "FSS-{at:02}"', f'name = "{each.name}"', f'theme = "{each.theme}"', f'box = "{each.box}"']
    lines += [f'season = "{each.season}"'] if each.season else []
    lines += [f'keywords = ["{each.name.lower()}", "gift from a sail loft", "{_KIND[each.contents[0][:4]]} gift"]']
    names = {"FS-S": "Soap", "FS-D": "Dish", "FS-C": "Candle", "FS-B": "Balm"}
    for entry in each.contents:
        options = entry.split("|")
        lines += ["", "[[contents]]"]
        if len(options) == 1:
            lines.append(f'item = "{entry}"')
        else:
            lines += [f'slot = "{names[entry[:4]]}"', f"choose = {options}".replace("'", '"')]
    lines += ["", "[[photos]]", 'file = "whole.png"', 'shot = "open box"', f'alt = "All of {each.name} laid out"']
    lines += ["", "[[photos]]", 'file = "near.png"', 'shot = "detail"', f'alt = "{each.name} from close by"']
    return "\n".join(lines) + "\n"


_KIND: Final = {"FS-S": "soap", "FS-C": "candle", "FS-M": "balm", "FS-B": "hand balm"}


def _picture(file: Path, seed: int) -> None:
    """Draw a bright picture with sharp edges, unlike that of any other number."""
    chance = random.Random(seed)
    picture = Image.new("RGB", (960, 720), tuple(chance.randint(170, 240) for _ in range(3)))
    draw = ImageDraw.Draw(picture)
    for _ in range(9):
        left, top = chance.randint(0, 760), chance.randint(0, 560)
        sides = left, top, left + chance.randint(80, 200), top + chance.randint(80, 160)
        draw.rectangle(sides, fill=tuple(chance.randint(60, 230) for _ in range(3)))
    picture.save(file, compress_level=1)


def sound_shop(folder: Path, *, customary: bool = False) -> Path:
    """Write the shop, and return its folder."""
    words = _CUSTOMARY if customary else _METRIC
    texts = {
        "shop.toml": _SHOP.format(**words),
        "items.csv": _items(customary=customary),
        "packaging.toml": _PACKAGING[customary],
        "wholesale.toml": _WHOLESALE,
        "channels/own-shop.toml": _OWN,
        "channels/staithe-market.toml": _STALL,
    }
    for at, each in enumerate(_SETS, 1):
        texts[f"sets/{each.folder}/set.toml"] = _set_toml(at, each)
        texts[f"sets/{each.folder}/story.md"] = each.story
    with_files(folder, texts)
    for at, each in enumerate(_SETS):
        photos = folder / "sets" / each.folder / "photos"
        photos.mkdir()
        _picture(photos / "whole.png", 2 * at)
        _picture(photos / "near.png", 2 * at + 1)
    return folder
