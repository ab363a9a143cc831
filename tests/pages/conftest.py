"""The browser that pages are looked at with."""

import os
import shutil

import pytest

from tests.machine import missing


@pytest.fixture(scope="session")
def browser_path() -> str:
    """The Chromium of this machine."""
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        missing("Chromium")
    return str(path)


@pytest.fixture(scope="session")
def browser_type_launch_args(
    browser_path: str, pytestconfig: pytest.Config
) -> dict[str, str | bool | list[str]]:
    """How pytest-playwright's ``page`` starts Chromium: no sandbox for root, no calls home."""
    # Playwright keeps an event loop in the main thread, where Django would refuse the database.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    return {
        "executable_path": browser_path,
        "headless": not pytestconfig.getoption("--headed"),
        "args": [
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
        ],
    }
