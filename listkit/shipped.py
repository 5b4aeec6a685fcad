"""Where our own templates are: inside the package when it came in a wheel, else beside it in a checkout.

They are looked for from this file, because an editable install may leave a stale copy elsewhere, which must not win.
"""

from pathlib import Path
from typing import Final

_PACKAGE: Final = Path(__file__).resolve().parent


def shipped_templates(package: Path = _PACKAGE) -> Path:
    """Return the folder of our wording, layouts and the starter shop."""
    inside = package / "_templates"
    return inside if inside.is_dir() else package.parent / "templates"
