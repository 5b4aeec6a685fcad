"""A shop in ounces, inches and dollars: 23 invented items, five sets with small pictures, two places and wholesale.

Everything is as its owner would write it; nothing in its files is in grams or millimetres.
"""

import io
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from PIL import Image, ImageDraw

from tests.shops import with_files

TODAY: Final = "2027-04-01"
_SOAP: Final = "Sodium Olivate, Sodium Cocoate, Water, Glycerin"
_BUTTER: Final = "Butyrospermum Parkii Butter, Helianthus Annuus Seed Oil, Beeswax"
_SALT: Final = "Magnesium Sulfate, Maris Sal, Sodium Bicarbonate"
_SKIN: Final = "external-use;avoid-eyes"

SHOP: Final = """name = "Dustwillow Porch"
currency = "USD"
country = "US"
language = "en-US"
measure = "customary"
website = "https://dustwillow.example"
address = "Dustwillow Porch, 12 Wash Road, Dry Alder ZZ 00000"
email = "hello@dustwillow.example"

[prices]
uplift = "1.50"
wage = "18.00"
wholesale = "50 %"
lowest_margin = "10 %"

[packing]
clearance = "1/8 in"
loose_below = "15 %"
spare_height = "2 in"
most_on_fragile = "2 oz"

[freight]
divisor = "139 in³/lb"
sides = "up"
step = "1 oz"
near = "4 oz"
packet = { together = "36 in", longest = "24 in", weight = "13 oz" }

[labels]
size = "5 1/2 x 4 1/2 in"
sheet = "letter landscape"
faces = 2

[cards]
size = "3 1/2 x 2 in"
sheet = "letter"
unit_price = { weight = "oz", volume = "fl oz" }

[[season]]
name = "spring"
on_sale = 2027-02-01
off_sale = 2027-06-30
"""

PACKAGING: Final = """[[box]]
code = "S"
inside = "6 1/2 x 5 x 2 3/4 in"
outside = "6 5/8 x 5 1/8 x 2 7/8 in"
weight = "2 oz"
cost = "0.95"
minutes = 4
fill = { weight = "0.4 oz", cost = "0.10" }
carton = { outside = "7 1/2 x 6 x 4 in", weight = "3 oz" }

[[box]]
code = "L"
inside = "10 x 7 1/2 x 3 in"
outside = "10 1/8 x 7 5/8 x 3 1/8 in"
weight = "5 oz"
cost = "1.75"
minutes = 6
fill = { weight = "0.8 oz", cost = "0.22" }
carton = { outside = "11 1/4 x 8 1/2 x 4 1/4 in", weight = "6 oz" }

[card]
weight = "0.5 oz"
cost = "0.18"

[[case]]
code = "C1"
inside = "20 x 16 x 12 in"
outside = "20 1/2 x 16 1/2 x 12 1/2 in"
weight = "1 lb 4 oz"
"""

RATES: Final = """service,zone,over (oz),up to (oz),price,packet
Wash Post,home,0,8,4.10,yes
Wash Post,home,8,13,5.20,yes
Wash Freight,home,0,32,8.40,no
Wash Freight,home,32,80,11.90,no
"""

WHOLESALE: Final = """season = "spring"
issued = 2027-01-15
valid_until = 2027-07-14
opening = "150"
reorder = "75"
carriage = "at cost"
carriage_free = "350"
case_pack = { items = 6, sets = 2 }

[[group]]
title = "Spring sets"
lines = ["DWS-1", "DWS-2", "DWS-3"]

[[group]]
title = "Single pieces"
lines = ["DW-B1", "DW-B2", "DW-T1", "DW-S1"]
"""

STOCKISTS: Final = """code,name,email,address,area,sheet,since
ST-1,The Tin Lantern,hello@tin-lantern.example,"4 Depot Street, Dry Alder ZZ 00000",Dry Alder,,2026-02-01
"""

WEB: Final = """name = "Own web shop"
make = ["feed", "listings", "photos"]
feed = "csv"
rows = "variant"
text = "html"
fee = "3 %"
photo_address = "https://dustwillow.example/photos/"
listing_address = "https://dustwillow.example/sets/"

[dialect]
weight = "oz"
length = "in"

[[crop]]
name = "page"
ratio = "4:3"
width = 160
smallest = 80
"""

STALL: Final = """name = "Saturday stall"
make = ["price list"]
fee = "2 %"
"""

_HEAD: Final = (
    "code,name,scent,form,net,container,retail,cost,weight (oz),size (in),shape,"
    "shelf life (months),ingredients,cautions,on hand"
)
# What pieces of one kind have in common, behind code, name and scent.
_BAR: Final = f'bar soap,4.5 oz,,8.00,2.10,4.75,3 1/4 x 2 1/4 x 1,box,18,"{_SOAP}",{_SKIN}'
_JAR: Final = f'body butter,4 fl oz,jar,14.00,3.60,7.25,2 3/4 x 2 3/4 x 2 1/2,cylinder,12,"{_BUTTER}",{_SKIN}'
_POUCH: Final = f'bath salts,8 oz,pouch,10.00,2.20,8.5,4 x 3 x 2,box,24,"{_SALT}",{_SKIN}'
_STICK: Final = f'lip balm,0.15 oz,tube,4.00,0.90,0.4,2 5/8 x 5/8 x 5/8,box,18,"{_BUTTER}",{_SKIN}'
_ROWS: Final = (
    f"DW-B1,Wash Sage,sage,{_BAR}",
    f"DW-B2,Porch Cedar,cedar,{_BAR}",
    f"DW-B3,Dust Rose,rose,{_BAR}",
    f"DW-B4,Alder Smoke,smoke,{_BAR}",
    f"DW-B5,Lemon Creek,lemon,{_BAR}",
    f"DW-B6,Oat & Honey,honey,{_BAR}",
    f"DW-B7,Plain Tallow,,{_BAR}",
    f"DW-B8,Night Jasmine,jasmine,{_BAR}",
    f"DW-T1,Sage Whip,sage,{_JAR}",
    f"DW-T2,Rose Whip,rose,{_JAR}",
    f"DW-T3,Cedar Whip,cedar,{_JAR}",
    f"DW-T4,Oat Whip,oat,{_JAR}",
    f"DW-S1,Dry Wash,sage,{_POUCH}",
    f"DW-S2,Rose Flat,rose,{_POUCH}",
    f"DW-S3,Cedar Flat,cedar,{_POUCH}",
    f"DW-S4,Plain Flat,,{_POUCH}",
    f"DW-L1,Honey Stick,honey,{_STICK}",
    f"DW-L2,Mint Stick,mint,{_STICK}",
    f"DW-L3,Plain Stick,,{_STICK}",
    "DW-D1,Juniper Dish,,soap dish,4 x 3 x 1/2 in,,9.00,3.00,5.5,4 x 3 x 1/2,box,,none,",
    "DW-C1,Loofah Round,,scrubber,1 piece,,5.00,1.10,0.6,3 x 3 x 1,box,,none,",
    "DW-W1,Linen Cloth,,wash cloth,10 x 10 in,,7.00,2.00,1.25,5 x 3 x 1/2,box,,none,",
    "DW-K1,Porch Candle,cedar,candle,6 oz,tin,12.00,3.10,7.5,2 7/8 x 2 7/8 x 2,cylinder,,none,candle",
)


def _set(code: str, name: str, theme: str, box: str, contents: tuple[str, ...], *, more: str = "") -> str:
    """Return set.toml; of `contents` a bare code is one piece of an item, `more` the keys beside the usual ones."""
    usual = f'code = "{code}"\nname = "{name}"\ntheme = "{theme}"\nseason = "spring"\nbox = "{box}"\n{more}'
    keys = (entry if "=" in entry else f'item = "{entry}"' for entry in contents)
    return usual + "".join(f"\n[[contents]]\n{entry}\n" for entry in keys)


SETS: Final[Mapping[str, str]] = {
    "first-rain": _set(
        "DWS-1", "First Rain", "The smell of the wash after the first storm of the year.", "S",
        ("DW-B1", 'slot = "Jar"\nchoose = ["DW-T1", "DW-T2"]'),
        more='keywords = ["spring gift", "desert gift", "bath gift set"]\n',
    ),
    "long-porch": _set(
        "DWS-2", "Long Porch", "A slow evening with the boots off.", "L",
        ("DW-S1", 'item = "DW-B2"\nquantity = 2', "DW-D1", "DW-K1"),
    ),
    "dust-and-roses": _set(
        "DWS-3", "Dust and Roses", "What grows where nobody waters.", "smallest", ("DW-B3", "DW-L1")
    ),
    "two-sticks": _set(
        "DWS-4", "Two Sticks", "One for the truck and one for the house.", "none",
        ('slot = "Stick"\nchoose = ["DW-L1", "DW-L2", "DW-L3"]', "DW-W1"),
        more='carton = { outside = "6 x 4 x 2 in", weight = "1 oz" }\n',
    ),
    "wash-day": _set(
        "DWS-5", "Wash Day", "Everything for the tub but the water.", "L", ("DW-T3", "DW-S3", "DW-C1")
    ),
}  # fmt: skip
_STORY: Final = "{{ set.name }} holds {{ items }}, from {{ cheapest | in_currency }}.\n"


def items_csv() -> str:
    """Return her sheet: weights in ounces, sizes in inches."""
    return "\n".join([_HEAD, *(f"{row},40" for row in _ROWS)]) + "\n"


def files() -> dict[str, str | bytes]:
    """Return the whole folder by path."""
    texts: dict[str, str | bytes] = {
        "shop.toml": SHOP,
        "items.csv": items_csv(),
        "packaging.toml": PACKAGING,
        "rates.csv": RATES,
        "wholesale.toml": WHOLESALE,
        "stockists.csv": STOCKISTS,
        "channels/web_shop.toml": WEB,
        "channels/stall.toml": STALL,
    }
    for at, (folder, text) in enumerate(SETS.items()):
        texts |= {f"sets/{folder}/set.toml": text, f"sets/{folder}/story.md": _STORY}
        texts[f"sets/{folder}/photos/open-box.png"] = _picture(at)
    return texts


def ounce_shop(folder: Path, changes: Mapping[str, str] | None = None) -> Path:
    """Make the shop in `folder`; `changes` are paths with the text that stands there instead."""
    return with_files(folder, {**files(), **(changes or {})})


def _picture(number: int) -> bytes:
    """Return a picture of a box on a ground, no two alike."""
    picture = Image.new("RGB", (240, 180), (236, 226, 208))
    drawn = ImageDraw.Draw(picture)
    for at in range(4):
        left, top = 50 + 34 * at, 50 + (at * (number + 3) * 13) % 60
        drawn.rectangle(
            (left, top, left + 26, top + 40 + 6 * number), fill=(90 + 30 * at, 120 - 12 * number, 70 + 20 * number)
        )
    target = io.BytesIO()
    picture.save(target, "PNG")
    return target.getvalue()
