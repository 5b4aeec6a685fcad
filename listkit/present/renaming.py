"""Another code for an item or a set: each line that changes, and what follows, as text and JSON."""

from collections.abc import Iterator
from typing import Any, Final

from listkit.actions.rename import Rename
from listkit.problem import times

_MOST_LINES: Final = 8  # of one file
_MOST_CODES: Final = 12


def rename_lines(rename: Rename) -> Iterator[str]:
    """Yield where the code stands, file by file, the codes of variants that follow, and a count."""
    for file in rename.files:
        yield file.file
        for line in file.lines[:_MOST_LINES]:
            yield f"  line {line.line}: {line.old} → {line.new}"
        if len(file.lines) > _MOST_LINES:
            yield f"  and {len(file.lines) - _MOST_LINES} more"
    if rename.variants:
        pairs = [f"{old} → {new}" for old, new in rename.variants.items()]
        more = f" and {len(pairs) - _MOST_CODES} more" if len(pairs) > _MOST_CODES else ""
        yield f"Codes of variants that follow: {', '.join(pairs[:_MOST_CODES])}{more}."
    if not rename.files:
        yield f"{rename.old} stands nowhere any more."
    else:
        yield f"{times(rename.places, 'place')} in {times(len(rename.files), 'file')}."


def typed_lines(rename: Rename) -> Iterator[str]:
    """Yield what the owner types into workbooks herself."""
    for file in rename.by_hand:
        yield f"{file.file} is a workbook, which is yours to change. Type there:"
        for cell in file.cells:
            yield f"  {cell}"


def rename_json(rename: Rename, *, written: bool) -> dict[str, Any]:
    """Return every place, and whether it was written."""
    return {
        "old": rename.old,
        "new": rename.new,
        "places": [
            {"file": file.file, "line": line.line, "old": line.old, "new": line.new}
            for file in rename.files
            for line in file.lines
        ],
        "variants": dict(rename.variants),
        "by_hand": {file.file: list(file.cells) for file in rename.by_hand},
        "written": written,
    }
