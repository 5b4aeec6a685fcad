"""Names of files that are no UTF-8, as an archive of another system leaves them, break no page."""

import os
import sys
from pathlib import Path

import pytest

from listkit.desk.edits import Role, Target
from listkit.desk.saving import shown_name
from listkit.edit.past_lines import digest_of
from tests.desk.desks import form, opened, text
from tests.shops import clean_shop

pytestmark = pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="every name is Unicode there")
PAGES = ("/today", "/sets", "/sets/RRS-1", "/sets/RRS-1/photos", "/shelf", "/places", "/shops", "/shop", "/past")


def named(folder: Path, name: bytes) -> Path:
    return folder / os.fsdecode(name)


def test_every_page_is_shown(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    named(shop / "channels", b"caf\xe9.toml").write_bytes((shop / "channels/stall.toml").read_bytes())
    named(shop / "sets", b"\xe9t\xe9").mkdir()
    named(shop / "sets/dawn", b"\xe9t\xe9.jpg").write_bytes(b"x")
    named(shop / "photos", b"\xe9t\xe9.jpg").parent.mkdir(exist_ok=True)
    named(shop / "photos", b"\xe9t\xe9.jpg").write_bytes(b"x")
    with opened(shop) as (client, desk):
        desk.shop_state.look()
        assert desk.shop_state.full(wait=60)
        assert {path: client.get(path).status_code for path in PAGES} == dict.fromkeys(PAGES, 200)


@pytest.mark.parametrize("kind", ["file", "link"])
def test_a_set_that_holds_one_is_taken_away_and_told_in_the_past(tmp_path: Path, kind: str) -> None:
    shop = clean_shop(tmp_path / "shop")
    odd = named(shop / "sets/dawn", b"\xe9t\xe9.txt")
    odd.symlink_to("set.toml") if kind == "link" else odd.write_bytes(b"mine")
    seen = {shown_name(Target(Role.SET, "RRS-1")): digest_of((shop / "sets/dawn/set.toml").read_bytes())}
    with opened(shop) as (client, desk):
        answer = client.post("/sets/RRS-1/delete", data=form(desk, sure="yes", **seen))
        if kind == "link":
            assert (answer.status_code, odd.is_symlink()) == (409, True)
            assert "t\ufffd.txt is a link or no plain file" in text(answer.text)
            return
        assert (answer.status_code, odd.exists()) == (200, False)
        assert client.get("/past").status_code == 200
        client.post("/past/back", data=form(desk, change="1"))
    assert odd.read_bytes() == b"mine"
