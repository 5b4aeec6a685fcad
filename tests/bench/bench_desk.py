"""What a page of the desk waits for: from a file changed on the disk to the new figures and messages of that set.

And from a field that was left to the page that follows, with its figures, messages and listings' stamps.
Without a browser, CPU seconds of the process beside the wall's clock; nothing but the page's own thread is counted
where the machine is idle. Run with `python -m tests.bench.bench_desk`.
"""

import datetime
import re
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from listkit.desk.state import ShopState
from tests.bench.synthetic_folder import synthetic_folder
from tests.desk.desks import form, opened

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


def main() -> None:
    for sets in (20, 200):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name) / "shop"
            folder.mkdir()
            measure(folder, sets)


if __name__ == "__main__":
    main()
