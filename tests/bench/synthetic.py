"""A large shop made up for benchmarks: believable names, the same for the same arguments, no files.

Items are forms in many scents; a set holds two fixed items and one or two slots whose options multiply
to the variants asked for. Its pictures have facts but no pixels. GTINs begin with 952, the prefix for examples.
"""

import datetime
import math
import random
from decimal import Decimal
from itertools import product
from pathlib import Path
from typing import Any

from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.item import Item
from listkit.model.packaging import Packaging
from listkit.model.photo import FocusBox, PhotoFacts
from listkit.model.settings import Settings
from listkit.model.shop import Photo, SetFolder, Shop, Story, Templates
from listkit.read.templates import own_templates

CONTEXT = {"currency": "GBP"}
_TIMES = "Early Late First Last Quiet Slow Long Short Bright Soft Deep Still Far Near High Low Warm Cool Pale Dusky"
_PLACES = (
    "Orchard Harbour Meadow Lane Garden Cellar Hayloft Shore Ridge Valley Weir Copse Heath Marsh Quarry Ferry Kiln "
    "Sluice Stile Beacon Barn Brook Cairn Common Croft Dell Down Fell Ford Glade Grove Haven Holt Knoll Lea Mere Mill "
    "Moor Nook Paddock Pasture Pond Rill Shingle Spinney Strand Tarn Thicket Vale Wharf"
)
_SCENTS = (
    "rosemary lavender gorse quince clover linden juniper fennel mint chamomile verbena elderflower ginger basil thyme "
    "sage pear fig cedar pine honey heather bramble rhubarb nettle"
)
_SECONDS = "Salt Oat Wax Smoke Rain Rind Rye Clay Milk Moss Bark Ash Leaf Root Seed"
TIMES, PLACES, SCENTS, SECONDS = (words.split() for words in (_TIMES, _PLACES, _SCENTS, _SECONDS))
# form, container, net, retail, cost, grams, sides, cylinder, months
FORMS = (
    ("bar soap", "paper band", "110 g", "7.50", "1.85", 119, "86 x 58 x 28 mm", "box", 18),
    ("body butter", "glass jar", "100 ml", "16.00", "3.95", 232, "72 x 72 x 64 mm", "cylinder", 12),
    ("sugar scrub", "glass jar", "150 g", "14.00", "3.40", 296, "72 x 72 x 64 mm", "cylinder", 12),
    ("salt scrub", "glass jar", "160 g", "14.50", "3.45", 306, "72 x 72 x 64 mm", "cylinder", 12),
    ("hand balm", "tin", "50 g", "11.00", "2.60", 70, "68 x 68 x 25 mm", "cylinder", 24),
    ("lip balm", "tube", "4.5 g", "4.50", "1.05", 10, "18 x 18 x 70 mm", "cylinder", 24),
    ("bath salts", "pouch", "250 g", "10.00", "2.30", 264, "150 x 100 x 42 mm", "box", 24),
    ("bath oil", "bottle", "100 ml", "13.00", "3.10", 210, "48 x 48 x 120 mm", "cylinder", 18),
)
STORY = (
    "We first packed {{{{ set.name }}}} in the week when {scent} was cut at {place}, and half of it went home with the "
    "people who had come to help.\n\nIt holds {{{{ items }}}}. One of them smells of {scent}, and of nothing else; "
    "the rest is yours to settle on.\n\nBoxes run from {{{{ cheapest | in_currency }}}} to "
    "{{{{ dearest | in_currency }}}}, until {{{{ season.off_sale | date }}}}.\n"
)
SEASONS = (("spring", 2, 5), ("summer", 5, 8), ("autumn", 8, 10), ("winter", 10, 12))


def synthetic_shop(sets: int, variants: int = 50, seed: int = 7, *, items: int = 200, photos: int = 6) -> Shop:
    """Return a shop of `sets` sets with `variants` variants each, for one channel with an HTML text and two crops.

    It has `items` items, or as many more as the longest choice asks for, and `photos` photos a set.
    """
    chance = random.Random(seed)
    rows = _items(chance, max(-(-items // len(FORMS)), _shape(variants)[-1] if variants > 1 else 1))
    names = [f"{time} {place}" for time, place in product(TIMES, PLACES)]
    chance.shuffle(names)
    folders = tuple(
        _folder(
            number,
            f"{names[number % len(names)]}{' Again' * (number // len(names))}",
            rows,
            variants,
            chance,
            photos=photos,
        )
        for number in range(sets)
    )
    channel = Channel.model_validate(CHANNEL, context=CONTEXT).model_copy(update={"key": "web_shop"})
    return Shop(
        Path("synthetic"),
        Settings.model_validate(_settings(), context=CONTEXT),
        tuple(Item.model_validate(row, context=CONTEXT) for row in rows),
        Packaging.model_validate(PACKAGING, context=CONTEXT),
        folders,
        (),
        (channel,),
        templates=Templates(own_templates()),
    )


CHANNEL = {
    "name": "Web shop", "make": ["feed", "listings", "photos"], "fee": "2.3 %", "fixed_fee": "0.15",
    "photo_address": "https://shop.example/photos/", "listing_address": "https://shop.example/sets/",
    "limits": {"title": 96, "photos": 8},
    "crop": [{"name": "grid", "ratio": "1:1", "width": 1800}, {"name": "portrait", "ratio": "4:5", "width": 1600}],
}  # fmt: skip
PACKAGING = {
    "box": [{
        "code": "L", "inside": "300 x 200 x 130 mm", "weight": "138 g", "cost": "1.75", "minutes": 6,
        "fill": {"weight": "22 g", "cost": "0.22"}, "carton": {"outside": "330 x 230 x 160 mm", "weight": "165 g"},
    }],
    "card": {"weight": "14 g", "cost": "0.18"},
}  # fmt: skip


def _settings() -> dict[str, Any]:
    seasons = [
        {"name": name, "on_sale": datetime.date(2027, start, 1), "off_sale": datetime.date(2027, end, 28)}
        for name, start, end in SEASONS
    ]
    prices = {"uplift": "1.00", "wage": "18.00", "tax": "20 %"}
    stock = {"hold_back": 2}
    return {
        "name": "Tarn & Thimble", "currency": "GBP", "country": "GB", "website": "https://shop.example",
        "prices": prices, "stock": stock, "season": seasons,
    }  # fmt: skip


def _shape(variants: int) -> tuple[int, ...]:
    """Return how many options each slot has, so that they multiply to `variants`: 50 is 5 × 10."""
    least = next(size for size in range(math.isqrt(variants), 0, -1) if variants % size == 0)
    return tuple(size for size in (least, variants // least) if size > 1)


def _items(chance: random.Random, options: int) -> list[dict[str, Any]]:
    """Return so many items in every form, as far as the names reach."""
    pairs = [(scent, second) for second in SECONDS for scent in SCENTS][:options]
    return [
        {
            "code": f"TT-{form[0][:1].upper()}{kind}{number:03d}", "name": f"{scent.capitalize()} & {second}",
            "form": form[0], "scent": scent, "container": form[1], "net": form[2], "retail": form[3], "cost": form[4],
            "weight": f"{form[5] + number % 4} g", "size": form[6], "shape": form[7], "upright": form[7] == "cylinder",
            "fragile": form[1] == "glass jar", "shelf_life": f"{form[8]} months",
            "on_hand": chance.choice((0, 5, 12, 30, 60, 120)), "gtin": _gtin(kind * 1000 + number),
            "ingredients": f"Aqua, Glycerin, Cera Alba, {scent.capitalize()} Leaf Oil, Tocopherol, Linalool, Limonene",
            "cautions": ["external-use", "avoid-eyes", "essential-oils"],
        }
        for kind, form in enumerate(FORMS)
        for number, (scent, second) in enumerate(pairs)
    ]  # fmt: skip


def _gtin(number: int) -> str:
    """Return a GTIN-13 under the prefix for examples (GS1 General Specifications 7.9, the check digit; from memory)."""
    digits = f"952{number:09d}"
    total = sum(int(digit) * (3 if place % 2 else 1) for place, digit in enumerate(digits))
    return f"{digits}{-total % 10}"


def _folder(
    number: int, name: str, items: list[dict[str, Any]], variants: int, chance: random.Random, *, photos: int
) -> SetFolder:
    of_form = len(items) // len(FORMS)
    kinds = chance.sample(range(len(FORMS)), 4)
    by_kind = [[item["code"] for item in items[kind * of_form : (kind + 1) * of_form]] for kind in kinds]
    shape = _shape(variants)
    slots = [
        {"slot": slot, "choose": chance.sample(codes, size)}
        for slot, codes, size in zip(("Treat", "Scent"), by_kind[2:], shape, strict=False)
    ]
    fixed = [{"item": chance.choice(codes)} for codes in by_kind[:2]]
    scent = next(row["scent"] for row in items if row["code"] == fixed[0]["item"])
    folder = name.lower().replace(" ", "-")
    gift_set = {
        "code": f"TTS-{number + 1:05d}", "name": name, "theme": f"For the hour when the {scent} is brought in.",
        "season": SEASONS[number % len(SEASONS)][0], "box": "L",
        "keywords": ["gift set", f"{scent} gift", "bath gift", "thank you gift"], "contents": [*fixed, *slots],
    }  # fmt: skip
    options = [code for slot in slots for code in slot["choose"]]
    return SetFolder(
        folder,
        GiftSet.model_validate(gift_set, context=CONTEXT),
        (Story(f"sets/{folder}/story.md", "", STORY.format(scent=scent, place=name)),),
        tuple(_photo(folder, place, shot, options, chance) for place, shot in enumerate(SHOTS[:photos])),
    )


SHOTS = ("open box", "styled", "group", "detail", "detail", "in hand")


def _photo(folder: str, place: int, shot: str, options: list[str], chance: random.Random) -> Photo:
    found = FocusBox(Decimal("0.12"), Decimal("0.15"), Decimal("0.85"), Decimal("0.88"))
    facts = PhotoFacts(
        width=3600, height=2400, sha256=f"{chance.getrandbits(256):064x}", format="JPEG", mode="colour", profile="sRGB",
        orientation=1, frames=1, ground="#f4efe6", plain=True, found=found, how_found="ground", detail=found,
        sharpness=Decimal("0.8"), brightness=Decimal("0.75"), likeness=chance.getrandbits(256),
    )  # fmt: skip
    shows = (options[place % len(options)],) if options else ()
    return Photo(f"sets/{folder}/photos/{place}-{shot.replace(' ', '-')}.jpg", facts, shot, found, "", shows)
