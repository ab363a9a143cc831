"""What the machine must have, and what happens where it has not."""

import os

import pytest

ON_CI = os.environ.get("CI", "").lower() in {"1", "true", "yes"}


def missing(what: str) -> None:
    """Skip on a contributor's machine; fail where every check has to run."""
    if ON_CI:
        pytest.fail(f"{what} is needed here and was not found.")
    pytest.skip(f"{what} was not found.")
