"""The shop in memory: read again where a file moved, figures kept where nothing did, checked behind the pages."""

import datetime
import os
import re
import shutil
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from listkit.check.alike import typed
from listkit.check.thresholds import without_accepted
from listkit.check.typed import _key
from listkit.compute.build import build_catalog
from listkit.compute.catalog import Catalog, SetFacts
from listkit.desk import state as desk_state
from listkit.desk.state import Full, Seen, ShopState, _alone, known_problems, stamps_of
from listkit.model.fields import SetStatus
from listkit.pipeline import Opened, check_listed, check_shop, list_catalog, open_shop
from listkit.problem import Place, Problem
from listkit.read import parts, toml_file
from listkit.shipped import shipped_templates
from tests.desk.desks import DAY
from tests.shops import PROBLEMS, broken_shop, clean_shop, small_demo


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_demo(tmp_path_factory.mktemp("demo") / "shop")


@pytest.fixture
def state(tmp_path: Path) -> Iterator[ShopState]:
    state = ShopState(clean_shop(tmp_path / "shop"), tmp_path / "shop/out", lambda: DAY)
    yield state
    state.end()


def touched(file: Path, old: str, new: str) -> None:
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new), encoding="utf-8")


def set_files(state: ShopState) -> list[Path]:
    return sorted(state.folder.glob("sets/*/set.toml"))


def checked_now(state: ShopState) -> Full:
    full = state.full(wait=60)
    assert full is not None
    assert full.fault == ""
    return full


def test_who_waits_for_the_whole_check_does_not_wait_for_the_pause_before_it(
    state: ShopState, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(desk_state, "_PAUSE", 3600.0)
    seen = state.look()
    assert state.full() is None
    assert checked_now(state).number == seen.number
    touched(set_files(state)[0], 'name = "', 'name = "New ')
    assert checked_now(state).number == seen.number, "nobody has looked since"
    assert state.look().number == checked_now(state).number == seen.number + 1


def test_nor_who_waits_for_photos_to_be_measured(demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(desk_state, "_PAUSE", 3600.0)
    monkeypatch.setattr(desk_state, "_PATIENCE", 60.0)
    state = ShopState(demo, tmp_path / "out", lambda: DAY)
    try:
        assert state.look().opened.waiting
        assert not state.look(measured=True).opened.waiting
    finally:
        state.end()


def test_what_nobody_waits_for_is_checked_after_the_pause(state: ShopState, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(desk_state, "_PAUSE", 0.05)
    seen, end = state.look(), time.monotonic() + 60
    while (full := state.full()) is None and time.monotonic() < end:
        time.sleep(0.02)
    assert full is not None
    assert full.number == seen.number


def test_nothing_is_read_again_while_nothing_moves(state: ShopState) -> None:
    assert state.look() is state.look()


def test_a_change_by_another_program_shows_at_the_next_look_and_other_sets_keep_their_figures(
    tmp_path: Path, demo: Path
) -> None:
    folder = shutil.copytree(demo, tmp_path / "demo")
    state = ShopState(folder, folder / "out", lambda: DAY)
    try:
        before = state.look(measured=True)
        touched(folder / "sets/pocket-hive/set.toml", 'name = "Pocket Hive"', 'name = "Pocket Hive, anew"')
        now = state.look()
        assert now.number > before.number
        assert [each.name for each in now.catalog.sets if each.code == "OHS-6"] == ["Pocket Hive, anew"]
        kept = [each.code for each, old in zip(now.catalog.sets, before.catalog.sets, strict=True) if each is old]
        assert len(kept) == len(now.catalog.sets) - 1
    finally:
        state.end()


def test_an_item_that_got_dearer_moves_the_sets_that_hold_it_and_no_others(tmp_path: Path, demo: Path) -> None:
    folder = shutil.copytree(demo, tmp_path / "demo")
    state = ShopState(folder, folder / "out", lambda: DAY)
    try:
        before = state.look(measured=True)
        shop = before.opened.shop
        item = next(item for item in shop.items if item.code == "OH-T01")
        holding = {each.code for each in before.catalog.sets if item in each.items}
        assert holding
        text = (folder / "items.csv").read_text(encoding="utf-8")
        row = next(line for line in text.splitlines() if line.startswith("OH-T01,"))
        (folder / "items.csv").write_text(
            text.replace(row, row.replace(str(item.retail.amount), "99.00", 1)), encoding="utf-8"
        )
        now = state.look()
        moved = {each.code for each, old in zip(now.catalog.sets, before.catalog.sets, strict=True) if each is not old}
        assert moved == holding
        whole = check_whole(folder, now)
        assert tuple(each for each in now.catalog.sets if not is_draft(each)) == whole
    finally:
        state.end()


def is_draft(facts: SetFacts) -> bool:
    """Whether a set is left out of what is published, and of the whole check's catalog."""
    return facts.source.gift_set.status is SetStatus.DRAFT


def check_whole(folder: Path, seen: Seen) -> object:
    """Return the sets that are on sale as they are computed with nothing taken over."""
    return check_shop(folder, seen.day, photos=seen.opened.photos).catalog.sets


def test_the_whole_check_is_that_of_the_command(state: ShopState) -> None:
    seen = state.look()
    full = checked_now(state)
    assert full.number == seen.number
    assert full.problems == check_shop(state.folder, DAY).problems


def test_a_view_of_one_set_has_the_listings_of_the_whole_check(tmp_path: Path, demo: Path) -> None:
    folder = shutil.copytree(demo, tmp_path / "demo")
    state = ShopState(folder, folder / "out", lambda: DAY)
    try:
        seen = state.look(measured=True)
        full = checked_now(state)
        checked = check_shop(folder, DAY, photos=seen.opened.photos)
        assert full.problems == checked.problems
        for facts in (each for each in seen.catalog.sets if not is_draft(each)):
            view = state.view(seen, facts.code)
            assert view is not None
            whole = {each.channel.key: each for each in checked.listings if each.facts.code == facts.code}
            assert {each.channel.key: (each.title, each.description) for each in view.listings} == {
                key: (each.title, each.description) for key, each in whole.items()
            }
            assert list(view.problems) == [each for each in full.problems if is_of_alone(each, facts)]
            assert state.view(seen, facts.code) is view
    finally:
        state.end()


def test_a_view_follows_the_full_size_of_a_mini_that_lies_in_the_set(tmp_path: Path, demo: Path) -> None:
    folder = shutil.copytree(demo, tmp_path / "demo")
    state = ShopState(folder, folder / "out", lambda: DAY)
    try:
        seen = state.look(measured=True)
        full = {item.code: item for item in seen.opened.shop.items}
        facts, mini = next(
            (facts, item)
            for facts in seen.catalog.sets
            for item in facts.items
            if item.larger and full[item.larger].net and full[item.larger] not in facts.items
        )
        before = state.view(seen, facts.code)
        text = (folder / "items.csv").read_text(encoding="utf-8")
        row = next(line for line in text.splitlines() if line.startswith(f"{mini.larger},"))
        net = next(cell for cell in row.split(",") if re.fullmatch(r"[\d.]+ (g|ml)", cell))
        put_anew(folder / "items.csv", text.replace(row, row.replace(net, f"7{net}", 1)))
        seen = state.look()
        assert seen.facts(facts.code) is facts, "its own figures are as they were"
        now, anew = state.view(seen, facts.code), list_catalog(_alone(facts, seen.catalog), seen.day)
        assert now is not None
        assert before is not None
        assert now.listings.listings == anew.listings.listings
        assert now.listings.listings != before.listings.listings
    finally:
        state.end()


def test_what_an_option_is_called_follows_the_words_of_the_shops_language(tmp_path: Path) -> None:
    folder = clean_shop(tmp_path / "shop")
    before = build_catalog(open_shop(folder).shop)
    words = (shipped_templates() / "words/en.toml").read_text(encoding="utf-8")
    turned = words.replace('alone = "{name} {form}"', 'alone = "{form} {name}"')
    assert turned != words
    (folder / "templates/words").mkdir(parents=True)
    (folder / "templates/words/en.toml").write_text(turned, encoding="utf-8")
    shop = open_shop(folder).shop
    now = build_catalog(shop, before=before)
    assert now.listed == build_catalog(shop).listed
    assert now.listed != before.listed


def is_of_alone(problem: Problem, facts: SetFacts) -> bool:
    """Whether a problem is of a set's folder, and not of several sets together."""
    together = ("stock-shared", "stock-promised-twice", "code-twice", "option-names")
    return problem.place.file.startswith(f"sets/{facts.source.folder}/") and problem.code not in together


@pytest.mark.parametrize("each_nth", [6, pytest.param(1, marks=pytest.mark.long)])  # all 240 shops take half a minute
def test_a_view_of_one_set_tells_what_the_whole_check_tells_of_its_folder(tmp_path: Path, each_nth: int) -> None:
    cases = sorted(folder for folder in PROBLEMS.iterdir() if folder.is_dir())
    sets = 0
    for case in cases[::each_nth]:
        shop = broken_shop(tmp_path / case.name, case)
        state = ShopState(shop, shop / "out", lambda: datetime.date(2027, 3, 1))
        state.end()
        seen = state.look()
        whole = check_listed(list_catalog(seen.catalog, seen.day), photos=seen.opened.photos)
        problems, _ = without_accepted(whole.problems, seen.opened.shop)
        for facts in seen.catalog.listed:
            view = state.view(seen, facts.code)
            assert view is not None
            assert list(view.problems) == [each for each in problems if is_of_alone(each, facts)], (case, facts.code)
            sets += 1
    assert sets > len(cases) / each_nth / 2


def test_many_new_photos_are_measured_behind_the_pages(tmp_path: Path, demo: Path) -> None:
    folder = shutil.copytree(demo, tmp_path / "demo")
    state = ShopState(folder, folder / "out", lambda: DAY)
    try:
        first = state.look()
        assert first.opened.waiting > 40
        views = [view for each in first.catalog.listed if (view := state.view(first, each.code)) is not None]
        told = [problem for view in views for problem in view.problems if problem.place.file.endswith((".jpg", ".png"))]
        assert views
        assert told == [], "of pictures that nobody has opened nothing is known"
        assert [facts.name for facts in first.catalog.sets] == [facts.name for facts in state.look().catalog.sets]
        measured = state.look(measured=True)
        assert measured.opened.waiting == 0
        assert all(photo.facts.sha256 for facts in measured.catalog.sets for photo in facts.source.photos)
        assert checked_now(state).problems == check_shop(folder, DAY, photos=measured.opened.photos).problems
    finally:
        state.end()


def test_the_day_that_turns_is_seen(tmp_path: Path) -> None:
    days = [DAY]
    state = ShopState(clean_shop(tmp_path / "shop"), tmp_path / "shop/out", lambda: days[-1])
    try:
        before = state.look()
        days.append(DAY + datetime.timedelta(1))
        assert state.look().day == DAY + datetime.timedelta(1)
        assert state.look().number == before.number + 1
    finally:
        state.end()


def test_a_shop_folder_that_is_removed_while_the_desk_runs_is_a_problem_and_comes_back(state: ShopState) -> None:
    before = state.look()
    away = state.folder.with_name("away")
    state.folder.rename(away)
    gone = state.look()
    assert gone.catalog.sets == ()
    assert gone.opened.problems
    assert checked_now(state).problems
    away.rename(state.folder)
    assert state.look().catalog.sets == before.catalog.sets


def test_out_hidden_files_and_links_do_not_count_as_parts_of_the_shop(state: ShopState) -> None:
    before = stamps_of(state.folder)
    (state.folder / "out").mkdir(exist_ok=True)
    (state.folder / "out/feed.csv").write_text("x", encoding="utf-8")
    (state.folder / ".listkit").mkdir()
    (state.folder / ".listkit/past.jsonl").write_text("x", encoding="utf-8")
    assert stamps_of(state.folder) == before
    os.symlink(state.folder.parent, state.folder / "around")
    assert set(stamps_of(state.folder)) == {*before, "around"}


def test_many_threads_may_look_while_files_change(state: ShopState) -> None:
    faults: list[BaseException] = []
    file = set_files(state)[0]
    text = file.read_text(encoding="utf-8")

    def look() -> None:
        try:
            for _ in range(15):
                seen = state.look()
                for facts in seen.catalog.sets:
                    state.view(seen, facts.code)
                state.full()
        except BaseException as fault:
            faults.append(fault)

    threads = [threading.Thread(target=look) for _ in range(6)]
    for thread in threads:
        thread.start()
    for at in range(10):
        file.write_text(f"{text}# {at}\n", encoding="utf-8")
    for thread in threads:
        thread.join(60)
    assert faults == []
    last = state.look()
    assert checked_now(state).number == last.number


def test_a_file_of_the_folder_that_cannot_be_parsed_is_told_and_the_rest_stays(state: ShopState) -> None:
    before = state.look()
    file = set_files(state)[0]
    file.write_text("name = [", encoding="utf-8")
    now = state.look()
    assert len(now.catalog.sets) == len(before.catalog.sets) - 1
    broken = file.relative_to(state.folder).as_posix()
    assert any(problem.place.file == broken for problem in now.opened.problems)
    shutil.rmtree(file.parent)
    assert all(problem.place.file != broken for problem in state.look().opened.problems)
    assert Place(broken) not in {problem.place for problem in state.look().opened.problems}


def test_what_the_files_show_is_known_though_the_whole_check_fails(
    state: ShopState, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise RuntimeError("no more memory")

    monkeypatch.setattr("listkit.desk.state.check_shop", fails)
    file = set_files(state)[0]
    file.write_text("name = [", encoding="utf-8")
    seen, full = state.look(), state.full(wait=60)
    assert full is not None
    assert (full.number, full.problems) == (seen.number, ())
    assert "no more memory" in full.fault
    broken = file.relative_to(state.folder).as_posix()
    assert broken in {problem.place.file for problem in known_problems(seen, full)}


@pytest.mark.parametrize("seed", [2, 10, *(pytest.param(seed, marks=pytest.mark.long) for seed in range(11, 40))])
def test_after_many_changes_of_all_kinds_all_is_as_it_is_read_anew(tmp_path: Path, demo: Path, seed: int) -> None:
    """What is taken over from reading to reading, against the same files read with nothing known but their photos."""
    folder, chance = shutil.copytree(demo, tmp_path / "demo"), Random(seed)
    state = ShopState(folder, folder / "out", lambda: DAY)
    state.end()
    unlike = {""}
    state.look()
    while state.look().opened.waiting:  # all photos are measured, so that nothing but files differs
        state._measure(state.look())
    for _ in range(16):
        change_something(folder, chance)
        seen = state.look()
        opened, catalog = read_anew(folder, seen)
        assert (seen.opened.shop, seen.opened.problems) == (opened.shop, opened.problems)
        assert (seen.catalog.listed, seen.catalog.allotted) == (catalog.listed, catalog.allotted)
        fresh = ShopState(folder, folder / "out", lambda: DAY)
        fresh.end()
        for facts in chance.sample(catalog.listed, min(2, len(catalog.listed))):
            kept, new = (
                state.view(seen, facts.code),
                fresh.view(replace(seen, opened=opened, catalog=catalog), facts.code),
            )
            assert kept is not None
            assert new is not None
            assert (kept.listings.listings, kept.problems) == (new.listings.listings, new.problems)
        unlike.add(f"{len(catalog.listed)} {opened.problems}")
    assert len(unlike) > 5, "the changes did something"


def read_anew(folder: Path, seen: Seen) -> tuple[Opened, Catalog]:
    """Return the shop and its figures with nothing taken over but what was measured in photos."""
    for remembered in (parts._settings_in, parts._packaging_in, toml_file._model_in, typed, _key):
        remembered.cache_clear()
    opened = open_shop(folder, folder / "out", Opened(seen.opened.shop, (), seen.opened.photos))
    return opened, build_catalog(opened.shop)


def change_something(folder: Path, chance: Random) -> None:
    """Change one file of a shop, or take one away, soundly or not."""
    sets = sorted(folder.glob("sets/*/set.toml"))
    file = chance.choice(sets)
    texts = (
        lambda text: re.sub(r'(?m)^name = ".*"', f'name = "Dusk {chance.randrange(9)}"', text),
        lambda text: f"uplift = {chance.randrange(1, 9)}.50\n" + re.sub(r"(?m)^uplift = .*\n", "", text),
        lambda text: re.sub(r'(?m)^box = ".*"', f'box = "{chance.choice(("none", "smallest", "OH-NONE"))}"', text),
        lambda text: re.sub(r'(?m)^code = ".*"', chance.choice(sets).read_text(encoding="utf-8").split("\n")[0], text),
        lambda text: text + chance.choice(("nonsense = 1\n", "name = [\n", "# a remark\n")),
        lambda text: re.sub(r'(?m)^item = "(.*)"', chance.choice((r'item = "\1X"', r'item = "\1"')), text, count=1),
        lambda text: (
            f'status = "{chance.choice(("draft", "closed", "on sale"))}"\n' + re.sub(r"(?m)^status = .*\n", "", text)
        ),
    )
    kind = chance.randrange(10)
    if kind < 5:
        put_anew(file, chance.choice(texts)(file.read_text(encoding="utf-8")))
    elif kind == 5:
        sheet = folder / "items.csv"
        put_anew(
            sheet, re.sub(r"(?<=,)\d+\.\d\d(?=,)", f"{chance.randrange(3, 30)}.00", sheet.read_text("utf-8"), count=1)
        )
    elif kind == 6:
        terms = folder / chance.choice(("packaging.toml", "wholesale.toml", "shop.toml"))
        put_anew(terms, terms.read_text("utf-8") + chance.choice(("# so\n", "\n[strange]\n", "\n= 1\n", "\n\n")))
    elif kind == 7:
        channel = chance.choice(sorted(folder.glob("channels/*.toml")))
        put_anew(channel, channel.read_text("utf-8").replace('name = "', 'name = "A', 1))
    elif kind == 8:
        story = chance.choice(sorted(folder.glob("sets/*/*.md")))
        put_anew(story, story.read_text("utf-8") + chance.choice(("\nOnce more.\n", "\n{{ nobody }}\n")))
    elif len(sets) > 4:
        shutil.rmtree(file.parent)


def put_anew(file: Path, text: str) -> None:
    """Put a whole file in the place of another, as the desk and most editors do."""
    part = file.with_name(f".{file.name}.part")
    part.write_text(text, encoding="utf-8")
    part.replace(file)
