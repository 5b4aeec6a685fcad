"""The words that stand where an owner has still to write: put there with a new set, looked for by the checks."""

from typing import Final

TO_WRITE: Final = "WRITE HERE"
"""Begins what is left to write, in a theme or on a line of a story."""
