"""The board with answers that a test stores itself, instead of working them out."""

import pytest

from progress.usecases import see_board
from progress.usecases.standings.keep_up import Freshness
from tests import makers


@pytest.fixture
def as_stored(small_catalogue: object, monkeypatch: pytest.MonkeyPatch) -> None:
    """The answers that a test stores are shown as they are."""
    monkeypatch.setattr(see_board, "bring_up_to_date", lambda **_: Freshness(0, makers.TODAY))
