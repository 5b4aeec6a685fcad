"""Two pages of one desk at once, and pages that are left from before: none of them speaks of what the other shows.

What is kept between two requests, as a table whose columns are being looked at, is the desk's and not the page's.
"""

import re
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from listkit.actions import what_if
from listkit.actions.build import Built
from listkit.actions.learn import PLACE_KINDS
from listkit.cli import main
from listkit.desk import building, moves, shops, start, terms
from listkit.desk.changes import see
from listkit.desk.edits import Role, Target, look
from listkit.desk.item_codes import users_of
from listkit.desk.page import Desk, say
from listkit.desk.places import checked_now, place_files
from listkit.desk.saving import shown_name
from listkit.desk.shelf import TARGET, sheet_lines
from listkit.desk.state import Seen
from listkit.edit.starter import copy_starter
from listkit.ledger import store as ledger_store
from listkit.ledger.changes import Brake
from listkit.ledger.store import LEDGER, Stamp, records
from listkit.pipeline import Checked
from listkit.problem import BlockedError, FieldError
from listkit.write.print import Layout
from tests.desk.desks import form, hidden, opened, sure, text
from tests.shops import DEMO, clean_shop

Opened = tuple[TestClient, Desk, Path]
SAMPLES = {"one.csv": b"Titel,Preis\nRose,5.00\n", "two.csv": b"Preis,Titel\n5.00,Rose\n"}


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Opened]:
    folder = clean_shop(tmp_path / "shop")
    with opened(folder) as (client, opened_desk):
        yield client, opened_desk, folder


def test_what_was_chosen_for_one_sample_is_not_done_with_another(desk: Opened) -> None:
    client, opened_desk, folder = desk
    pages = [
        client.post("/places/new/sample", data=form(opened_desk, name="Fair"), files={"sample": (name, content)}).text
        for name, content in SAMPLES.items()
    ]
    chosen = {"name": "Fair", "column-0": "name", "column-1": "price"}
    for shown in ({}, hidden(pages[0])):
        answer = client.post("/places/new/columns", data=form(opened_desk, **shown, **chosen))
        assert answer.status_code == 422
        assert say("columns.moved") in text(answer.text)
        assert not (folder / "channels" / "fair.toml").exists()
    turned = {"name": "Fair", "column-0": "price", "column-1": "name"}
    client.post("/places/new/columns", data=form(opened_desk, **hidden(answer.text), **turned))
    assert (folder / "channels" / "fair.toml").exists()


def test_what_was_chosen_for_one_sheet_is_not_done_with_another(tmp_path: Path) -> None:
    with opened(tmp_path / "shop") as (client, opened_desk):
        pages = [
            client.post("/start/sheet", data=form(opened_desk), files={"sheet": (name, content)}).text
            for name, content in SAMPLES.items()
        ]
        stated = {"name": "Bee", "currency": "GBP", "country": "GB", "column-0": "name", "column-1": "retail"}
        for shown in ({}, hidden(pages[0])):
            answer = client.post("/start/columns", data=form(opened_desk, **shown, **stated))
            assert answer.status_code == 422
            assert say("columns.moved") in text(answer.text)
            assert opened_desk.state is None


def test_no_shop_is_made_within_the_one_that_is_open(desk: Opened) -> None:
    client, opened_desk, folder = desk
    before = sorted(folder.iterdir())
    for address in ("/start/small", "/start/columns"):
        stated = form(opened_desk, name="Other", currency="GBP", country="GB")
        answer = client.post(address, data=stated)
        assert answer.url.path == "/today"
        assert say("start.there") in text(answer.text)
    assert sorted(folder.iterdir()) == before
    assert opened_desk.folder == folder


def test_prices_are_not_written_over_a_sheet_that_is_saved_meanwhile(
    desk: Opened, monkeypatch: pytest.MonkeyPatch
) -> None:
    client, opened_desk, folder = desk
    sheet = folder / "items.csv"
    asked = form(opened_desk, way="all", share="5")
    page = client.post("/places/moves", data=asked).text
    real = what_if.changed_sheet

    def saved_meanwhile(*args: object) -> bytes:
        changed: bytes = real(*args)  # type: ignore[arg-type]
        sheet.write_bytes(sheet.read_bytes().replace(b"Sedge", b"Marsh"))
        return changed

    monkeypatch.setattr(moves, "changed_sheet", saved_meanwhile)
    answer = client.post("/places/moves", data={**asked, **hidden(page), "sure": sure(page)})
    assert answer.status_code == 409
    assert b"Marsh" in sheet.read_bytes()


def test_a_note_is_read_while_others_are_left(desk: Opened) -> None:
    _, opened_desk, _ = desk
    done, faults = threading.Event(), list[Exception]()

    def leave() -> None:
        while not done.is_set():
            opened_desk.note("said")

    threads = [threading.Thread(target=leave) for _ in range(3)]
    for thread in threads:
        thread.start()
    try:
        for _ in range(3_000):
            opened_desk.noted("0")
    except RuntimeError as fault:  # the deque was mutated during iteration
        faults.append(fault)
    done.set()
    for thread in threads:
        thread.join()
    assert not faults


def test_the_record_that_a_page_showed_is_taken_back_and_no_other(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    sheet = shop / "items.csv"
    for price in ("6.50", "6.60"):
        sheet.write_text(sheet.read_text(encoding="utf-8").replace("6.50", price), encoding="utf-8")
        assert main(["build", "--shop", str(shop)]) == 0
        assert main(["record", "stall", "--shop", str(shop)]) == 0
    with opened(shop) as (client, opened_desk):
        opened_desk.shop_state.look()
        opened_desk.shop_state.full(wait=60)
        page = client.get("/place/stall/publish").text
        sent = form(opened_desk, record=re.findall(r'name="record" value="(\d+)"', page)[0])
        assert client.post("/place/stall/unpublish", data=sent).status_code == 200
        again = client.post("/place/stall/unpublish", data=sent)
        assert again.status_code == 409
        assert text(say("publish.moved")[1:]) in text(again.text)


def test_what_uses_an_item_is_found_however_its_file_is_written(tmp_path: Path) -> None:
    folder = clean_shop(tmp_path / "shop")
    (folder / "recipes.csv").write_bytes((DEMO / "recipes.csv").read_text(encoding="utf-8").encode("utf-16"))
    with opened(folder) as (_, opened_desk):
        files = look(folder)
        lines = sheet_lines(files, see(folder, TARGET, files))
        code = "soap base"  # of the demo's recipes

        def users() -> list[str]:
            return [name for name, _ in users_of(opened_desk, opened_desk.shop_state.look(), lines, code)]

        assert users() == ["recipes.csv"]
        (folder / "shop.toml").write_text(
            (folder / "shop.toml").read_text(encoding="utf-8")
            + '\n[[accepted]]\ncheck = "band-missed"\nat = "\\u0073oap base"\nreason = "so"\n',
            encoding="utf-8",
        )
        assert users() == ["shop.toml", "recipes.csv"]


def test_a_hidden_file_is_no_place(desk: Opened) -> None:
    _, opened_desk, folder = desk
    (folder / "channels" / "._web.toml").write_bytes(b"\x00\x05\x16\x07")
    assert "._web" not in place_files(opened_desk)


def test_the_corrections_of_a_comparison_are_not_those_of_another_that_replaced_it(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    assert main(["build", "--shop", str(shop)]) == 0
    rows = (shop / "out/stall/price-list.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    exports = ["".join([*rows[:at], rows[at].replace("16.50", "99.00"), *rows[at + 1 :]]).encode() for at in (1, 2)]
    corrections = shop / "out/stall/changes/corrections.csv"
    with opened(shop) as (client, opened_desk):
        pages = [
            client.post("/place/stall/compare", data=form(opened_desk), files={"export": ("theirs.csv", export)}).text
            for export in exports
        ]
        for sent in ({}, hidden(pages[0])):
            answer = client.post("/place/stall/corrections", data=form(opened_desk, **sent))
            assert answer.status_code == 409
            assert say("compare.moved") in text(answer.text)
            assert not corrections.exists()
        assert client.post("/place/stall/corrections", data=form(opened_desk, **hidden(answer.text))).status_code == 200
        assert rows[2].split(",")[0] in corrections.read_text(encoding="utf-8")


@pytest.mark.parametrize("record", ["", "-1", "x"])
def test_a_page_that_names_no_record_takes_none_back(tmp_path: Path, record: str) -> None:
    shop = clean_shop(tmp_path / "shop")
    assert main(["build", "--shop", str(shop)]) == 0
    assert main(["record", "stall", "--shop", str(shop)]) == 0
    with opened(shop) as (client, opened_desk):
        answer = client.post("/place/stall/unpublish", data=form(opened_desk, record=record))
        assert text(say("publish.moved")[1:]) in text(answer.text)
    assert len(records(shop / LEDGER, "stall")) == 1


def test_a_record_that_comes_between_the_look_and_the_taking_back_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shop = clean_shop(tmp_path / "shop")
    assert main(["build", "--shop", str(shop)]) == 0
    assert main(["record", "stall", "--shop", str(shop)]) == 0
    (first,) = records(shop / LEDGER, "stall")
    real = ledger_store._amending

    def recorded_meanwhile(path: Path, channel: str, stamp: Stamp, wait: float) -> object:
        monkeypatch.setattr(ledger_store, "_amending", real)
        later = Stamp("2099-01-01T00:00:00+00:00")
        with real(path, channel, later, wait) as (connection, _):
            ledger_store._add(connection, channel, later)
        return real(path, channel, stamp, wait)

    with opened(shop) as (client, opened_desk):
        monkeypatch.setattr(ledger_store, "_amending", recorded_meanwhile)
        answer = client.post("/place/stall/unpublish", data=form(opened_desk, record=str(first.number)))
        assert text(say("publish.moved")[1:]) in text(answer.text)
    assert len(records(shop / LEDGER, "stall")) == 2


def test_a_place_that_is_made_leaves_the_sample_of_another_page(desk: Opened) -> None:
    client, opened_desk, _ = desk
    client.post(
        "/places/new/sample", data=form(opened_desk, name="Fair"), files={"sample": ("a.csv", SAMPLES["one.csv"])}
    )
    kept = opened_desk.sample
    client.post("/places/new", data=form(opened_desk, name="Stand", kind=next(iter(PLACE_KINDS))))
    assert kept is not None
    assert opened_desk.sample is kept


def test_two_pages_that_begin_at_once_make_one_shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    at_work, go, made = threading.Event(), threading.Event(), list[Path]()
    real = copy_starter

    def held_up(template: Path, folder: Path, stated: dict[str, str]) -> None:
        made.append(folder)
        at_work.set()
        assert go.wait(30)
        real(template, folder, stated)

    monkeypatch.setattr(start, "copy_starter", held_up)
    monkeypatch.setattr(start, "make_shop_around", lambda read, folder, decided: made.append(folder))
    stated = {"name": "Bee", "currency": "GBP", "country": "GB"}
    with opened(tmp_path / "shop") as (client, opened_desk), ThreadPoolExecutor(2) as pool:
        page = client.post(
            "/start/sheet", data=form(opened_desk), files={"sheet": ("one.csv", SAMPLES["one.csv"])}
        ).text
        waits = Waits(start._MAKING)
        monkeypatch.setattr(start, "_MAKING", waits)
        small = pool.submit(client.post, "/start/small", data=form(opened_desk, **stated))
        assert at_work.wait(30)
        waits.asked.clear()
        chosen = {**stated, "column-0": "name", "column-1": "retail"}
        own = pool.submit(client.post, "/start/columns", data=form(opened_desk, **{**hidden(page), **chosen}))
        assert waits.asked.wait(30)
        go.set()
        assert text(say("start.there")) in text(own.result(60).text)
        assert small.result(60).url.path == "/today"
        assert made == [opened_desk.folder]


class Waits:
    """A lock that says when it is asked for."""

    def __init__(self, lock: threading.Lock) -> None:
        self.lock, self.asked = lock, threading.Event()

    def __enter__(self) -> None:
        self.asked.set()
        self.lock.acquire()

    def __exit__(self, *_: object) -> None:
        self.lock.release()


def test_the_shop_that_was_open_before_is_let_go(desk: Opened) -> None:
    _, opened_desk, folder = desk
    before = opened_desk.shop_state
    opened_desk.open_shop(folder)
    before._checker.join(30)
    assert not before._checker.is_alive()


def brakes_of(*codes: str) -> tuple[tuple[str, Brake], ...]:
    return tuple(("web", Brake("price-leaps", code, f"{code} leaps.")) for code in codes)


def test_a_leap_that_came_after_the_page_brakes_the_build_again(desk: Opened, monkeypatch: pytest.MonkeyPatch) -> None:
    client, opened_desk, _ = desk
    leaps, built = [brakes_of("A"), brakes_of("A", "B"), brakes_of("A", "B")], list[bool]()

    def braked(*_: object, accept: bool, **__: object) -> Built:
        built.append(accept)
        return Built(None, brakes=() if accept else leaps.pop(0))

    monkeypatch.setattr(building, "build_unless_braked", braked)
    accepted: list[str] = []
    for _ in range(3):
        sent = {"accept": accepted[-1]} if accepted else {}
        client.post("/build", data=form(opened_desk, **sent))
        thread = opened_desk.builder._thread
        assert thread is not None
        thread.join(60)
        page = client.get("/build").text
        accepted += re.findall(r'name="accept" value="(\w+)"', page)
    assert built == [False, False, False, True]


def test_a_build_has_not_ended_before_the_shop_is_read_anew(desk: Opened, monkeypatch: pytest.MonkeyPatch) -> None:
    _, opened_desk, _ = desk
    state, builder, running = opened_desk.shop_state, opened_desk.builder, list[bool]()
    real = state.again

    def again() -> None:
        running.append(builder.running)
        real()

    monkeypatch.setattr(state, "again", again)
    monkeypatch.setattr(building, "build_unless_braked", lambda *_, **__: Built(None))
    assert builder.start(state)
    assert builder._thread is not None
    builder._thread.join(60)
    assert running == [True]
    assert not builder.running


def test_a_build_for_which_the_system_has_no_thread_may_be_begun_again(
    desk: Opened, monkeypatch: pytest.MonkeyPatch
) -> None:
    client, opened_desk, _ = desk

    def none_left(_: threading.Thread) -> None:
        raise RuntimeError("can't start new thread")

    with monkeypatch.context() as at_limit:
        at_limit.setattr(threading.Thread, "start", none_left)
        with pytest.raises(BlockedError):
            opened_desk.builder.start(opened_desk.shop_state)
    assert not opened_desk.builder.running
    assert client.get("/build").status_code == 200


def test_no_build_begins_once_the_desk_ends(desk: Opened) -> None:
    _, opened_desk, _ = desk
    opened_desk.builder.end(1)
    assert not opened_desk.builder.start(opened_desk.shop_state)


def test_prices_that_changed_while_the_page_was_made_are_not_moved_unseen(
    desk: Opened, monkeypatch: pytest.MonkeyPatch
) -> None:
    client, opened_desk, folder = desk
    sheet, real = folder / "items.csv", checked_now

    def saved_after(of: Desk) -> Checked:
        monkeypatch.setattr(moves, "checked_now", real)
        checked = real(of)
        sheet.write_bytes(sheet.read_bytes().replace(b"6.50", b"7.50"))
        return checked

    monkeypatch.setattr(moves, "checked_now", saved_after)
    asked = form(opened_desk, way="all", share="5")
    page = client.post("/places/moves", data=asked).text
    now = sheet.read_bytes()
    assert b"7.50" in now
    client.post("/places/moves", data={**asked, **hidden(page), "sure": sure(page)})
    assert sheet.read_bytes() == now


def put_stockists(folder: Path) -> None:
    (folder / "stockists.csv").write_text("code,name,sheet\nMOON,The Moon,\n", encoding="utf-8")


def put_labels(folder: Path) -> None:
    put_name(folder / "shop.toml", '\n[labels]\nsize = "80 x 50 mm"\ncolumns = 2\nrows = 5\n')


def put_name(file: Path, more: str = "") -> None:
    """Give what a file is of another name."""
    changed = re.sub(r'(?m)^name = "', 'name = "Other ', file.read_text(encoding="utf-8"), count=1)
    file.write_text(changed + more, encoding="utf-8")


def put_box(folder: Path) -> None:
    file = folder / "packaging.toml"
    file.write_text(file.read_text(encoding="utf-8").replace('code = "', 'code = "N', 1), encoding="utf-8")


def put_prices(folder: Path) -> None:
    file = folder / "items.csv"
    file.write_text(file.read_text(encoding="utf-8").replace("6.50", "7.50"), encoding="utf-8")


def put_terms(folder: Path) -> None:
    file = folder / "wholesale.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("0", "1", 1), encoding="utf-8")


def put_focus(folder: Path) -> None:
    file = folder / "sets/dawn/set.toml"
    photo = next(each.name for each in sorted((file.parent / "photos").iterdir()))
    entry = f'\n[[photos]]\nfile = "{photo}"\nfocus = [0.111, 0.1, 0.9, 0.9]\n'
    file.write_text(re.sub(r"(?s)\n\[\[photos\]\].*", "\n", file.read_text(encoding="utf-8")) + entry, encoding="utf-8")


def put_set(folder: Path) -> None:
    put_name(folder / "sets/dawn/set.toml")


def put_place(folder: Path) -> None:
    put_name(folder / "channels/stall.toml")


OF_SET, OF_PLACE = Target(Role.SET, "RRS-1"), Target(Role.CHANNEL, "stall")


@pytest.mark.parametrize(
    ("address", "target", "changes"),
    [
        ("/place/stall", OF_PLACE, put_place),
        ("/place/stall/columns", OF_PLACE, put_place),
        ("/place/stall/delete", OF_PLACE, put_place),
        ("/print/measure", Target(Role.SHOP), put_labels),
        ("/sets/RRS-1/delete", OF_SET, put_set),
        ("/sets/RRS-1/items?q=so", OF_SET, put_set),
        ("/sets/RRS-1/photos", OF_SET, put_focus),
        ("/shelf", TARGET, put_prices),
        ("/shelf/boxes", Target(Role.PACKAGING), put_box),
        ("/shelf/item?line=2", TARGET, put_prices),
        ("/shop", Target(Role.SHOP), lambda folder: put_name(folder / "shop.toml")),
        ("/shops", shops.STOCKISTS, put_stockists),
        ("/shops/terms", Target(Role.WHOLESALE), put_terms),
    ],
)
def test_a_page_never_gives_a_digest_of_what_it_does_not_show(
    desk: Opened, monkeypatch: pytest.MonkeyPatch, address: str, target: Target, changes: Callable[[Path], None]
) -> None:
    client, opened_desk, folder = desk
    state, name, file = opened_desk.shop_state, shown_name(target), see(folder, target)
    real, looks = state.look, list[Seen]()

    def page_changed_after(number: int) -> str:
        """Return the page, for which the file is another one as soon as it has looked so often."""

        def look() -> Seen:
            looks.append(real())
            if len(looks) == number:
                changes(folder)
            return looks[-1]

        looks.clear()
        with monkeypatch.context() as meanwhile:
            meanwhile.setattr(state, "look", look)
            return str(client.get(address).text)

    assert hidden(page_changed_after(0))[name] == file.digest
    for number in range(1, len(looks) + 1):
        page = page_changed_after(number)
        assert see(folder, target).digest != file.digest
        if hidden(page)[name] != file.digest:
            assert seen_on(page) == seen_on(client.get(address).text)
        rewritten(folder / file.path, file.content)


def rewritten(file: Path, content: bytes) -> None:
    """Put a file back as it was; nothing where there was none."""
    if content:
        file.write_bytes(content)
    else:
        file.unlink()


def seen_on(page: str) -> object:
    """Return what a page shows, in its texts and fields, but for remarks that come once all is checked."""
    return re.findall(r"<h1.*?</h1>|<p class=\"lead\".*?</p>|<input[^>]*>", page)


def test_a_paper_that_is_being_made_holds_up_no_other_and_is_made_once(monkeypatch: pytest.MonkeyPatch) -> None:
    begun, go, made = threading.Event(), threading.Event(), list[tuple[str, int]]()

    def slow(layout: Layout, _: object, *, ppi: int) -> tuple[bytes, ...]:
        made.append((layout.facts, ppi))
        if layout.facts == "slow":
            begun.set()
            assert go.wait(30)
        return (f"{layout.facts} {ppi}".encode(),)

    monkeypatch.setattr(terms, "page_pictures", slow)
    pages, papers = terms.PagePictures(), {name: Layout((), name) for name in ("slow", "other")}
    kept = pages.of(papers["other"], ())[0]
    with ThreadPoolExecutor(2) as pool:
        first = pool.submit(pages.of, papers["slow"], ())
        assert begun.wait(30)
        waits = Waits(pages._begun[digest_in(pages)]._lock)
        pages._begun[digest_in(pages)]._lock = waits  # type: ignore[assignment]
        second = pool.submit(pages.of, papers["slow"], ())
        assert waits.asked.wait(30)
        assert pages.page(kept, 1) == b"other 80"
        assert pages.page(kept, 1, large=True) == b"other 150"
        assert pages.of(papers["other"], ()) == (kept, 1)
        go.set()
        assert first.result(30) == second.result(30)
    assert made == [("other", 80), ("slow", 80), ("other", 150)]


def digest_in(pages: terms.PagePictures) -> str:
    """Return the paper that is being made."""
    (digest,) = pages._begun
    return digest


def test_a_paper_that_could_not_be_made_is_begun_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object, ppi: int) -> tuple[bytes, ...]:
        raise FieldError(f"no pages of {ppi}")

    pages, paper = terms.PagePictures(), Layout((), "words")
    with monkeypatch.context() as broken:
        broken.setattr(terms, "page_pictures", fails)
        with pytest.raises(FieldError):
            pages.of(paper, ())
    monkeypatch.setattr(terms, "page_pictures", lambda *_, ppi: (b"page",))
    digest, count = pages.of(paper, ())
    assert (count, pages.count(digest), pages.page(digest, 2)) == (1, 1, None)
