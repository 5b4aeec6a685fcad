"""listkit: one folder of plain files becomes every listing, feed, price list and picture of a small gift-set shop.

    shop, problems = listkit.read_shop(folder)
    listings = listkit.build_listings(listkit.build_catalog(shop))
    problems += listkit.check_listings(listings, listkit.CheckContext(today))
    context = listkit.WriteContext(listkit.__version__)
    jobs = [job for write in listkit.WRITERS.values() for job in write(listings, context)]
    listkit.save(jobs, folder / "out")

Names are loaded on first use (PEP 562), so that the command line answers at once.
"""

import importlib

__version__ = "0.1.0"

_NAMES = {
    "read_shop": "listkit.read.shop",
    "build_catalog": "listkit.compute.build",
    "build_listings": "listkit.listing.build",
    "check_listings": "listkit.check",
    "CheckContext": "listkit.check.places",
    "WRITERS": "listkit.write",
    "WriteContext": "listkit.write.context",
    "save": "listkit.save.save",
    "Problem": "listkit.problem",
    "must_fix": "listkit.problem",
    "FIELDS": "listkit.fields",
}

__all__ = [*_NAMES, "__version__"]  # noqa: PLE0604 - the names are strings


def __getattr__(name: str) -> object:
    if name not in _NAMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(_NAMES[name]), name)
