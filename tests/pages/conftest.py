"""The browser that pages are looked at with."""

import os
import shutil
from collections.abc import Callable

import pytest
from django.contrib.sessions.backends.base import SessionBase
from django.test import Client
from playwright.sync_api import BrowserContext, ConsoleMessage, Page
from pytest_django.live_server_helper import LiveServer

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


@pytest.fixture
def complaints(page: Page) -> list[str]:
    """What the browser complains of, refusals by the content security policy among it."""
    heard: list[str] = []

    def listen(message: ConsoleMessage) -> None:
        if message.type in {"error", "warning"}:
            heard.append(message.text)

    page.on("console", listen)
    page.on("pageerror", lambda error: heard.append(str(error)))
    return heard


@pytest.fixture
def sign_in(
    request: pytest.FixtureRequest, context: BrowserContext, live_server: LiveServer
) -> Callable[[str], None]:
    """Sign the browser in as one of the cast."""

    def as_role(role: str) -> None:
        client: Client = request.getfixturevalue(f"{role}_client")
        session: SessionBase = client.session
        if session.session_key and role != "anonymous":
            name = "sessionid"
            context.add_cookies(
                [{"name": name, "value": session.session_key, "url": live_server.url}]
            )

    return as_role
