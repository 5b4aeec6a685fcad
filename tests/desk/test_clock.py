"""A clock that is set back or forward while the desk is open: pages stay pages, and all changes can be taken back."""

import datetime
from pathlib import Path

import pytest

from listkit.desk.building import Builder
from listkit.desk.changes import see
from listkit.desk.edits import Role, Target
from listkit.desk.guard import Keys
from listkit.desk.page import Desk
from listkit.desk.saving import shown_name
from listkit.edit.past import past
from tests.cli.published import small_shop
from tests.desk.desks import NOW, ORIGIN, PORT, form, stranger

ROOMS = ("/today", "/sets", "/sets/RRS-1", "/shelf", "/shelf/stock", "/places", "/shops", "/print", "/past", "/shop")
# A battery that is empty, a day back, years ahead, and right again.
TIMES = ("1970-01-01T00:00", "2026-11-28T10:30", "2038-01-19T03:15", "2100-02-28T23:59", "2026-11-29T10:31")


@pytest.mark.usefixtures("pages_are_printed_once")
def test_whatever_the_clock_says_pages_are_shown_and_changes_taken_back(tmp_path: Path) -> None:
    shop, now = small_shop(tmp_path / "shop"), [NOW]

    def clock() -> datetime.datetime:
        return now[0]

    file, target = shop / "sets/dawn/set.toml", Target(Role.SET, "RRS-1")
    before = file.read_bytes()
    desk = Desk(shop, Keys(PORT), lambda: clock().date(), clock, Builder(), close=lambda: None)
    desk.open_shop(shop)
    with stranger(desk) as client:
        client.get(desk.keys.address.removeprefix(ORIGIN))
        for time in TIMES:
            now[0] = datetime.datetime.fromisoformat(time).replace(tzinfo=datetime.UTC)
            assert [client.get(room).status_code for room in ROOMS] == [200] * len(ROOMS), time
            shown = {shown_name(target): see(shop, target).digest}
            assert client.post("/sets/RRS-1/change", data=form(desk, **shown, theme=f"At {time}")).status_code == 200
        made = past(shop)
        assert [change.number for change in made] == sorted(change.number for change in made)
        assert len(made) == len(TIMES)
        for change in reversed(made):
            answer = client.post("/past/back", data=form(desk, change=f"{change.number}", agreed="yes"))
            assert answer.status_code == 200
    assert file.read_bytes() == before
    desk.builder.end(30)
    assert desk.state is not None
    desk.state.end()
