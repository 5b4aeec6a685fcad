"""Makes one change in a shop folder and prints what came of it, to be run on a disk that is full or read-only."""

import datetime
import sys
from pathlib import Path

from listkit.desk.changes import Kind, apply, delete_set, see
from listkit.desk.edits import Edit, Put, Role, Target
from listkit.problem import BlockedError


def main() -> None:
    """Give the set another name, or take it away."""
    shop, what = Path(sys.argv[1]), sys.argv[2]
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
