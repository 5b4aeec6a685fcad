"""What the tests of commands share: pages that were printed once."""

import pytest


@pytest.fixture(autouse=True)
def _of_commands(pages_are_printed_once: None) -> None:
    """Every test of a command takes its pages so."""
