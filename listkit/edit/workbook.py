"""Changes single cells of a workbook and leaves every other part as it is."""

from collections.abc import Mapping
from decimal import Decimal

from listkit.problem import FieldError


def with_workbook_cells(content: bytes, sheet: str, cells: Mapping[tuple[int, int], str | Decimal]) -> bytes:
    """Return the workbook with these texts, by row from 1 and column from 0.

    Raises:
        FieldError: it cannot be changed.
    """
    raise FieldError("a workbook cannot be changed here yet.", "Change it in your own program.")
