"""listkit: one folder of plain files becomes every listing, feed, price list and picture of a small gift-set shop.

    checked = listkit.check_shop(folder, today)
    for problem in checked.problems:
        print(problem)
    if not listkit.must_fix(checked.problems):
        listkit.build_shop(checked, folder / "out")

`check_shop` reads, computes, lists and checks; `open_shop`, `build_catalog`, `list_catalog` and `check_listed` are
these steps alone. Names are loaded on first use (PEP 562), so that the command line answers at once.
"""

import importlib

__version__ = "0.1.0"

_NAMES = {
    "check_shop": "listkit.pipeline",
    "open_shop": "listkit.pipeline",
    "build_catalog": "listkit.compute.build",
    "list_catalog": "listkit.pipeline",
    "check_listed": "listkit.pipeline",
    "Checked": "listkit.pipeline",
    "build_shop": "listkit.actions.build",
    "Problem": "listkit.problem",
    "must_fix": "listkit.problem",
    "FIELDS": "listkit.fields",
}

__all__ = [*_NAMES, "__version__"]  # noqa: PLE0604 - the names are strings


def __getattr__(name: str) -> object:
    if name not in _NAMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(_NAMES[name]), name)
