"""The clean shop with three sets that share one item, a web shop, a stall and wholesale, built and recorded."""

from pathlib import Path

import pytest

from tests.cli.published import DAY, WEB, Told, copied
from tests.shops import clean_shop

ITEMS = """code,name,form,net,retail,cost,weight (g),size (mm),on hand,cautions,larger,upright
RR-B1,Sedge & Salt,bar soap,100 g,6.50,1.40,104,80 x 55 x 25,40,external-use;avoid-eyes,,no
RR-J1,Willow Bark,body butter,100 ml,9.00,2.10,180,70 x 70 x 60,25,external-use;avoid-eyes,,yes
RR-J2,Water Mint,body butter,100 ml,9.00,2.10,180,70 x 70 x 60,25,external-use;avoid-eyes,,yes
RR-M1,Little Willow,body butter,30 ml,4.00,0.95,80,50 x 50 x 46,30,external-use;avoid-eyes,RR-J1,yes
RR-K1,Reed Mace,bath salts,200 g,7.00,1.60,230,70 x 70 x 60,25,external-use;avoid-eyes,,yes
RR-K2,Bog Myrtle,bath salts,200 g,7.50,1.60,235,70 x 70 x 60,25,external-use;avoid-eyes,,yes
"""
SET = """code = "{code}"
name = "{name}"
theme = "{theme}"
season = "spring"
box = "{box}"

[[contents]]
item = "{first}"

[[contents]]
item = "RR-B1"
"""
BOX = """
[[box]]
code = "M"
inside = "170 x 130 x 80 mm"
weight = "70 g"
cost = "0.95"
minutes = 3
carton = { outside = "200 x 160 x 110 mm", weight = "95 g" }
"""


def three_sets(folder: Path) -> Path:
    """Make the shop: RRS-1 of bar and jar to choose, RRS-2 of salts in box M, RRS-3 of salts in box S."""
    clean = clean_shop(folder)
    packaging = (clean / "packaging.toml").read_text(encoding="utf-8")
    terms = (clean / "wholesale.toml").read_text(encoding="utf-8")
    noon = SET.format(code="RRS-2", name="Noon by the Sluice", theme="Heat on the stones.", box="M", first="RR-K1")
    dusk = SET.format(code="RRS-3", name="Dusk in the Reeds", theme="The herons come home.", box="S", first="RR-K2")
    changes = {
        "items.csv": ITEMS,
        "channels/web.toml": WEB,
        "packaging.toml": packaging.replace("\n[card]", f"{BOX}\n[card]"),
        "wholesale.toml": terms.replace('"RR-B1"]', '"RR-B1", "RRS-2", "RRS-3"]'),
        "sets/noon/set.toml": noon,
        "sets/noon/story.md": "Salts for the noon: {{ set.name }}.\n",
        "sets/dusk/set.toml": dusk,
        "sets/dusk/story.md": "Salts for the dusk: {{ set.name }}.\n",
    }
    return clean_shop(folder, changes)


def published(folder: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """Return the shop, built, its web shop and its line sheet recorded; nothing is recorded of the stall."""

    def make(place: Path) -> None:
        told = Told(three_sets(place), capsys)
        assert told.build() == 0, told.err
        for words in ("web", "wholesale"):
            assert told.run("record", words, "--today", DAY, "--at", "2026-11-01T10:00") == 0, told.err

    return copied("three sets", make, folder, capsys)


def outputs(shop: Path) -> dict[str, bytes]:
    """Return every file in out/ without the memory of the build."""
    made = (path for path in (shop / "out").rglob("*") if path.is_file() and not path.name.startswith("."))
    return {path.relative_to(shop / "out").as_posix(): path.read_bytes() for path in made}


def for_places(shop: Path) -> dict[str, bytes]:
    """Return the same without the proof, the owner's alone, which says what she began; and its line of the manifest."""
    made = outputs(shop)
    assert made.pop("proof.html")
    lines = made["manifest.json"].splitlines()
    proof = [line for line in lines if b'"path": "proof.html"' in line]
    assert len(proof) == 1
    made["manifest.json"] = b"\n".join(line for line in lines if line not in proof and b'"sha256": ' not in line[:12])
    return made


# The same shop with all that its other files are used for: a channel in French, one that counts postage, one of plain
# text, a stall with a printed list, labels and cards, percentages of ingredients.

FRENCH = """name = "Own web shop in French"
make = ["feed", "listings"]
language = "fr"
feed = "csv"
text = "html"
"""
PLAIN = """name = "Fair online"
make = ["feed", "listings"]
feed = "csv"
text = "plain"
zone = "home"
"""
STALL = """name = "Market stall"
make = ["price list", "printed list"]
text = "markdown"
"""
WORDS = """[forms]
"bar soap" = { name = "savon", one = "un savon", many = "savons" }
"body butter" = { name = "beurre corporel", many = "beurres corporels" }
"bath salts" = { name = "sels de bain", one = "un sachet de sels de bain", many = "sachets de sels de bain" }

[items]
RR-B1 = "Carex et sel"
RR-J1 = "Saule"
RR-J2 = "Menthe"
RR-K1 = "Massette"
RR-K2 = "Myrte"

[seasons]
spring = "printemps"
"""
SET_IN_FRENCH = """
[sets.{code}]
name = "{name}"
theme = "Une heure calme."
"""
CHOICE_IN_FRENCH = """keywords = ["cadeau"]
slots = { Jar = "Pot" }
"""
INGREDIENTS = {
    "RR-B1": "Sodium Olivate, Aqua, Parfum",
    "RR-J1": "Glycerin, Tocopherol",
    "RR-J2": "Glycerin, Tocopherol",
    "RR-M1": "Glycerin, Tocopherol",
    "RR-K1": "Sodium Chloride, Reed oil, Parfum",
    "RR-K2": "Sodium Chloride",
}
PERCENTAGES = """item,ingredient,CAS,percent
RR-B1,Sodium Olivate,,70
RR-K1,Sodium Chloride,,97
RR-K1,Reed oil,,3
Reed oil,Parfum,,50
RR-K2,Sodium Chloride,,100
"""
RATES = """service,zone,over (g),up to (g),price
Packet,home,0,500,2.05
Packet,home,500,2000,3.10
"""
PAPERS = """
[labels]
size = "140 x 200 mm"
sheet = "A4"
languages = ["en", "fr"]

[cards]
size = "88 x 56 mm"
"""


def whole_shop(folder: Path) -> Path:
    """Make the shop of three sets with every kind of file beside them; nothing in it must be mended."""
    shop = three_sets(folder)
    items = (shop / "items.csv").read_text(encoding="utf-8").splitlines()
    rows = [f'{row},"{INGREDIENTS[row.partition(",")[0]]}"' for row in items[1:]]
    french = WORDS + "".join(
        SET_IN_FRENCH.format(code=code, name=name)
        for code, name in (("RRS-1", "Aube"), ("RRS-2", "Midi"), ("RRS-3", "Brune"))
    )
    changes: dict[str, str | bytes | None] = {
        "items.csv": "\n".join((f"{items[0]},ingredients", *rows)) + "\n",
        "shop.toml": (shop / "shop.toml").read_text(encoding="utf-8") + PAPERS,
        "channels/fair.toml": PLAIN,
        "channels/stall.toml": STALL,
        "channels/web_fr.toml": FRENCH,
        "languages/fr.toml": french.replace("\n[sets.RRS-2]", f"{CHOICE_IN_FRENCH}\n[sets.RRS-2]"),
        "ingredients.csv": PERCENTAGES,
        "rates.csv": RATES,
    }
    for name in ("dawn", "noon", "dusk"):
        changes[f"sets/{name}/story.fr.md"] = "Pour {{ set.name }}.\n"
    for path, content in changes.items():
        file = shop / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(str(content), encoding="utf-8")
    return shop
