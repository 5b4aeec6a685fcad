"""Where our own templates are: in the wheel beside the code, in a checkout at its top.

A checkout's folder comes first where it is there: an editable install may leave a stale copy in the wheel's place.
"""

from pathlib import Path


def shipped_templates() -> Path:
    """Return the folder of our wording, layouts and the starter shop."""
    package = Path(__file__).resolve().parent
    checkout = package.parent / "templates"
    return checkout if (package.parent / "pyproject.toml").is_file() and checkout.is_dir() else package / "_templates"
