"""What the tests of commands share: pages that were printed once."""

import hashlib
from pathlib import Path
from typing import Any, Final

import pytest

from listkit.write import print as pages

_print: Final = pages._run
_PRINTED: Final[dict[str, tuple[tuple[Any, ...], bytes]]] = {}


@pytest.fixture(autouse=True)
def pages_are_printed_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Take pages of the same layout, facts and pictures from memory; tests/write asks whether they are the same."""
    monkeypatch.setattr(pages, "_run", _from_memory)


def _from_memory(layout: pages.Layout, order: dict[str, object], seconds: int) -> tuple[Any, ...]:
    root, out = Path(str(order["root"])), Path(str(order["out"]))
    digest = hashlib.sha256(repr([order[key] for key in ("layout", "ask", "time")]).encode())
    for path in sorted(path for path in root.rglob("*") if path.is_file()):
        content = path.read_bytes()
        digest.update(f"{path.relative_to(root)} {len(content)}\n".encode() + content)
    key = digest.hexdigest()
    if key not in _PRINTED:
        _PRINTED[key] = _print(layout, order, seconds), out.read_bytes()
    said, content = _PRINTED[key]
    out.write_bytes(content)
    return said
