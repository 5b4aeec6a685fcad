"""The process in which a page layout is run: it can be stopped, holds no more than it may, and reaches nobody.

Run within limits (`limited.py`) with one argument, a JSON object. The folder it names holds all that the layout may
read. Nothing of ours is imported, so that it starts at once. On stdout it prints, as JSON, what was wrong with the
layout, why the pages cannot be written, or what the layout says of itself where it is asked; nothing when pages were
made.
"""

import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

import typst

STANDARDS: Final[list[Any]] = ["ua-1", "a-2a"]  # ISO 14289-1 and ISO 19005-2, level A


def main(order: Mapping[str, Any]) -> None:
    """Make the PDF, or its pages as PNG, as `order` says; tell what its layout says at a label, or what is wrong."""
    root = Path(order["root"])
    none = root / "none"  # no folder: there are no packages
    compiler = typst.Compiler(
        root / order["layout"],
        root=root,
        ignore_system_fonts=True,
        package_path=none,
        package_cache_path=none,
    )
    try:
        if order["ppi"]:
            compiler.compile(output=order["out"], format="png", ppi=order["ppi"])
        else:
            compiler.compile(output=order["out"], format="pdf", pdf_standards=STANDARDS, timestamp=order["time"])
        if order["ask"]:
            said = json.loads(compiler.query(f"<{order['ask']}>", field="value"))
            sys.stdout.write(json.dumps({"said": said}))
    except OSError as fault:
        sys.stdout.write(json.dumps({"unwritten": str(fault).partition(" (os error")[0]}))
    except typst.TypstError as fault:
        told = {"message": fault.message, "diagnostic": fault.diagnostic, "hints": list(fault.hints)}
        sys.stdout.write(json.dumps(told))


if __name__ == "__main__":
    main(json.loads(sys.argv[1]))
