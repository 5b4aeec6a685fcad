"""What a page of the desk waits for: from a file changed on the disk to the new figures and messages of that set.

And from a field that was left to the page that follows, with its figures, messages and listings' stamps. Then a place
of 10,000 rows: a page of its table, and an export of all of them that is dropped in, until what differs is shown.
Without a browser, CPU seconds of the process beside the wall's clock; nothing but the page's own thread is counted
where the machine is idle. Then in a browser, from a key on a focus box to the last cut drawn anew, of a photo of 12
million pixels. Run with `python -m tests.bench.bench_desk`.
"""

import csv
import datetime
import io
import re
import tempfile
import time
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from statistics import median

from httpx import Response
from PIL import Image
from playwright.sync_api import sync_playwright

from listkit.actions.facts import table_columns
from listkit.desk.app import DeskServer
from listkit.desk.feed import PAGE
from listkit.desk.state import ShopState
from listkit.fields import FIELDS
from listkit.listing.rows import feed_rows
from tests.bench.synthetic_folder import synthetic_folder
from tests.desk.desks import CHROMIUM, NOW, form, opened
from tests.shops import small_demo

DAY = datetime.date(2027, 2, 1)


def best(work: Callable[[], object], times: int = 5) -> tuple[float, float]:
    """Return the least milliseconds that some work takes, of this thread and by the clock."""
    took = []
    for _ in range(times):
        began, clock = time.thread_time(), time.perf_counter()
        work()
        took.append(((time.thread_time() - began) * 1000, (time.perf_counter() - clock) * 1000))
    return min(took)


def measure(folder: Path, sets: int) -> None:
    """Print what looks at a shop of so many sets take."""
    synthetic_folder(folder, sets, photos=1)
    state = ShopState(folder, folder / "out", lambda: DAY)
    began = time.perf_counter()
    state.look()
    print(f"{sets} sets: first look {time.perf_counter() - began:.2f} s, photos unmeasured")
    state.look(measured=True)
    state.full(wait=600)
    state.end()  # what the thread behind it takes is not a page's
    file = next(iter(sorted(folder.glob("sets/*/set.toml"))))
    text, code = file.read_text(encoding="utf-8"), state.look().catalog.sets[0].code

    def change() -> None:
        file.write_text(f"{text}# {time.perf_counter_ns()}\n", encoding="utf-8")
        state.view(state.look(), code)

    print("  nothing moved, ms (thread, clock): {:.1f}, {:.1f}".format(*best(state.look)))
    print("  a set changed, its figures and messages, ms: {:.0f}, {:.0f}".format(*best(change)))
    print(
        "  a field left, the page that follows, ms (process, clock): {:.0f}, {:.0f}".format(*field_left(folder, code))
    )


def field_left(folder: Path, code: str, times: int = 3) -> tuple[float, float]:
    """Return the least milliseconds from sending a field to the page that follows; the check behind it is in it."""
    took = []
    with opened(folder) as (client, desk):
        state = desk.shop_state
        state.look(measured=True)
        for at in range(times):
            state.full(wait=600)
            page = client.get(f"/sets/{code}").text
            shown = re.findall(r'name="(shown/[^"]*)" value="([^"]*)"', page)
            fields = form(desk, **dict(shown), theme=f"The {at}th of these.")
            began, clock = time.process_time(), time.perf_counter()
            assert client.post(f"/sets/{code}/change", data=fields).status_code == 200
            took.append(((time.process_time() - began) * 1000, (time.perf_counter() - clock) * 1000))
    return min(took)


def measure_place(folder: Path, key: str = "web_shop") -> None:
    """Print what pages of a place's table take, and an export to be compared, in which a tenth of the prices differ."""
    with (folder / "shop.toml").open("a", encoding="utf-8") as settings:
        settings.write('\n[checks]\ningredient-nearly = "look at"\n')  # of one made-up item, which holds back its sets
    with opened(folder) as (client, desk):
        state = desk.shop_state
        state.look(measured=True)
        full = state.full(wait=600)
        assert full is not None
        assert full.checked is not None
        channel, listings = full.checked.channel(key), full.checked.listings_of(key)
        assert channel is not None
        columns = table_columns(channel, listings)
        price = next(at for at, column in enumerate(columns) if column.field is FIELDS["price"])
        rows = [list(row) for row in feed_rows(channel, listings, columns)]
        for row in rows[::10]:
            row[price] = f"{Decimal(row[price]) + 1}"
        written = io.StringIO(newline="")
        csv.writer(written).writerows([[column.heading for column in columns], *rows])
        export = written.getvalue().encode()
        print(f"a place of {len(rows):,} rows of {len(columns)} columns, ms (process, clock):")
        address = f"/place/{key}/feed?page={-(-len(rows) // PAGE)}"
        print(f"  the first page of its table: {_taken(lambda: client.get(f'/place/{key}/feed'))}")
        print(f"  the last: {_taken(lambda: client.get(address))}")
        sent = {"data": form(desk), "files": {"export": ("export.csv", export)}}
        took = _taken(lambda: client.post(f"/place/{key}/compare", **sent))
        print(f"  an export of {len(export) / 1e6:.1f} MB dropped in, what differs shown: {took}")
        assert len(desk.compared[key].compared.differences) == len(rows[::10])


def _taken(ask: Callable[[], Response], times: int = 3) -> str:
    took = []
    for _ in range(times):
        began, clock = time.process_time(), time.perf_counter()
        assert ask().status_code == 200
        took.append(((time.process_time() - began) * 1000, (time.perf_counter() - clock) * 1000))
    return "{:.0f}, {:.0f}".format(*min(took))


PRESSED = """async ([photo, key]) => {
  const before = photo.dataset.drawn, began = performance.now();
  photo.querySelector("svg .box").dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true }));
  while (photo.dataset.drawn === before || photo.dataset.cutting) await new Promise(requestAnimationFrame);
  return performance.now() - began;
}"""


def measure_crops(folder: Path) -> None:
    """Print how long cuts take to follow a focus box in a browser."""
    small_demo(folder)
    file = folder / "sets/first-nectar/photos/styled.jpg"
    with Image.open(file) as picture:
        grain = Image.effect_noise((4000, 3000), 24).convert("RGB")
        Image.blend(picture.resize((4000, 3000)), grain, 0.12).save(file, quality=92)
    server = DeskServer(folder, None, lambda: DAY, lambda: NOW)
    server.start()
    try:
        server.desk.shop_state.look(measured=True)
        server.desk.shop_state.full(wait=600)
        with sync_playwright() as playwright, playwright.chromium.launch(executable_path=str(CHROMIUM)) as browser:
            page = browser.new_page()
            page.goto(server.address)
            page.goto(f"{server.desk.keys.origin}/sets/OHS-1/photos")
            photo = page.locator("article.photo[data-name='styled.jpg']")
            page.wait_for_load_state("networkidle")
            keys = ("ArrowRight", "ArrowLeft") * 6
            took = [page.evaluate(PRESSED, [photo.element_handle(), key]) for key in keys]
            cuts = photo.locator(".crop").count()
    finally:
        server.end()
    print(f"a photo of {file.stat().st_size / 1e6:.1f} MB, 4000 x 3000, {cuts} cuts, from a key to the last one drawn:")
    print(f"  the first {took[0]:.0f} ms, then {median(took[1:]):.0f} ms, at most {max(took[1:]):.0f} ms")


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        measure_crops(Path(name) / "shop")
    for sets in (20, 200):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name) / "shop"
            folder.mkdir()
            measure(folder, sets)
            if sets == 200:
                measure_place(folder)


if __name__ == "__main__":
    main()
