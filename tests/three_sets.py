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
