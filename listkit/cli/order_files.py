"""Writes what an order becomes into out/wholesale/orders/: each file beside its place, looked at, then put there.

A build neither makes nor removes them.
"""

import os
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from listkit.problem import FieldError
from listkit.save.out_folder import discard, locked, part_of, real_folder, refuse_links, sync
from listkit.write.line_sheet import FOLDER as PICTURES
from listkit.write.line_sheet import LOGO
from listkit.write.print import Layout, print_pdf, verify_pdf

FOLDER: Final = "wholesale/orders"


def logo_of(out: Path) -> tuple[tuple[str, Path], ...]:
    """Return the logo as the last build made it, if it did."""
    path = out / PICTURES / LOGO
    return ((LOGO, path),) if path.is_file() and not path.is_symlink() else ()


def write_pages(out: Path, pages: Sequence[tuple[str, Layout]], pictures: tuple[tuple[str, Path], ...]) -> list[str]:
    """Print every layout to its name and return the paths below `out`; all are made before the first is put there.

    Raises:
        FieldError: a build is at work, a link leads out of the folder, a layout has a fault, or nothing can be written.
    """
    out = real_folder(out)
    paths = [f"{FOLDER}/{name}" for name, _ in pages]
    refuse_links(out, paths)
    parts: list[Path] = []
    try:
        with locked(out):
            (out / FOLDER).mkdir(parents=True, exist_ok=True)
            for path, (_, layout) in zip(paths, pages, strict=True):
                parts.append(part_of((out / path).parent, (out / path).name))
                print_pdf(parts[-1], layout, pictures)
                sync(parts[-1])
                if fault := verify_pdf(parts[-1], print_pdf, ()):
                    raise FieldError(f"{path} does not read back as it was written: {fault}")
            for path, part in zip(paths, parts, strict=True):
                os.replace(part, out / path)
    except OSError as fault:
        raise FieldError(f"{out.name} cannot be written to: {fault.strerror}.", "Allow writing there.") from fault
    finally:
        for part in parts:
            discard(part)
    return paths
