"""Makes one change in a shop folder and prints what came of it, to be run on a disk that is full or read-only.

By itself, or through the page of a set or of an item, as its form or its script sends it.
"""

import datetime
import sys
from pathlib import Path

from listkit.desk.changes import Kind, apply, delete_set, see
from listkit.desk.edits import Edit, Put, Role, Target
from listkit.desk.page import PARTS_HEADER
from listkit.desk.saving import shown_name
from listkit.problem import BlockedError
from tests.desk.desks import form, opened, text

PAGES = {
    "set": ("/sets/RRS-1/change", Target(Role.SET, "RRS-1"), {"theme": "Typed on a full disk."}),
    "item": ("/shelf/item", Target(Role.ITEMS), {"row": "RR-J1", "cell/on_hand": "77"}),
    "boxes": ("/shelf/boxes", Target(Role.PACKAGING), {"box/0/cost": "9.99"}),
}


def through_page(shop: Path, what: str) -> None:
    """Send a form and print the answer; one by a script is the same."""
    address, target, fields = PAGES[what]
    with opened(shop) as (client, desk):
        sent = form(desk, **{shown_name(target): see(shop, target).digest}, **fields)
        answer = client.post(address, data=sent)
        by_script = client.post(address, data=sent, headers={PARTS_HEADER: "none"})
    assert text(answer.text) == text(by_script.text)
    sys.stdout.write(f"{answer.status_code} {text(answer.text)}\n")
    sys.exit(answer.status_code != 200)


def main() -> None:
    """Give the set another name, take it away, or change something through a page."""
    shop, what = Path(sys.argv[1]), sys.argv[2]
    if what in PAGES:
        through_page(shop, what)
    how, seen = Kind(datetime.datetime(2026, 11, 29, tzinfo=datetime.UTC)), see(shop, Target(Role.SET, "RRS-1"))
    try:
        if what == "name":
            outcome = apply(shop, [Edit(seen.target, Put(("name",), "Dusk"))], {seen.target: seen.digest}, how)
        else:
            outcome = delete_set(shop, "RRS-1", seen.digest, how)
        sys.stdout.write(f"{outcome.came}\n")
    except BlockedError as blocked:
        sys.stdout.write(f"{blocked.message} {blocked.hint}\n")
        sys.exit(1)


if __name__ == "__main__":
    main()
