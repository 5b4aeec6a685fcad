"""What a page of the desk waits for: from a file changed on the disk to the new figures and messages of that set.

Without a browser, CPU of the page's own thread beside the wall's clock, and of the process for the two answers that a
changed field gets, which tells most where others keep the machine busy. In a browser, from a field that was left to
its set's new figures and messages in place; of a sheet of 5,000 items, from a count that was sent to the page that
follows; and from a key on a focus box to the last cut drawn anew, of a photo of 12 million pixels. The memory is that
of the whole process, browser apart. Run with `python -m tests.bench.bench_desk`.

Of a place of 10,000 rows: a page of its table, and an export of all of them that is dropped in, until what differs is
shown; CPU of the process beside the wall's clock.
"""

import csv
import datetime
import io
import re
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from decimal import Decimal
from pathlib import Path
from statistics import median

from httpx import Response
from PIL import Image
from playwright.sync_api import Page, sync_playwright

from listkit.actions.facts import table_columns
from listkit.desk.app import DeskServer
from listkit.desk.feed import PAGE
from listkit.desk.page import PARTS_HEADER
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


def measure_answers(folder: Path) -> None:
    """Print what the two answers to a changed field take of the processor: what is in sight, then all the rest."""
    with opened(folder) as (client, desk):
        state = desk.shop_state
        address = f"/sets/{state.look(measured=True).catalog.sets[0].code}"
        state.full(wait=600)
        state.end()
        took = []
        for at in range(10):
            page = client.get(address).text
            stamps = {PARTS_HEADER: ",".join(re.findall(r'data-live="([^"]*)"', page))}
            fields = dict(re.findall(r'name="(shown[^"]*)" value="([^"]*)"', page)) | {"uplift": f"4.{10 + at}"}
            began = time.process_time()
            answer = client.post(f"{address}/change", data=form(desk, **fields), headers=stamps)
            between = time.process_time()
            rest = client.get(address, headers=stamps)
            took.append(((between - began) * 1000, (time.process_time() - between) * 1000))
            assert answer.json()["moved"]
            assert rest.json()["moved"]
    first, second = ([each[part] for each in took] for part in (0, 1))
    print(f"  a field's answers, ms of the processor: in sight {shown(first)}; the rest {shown(second)}")


@contextmanager
def browsed(folder: Path) -> Iterator[tuple[DeskServer, Page]]:
    """Yield a desk that has checked its shop, and a page of a browser that has opened it."""
    server = DeskServer(folder, None, lambda: DAY, lambda: NOW)
    server.start()
    try:
        server.desk.shop_state.look(measured=True)
        server.desk.shop_state.full(wait=600)
        with sync_playwright() as playwright, playwright.chromium.launch(executable_path=str(CHROMIUM)) as browser:
            page = browser.new_page()
            page.goto(server.address)
            yield server, page
    finally:
        server.end()


LEFT = """async ([name, value]) => {
  const field = document.getElementById(`f/${name}`), said = document.getElementById("said"), { body } = document;
  said.innerHTML = "";
  const told = new Promise((then) => new MutationObserver(then).observe(said, { childList: true }));
  const began = performance.now();
  field.value = value;
  field.dispatchEvent(new Event("change", { bubbles: true }));
  await told;
  body.getBoundingClientRect(); // laid out
  const first = performance.now() - began;
  while (body.classList.contains("saving"))
    await new Promise((then) => new MutationObserver(then).observe(body, { attributes: true }));
  body.getBoundingClientRect();
  return [first, performance.now() - began];
}"""


def measure_fields(folder: Path) -> None:
    """Print how long a set's page takes to follow a field that was left: one that moves prices, one that does not.

    First what is always in sight, with what is wrong anywhere, then all other figures, messages and listings.
    """
    with browsed(folder) as (server, page):
        state = server.desk.shop_state
        page.goto(f"{server.desk.keys.origin}/sets/{state.look().catalog.sets[0].code}")
        for name, texts in (("uplift", ("4.10", "4.20")), ("theme", ("One.", "Another."))):
            took = []
            for at in range(5):
                state.full(wait=600)
                page.wait_for_timeout(1500)  # the page takes the whole check in
                took.append(page.evaluate(LEFT, [name, texts[at % 2]]))
            first, every = ([each[part] for each in took] for part in (0, 1))
            print(f"  {name} left, in the browser, ms: in sight {shown(first)}; all {shown(every)}")
    print(f"  memory: {resident():.0f} MB")


def shown(took: list[float]) -> str:
    """Return the median without the first, the least and the most."""
    return f"{median(took[1:]):.0f}, {min(took):.0f}-{max(took):.0f}"


def resident() -> float:
    """Return the megabytes that this process holds now."""
    lines = Path("/proc/self/status").read_text(encoding="utf-8").splitlines()
    return next(int(line.split()[1]) / 1024 for line in lines if line.startswith("VmRSS"))


def measure_sheet(folder: Path, items: int = 5000) -> None:
    """Print how long a count takes to be saved in a sheet of many items, until the page that follows is there."""
    synthetic_folder(folder, 20, photos=1)
    sheet = folder / "items.csv"
    head, *rows = csv.reader(sheet.open(encoding="utf-8", newline=""))
    gtin = head.index("gtin")
    more = [list(rows[at % len(rows)]) for at in range(items - len(rows))]
    for at, row in enumerate(more):
        row[0], row[1], row[gtin] = f"MORE-{at:05}", f"{row[1]} {at}", ""
    with sheet.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([head, *rows, *more])
    with browsed(folder) as (server, page):
        took = []
        for at in range(6):
            page.goto(f"{server.desk.keys.origin}/shelf/item?row={rows[0][0]}")
            server.desk.shop_state.full(wait=600)
            page.fill("#on_hand", str(100 + at))
            began = time.perf_counter()
            page.locator("form[action='/shelf/item'] button.main").click()
            page.wait_for_selector(".note form", timeout=60_000)
            took.append((time.perf_counter() - began) * 1000)
    print(f"{items} items: a count saved, ms: {shown(took)}; {resident():.0f} MB")


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
        assert len(desk.compared[key][1].compared.differences) == len(rows[::10])


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
    with browsed(folder) as (server, page):
        page.goto(f"{server.desk.keys.origin}/sets/OHS-1/photos")
        photo = page.locator("article.photo[data-name='styled.jpg']")
        page.wait_for_load_state("networkidle")
        keys = ("ArrowRight", "ArrowLeft") * 6
        took = [page.evaluate(PRESSED, [photo.element_handle(), key]) for key in keys]
        cuts = photo.locator(".crop").count()
    print(f"a photo of {file.stat().st_size / 1e6:.1f} MB, 4000 x 3000, {cuts} cuts, from a key to the last one drawn:")
    print(f"  the first {took[0]:.0f} ms, then {median(took[1:]):.0f} ms, at most {max(took[1:]):.0f} ms")


def main() -> None:
    for sets in (20, 200):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name) / "shop"
            folder.mkdir()
            measure(folder, sets)
            measure_answers(folder)
            measure_fields(folder)
            if sets == 200:
                measure_place(folder)
    with tempfile.TemporaryDirectory() as name:
        measure_sheet(Path(name))
    with tempfile.TemporaryDirectory() as name:  # last, as what it decodes stays in memory
        measure_crops(Path(name) / "shop")


if __name__ == "__main__":
    main()
