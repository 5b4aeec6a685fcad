"""Makes the README's pictures anew from the demo shop: `python -m tests.tour [FOLDER]`; without a folder, in .tour/.

Pages and drawings are rasterised by a browser without a window (Debian: chromium); crops are laid side by side from
the very files that a build writes. Nothing is fetched. Look at each picture before it is committed.
"""

import datetime
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Final

from PIL import Image
from playwright.sync_api import sync_playwright

from listkit.cli import main
from listkit.desk.app import DeskServer

ROOT: Final = Path(__file__).parents[1]
DAY: Final = "2026-11-25"
CROPS: Final = (
    "first-nectar-styled-u01-grid",
    "lamp-lighting-styled-u01-grid",
    "long-evening-open-box-u02-grid",
    "pocket-hive-styled-m02-grid",
    "potting-bench-styled-s01-grid",
    "smoker-and-veil-open-box-s02-grid",
    "the-garden-bar-detail-b03-grid",
    "fete-day-pair-from-above-grid",
    "long-evening-detail-s03-grid",
    "potting-bench-group-s01-grid",
    "first-nectar-group-u01-grid",
    "lamp-lighting-open-box-u01-grid",
)
"""Pictures of the web shop that the README shows: all kinds of shots, every set but those with borrowed photos."""


def build_demo(folder: Path) -> Path:
    """Copy the demo shop below `folder`, build it, and return the copy."""
    shop = folder / "shop"
    shutil.copytree(ROOT / "demo_shop", shop, ignore=shutil.ignore_patterns("out", "ledger.sqlite3"))
    if main(["build", "--shop", str(shop), "--today", DAY]) != 0:
        raise SystemExit("The demo shop does not build.")
    return shop


def browser() -> str:
    """Return the path of the browser; SystemExit where there is none."""
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        raise SystemExit("The pictures need a browser without a window (Debian: chromium).")
    return path


def screenshot(page: Path, target: Path, *, width: int, height: int) -> None:
    """Rasterise the top of a local page into `target`, a PNG of width x height pixels."""
    command = [browser(), "--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"]
    command += [f"--window-size={width},{height}", f"--screenshot={target}", page.resolve().as_uri()]
    subprocess.run(command, check=True, capture_output=True, timeout=120)  # our own page, a fixed command


def lay_out(pictures: list[Path], target: Path, *, columns: int, side: int) -> None:
    """Lay square pictures side by side, `columns` in a row, each `side` pixels wide."""
    rows = -(-len(pictures) // columns)
    sheet = Image.new("RGB", (columns * side, rows * side), "white")
    for place, path in enumerate(pictures):
        with Image.open(path) as picture:
            tile = picture.convert("RGB").resize((side - 8, side - 8), Image.Resampling.LANCZOS)
        sheet.paste(tile, (place % columns * side + 4, place // columns * side + 4))
    sheet.save(target, quality=85)


def draw_boxes(shop: Path, folder: Path, target: Path) -> None:
    """Draw two sets in their boxes beside each other."""
    for code in ("OHS-1", "OHS-4"):
        main(["show", code, "--shop", str(shop), "--out", str(folder / f"{code}.svg")])
    page = folder / "boxes.html"
    drawings = "".join(f'<img src="{code}.svg" width="420">' for code in ("OHS-1", "OHS-4"))
    page.write_text(f'<body style="margin:0;display:flex">{drawings}')
    screenshot(page, target, width=840, height=620)


DESK: Final = (
    ("desk-sets", "/sets", 900), ("desk-set", "/sets/OHS-1", 1000), ("desk-photos", "/sets/OHS-1/photos", 1000),
    ("desk-terms", "/shops/terms", 900), ("desk-print", "/print?kind=price-cards&from=one", 900),
)  # fmt: skip
"""Pictures of the desk's rooms: their names, addresses and heights in pixels."""


def show_desk(shop: Path, target: Path) -> None:
    """Take a picture of each room of the desk over `shop`."""
    day, now = datetime.date.fromisoformat(DAY), datetime.datetime.fromisoformat(f"{DAY}T10:00:00+00:00")
    server = DeskServer(shop, None, lambda: day, lambda: now)
    server.start()
    try:
        state = server.desk.shop_state
        state.look(measured=True)
        state.full(wait=120)
        with sync_playwright() as playwright, playwright.chromium.launch(executable_path=browser()) as chromium:
            page = chromium.new_page(viewport={"width": 1180, "height": 900})
            page.goto(server.address)
            for name, address, height in DESK:
                page.set_viewport_size({"width": 1180, "height": height})
                page.goto(server.desk.keys.origin + address)
                page.wait_for_load_state("networkidle")
                page.screenshot(path=target / f"{name}.png")
    finally:
        server.end()


def make(target: Path) -> None:
    """Make every picture into the folder `target`."""
    target.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shop = build_demo(folder)
        web = shop / "out" / "web_shop"
        show_desk(shop, target)
        draw_boxes(shop, folder, target / "boxes.png")
        lay_out([web / "photos" / f"{crop}.jpg" for crop in CROPS], target / "crops.jpg", columns=4, side=300)
        screenshot(web / "photos" / "contact-sheet.html", target / "contact-sheet.png", width=900, height=640)
        screenshot(web / "listings" / "first-nectar.html", target / "listing.png", width=900, height=900)


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / ".tour")
