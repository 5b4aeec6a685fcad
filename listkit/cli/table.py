"""Plain tables on screen: words to the left, numbers to the right, as wide as what stands in them."""

from collections.abc import Sequence


def table(rows: Sequence[Sequence[str]], *, left: int = 1) -> str:
    """Return rows as aligned lines; the first `left` columns start at the left, the others end at the right."""
    widths = [max(len(row[at]) for row in rows) for at in range(len(rows[0]))]
    return "\n".join(
        "  ".join(
            cell.ljust(width) if at < left else cell.rjust(width)
            for at, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    )
