"""What the tests of the desk share: a shop is checked whole where somebody waits for it, and else not."""

import pytest

from listkit.desk import state


@pytest.fixture(autouse=True)
def _whole_checks_are_waited_for(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let no check begin by itself, which most tests would end before; in a browser all is as the owner has it."""
    if "browser" not in request.fixturenames:
        monkeypatch.setattr(state, "_PAUSE", 3600.0)
