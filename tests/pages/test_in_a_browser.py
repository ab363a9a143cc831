"""The pages in a real browser: nothing refused by the policy, nothing axe objects to, no overflow.

These need Chromium; on a machine without it they are skipped.
"""

from collections.abc import Callable

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.contrib.sessions.backends.base import SessionBase
from django.test import Client
from django.urls import reverse
from playwright.sync_api import BrowserContext, ConsoleMessage, Page, expect
from pytest_django.live_server_helper import LiveServer

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("monday_class", "floor"),
]

SMALLEST, PHONE, LAPTOP = (320, 640), (390, 844), (1280, 800)
PAGES = [
    ("anonymous", "account_login", None),
    ("coach", "class_list", None),
    ("coach", "class_page", "monday"),
    ("coach", "check_sheet", "monday"),
    ("coach", "sheet_summary", "monday"),
    ("coach", "sheet_print", "monday"),
    ("coach", "sheet_typing", "monday"),
    ("coach", "athlete_notes", "ada"),
    ("coach", "athlete_hold", "ada"),
    ("coach", "athlete_page", "ada"),
    ("coach", "mfa_index", None),
    ("lead", "move_up_list", None),
    ("desk", "class_page", "monday"),
    ("guardian", "family_page", None),
    ("linked", "family_page", None),
    ("anonymous", "family_open", None),
    ("anonymous", "family_code", None),
    ("desk", "families", None),
]
OPEN_EVERYTHING = "document.querySelectorAll('details').forEach(fold => { fold.open = true })"
OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


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


@pytest.mark.parametrize(("role", "name", "code"), PAGES)
def test_a_page_is_sound_in_light_and_dark_on_small_and_large_screens(
    role: str,
    name: str,
    code: str | None,
    page: Page,
    live_server: LiveServer,
    sign_in: Callable[[str], None],
    complaints: list[str],
) -> None:
    sign_in(role)
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        for width, height in (SMALLEST, PHONE, LAPTOP):
            page.set_viewport_size({"width": width, "height": height})
            page.goto(live_server.url + reverse(name, args=[code] if code else []))
            page.evaluate(OPEN_EVERYTHING)
            assert page.evaluate(OVERFLOW) <= 0, f"{width} px wide, {scheme}"
        found = Axe().run(page).response["violations"]
        assert [(one["id"], one["nodes"][0]["html"]) for one in found] == [], scheme
    assert complaints == []


def test_the_chart_is_drawn_when_its_fold_is_opened_and_not_before(
    page: Page, live_server: LiveServer, sign_in: Callable[[str], None], complaints: list[str]
) -> None:
    sign_in("coach")
    asked_for: list[str] = []
    page.on("request", lambda request: asked_for.append(request.url))
    page.goto(live_server.url + reverse("athlete_page", args=["ada"]))
    assert not [url for url in asked_for if "plotly" in url]

    page.get_by_text("Draw ability over time").click()

    expect(page.locator(".chart .main-svg").first).to_be_visible()
    expect(page.locator(".chart")).to_contain_text("Tier 2")
    assert complaints == []


def test_the_keyboard_reaches_the_page_past_the_menu(
    page: Page, live_server: LiveServer, sign_in: Callable[[str], None]
) -> None:
    sign_in("coach")
    page.goto(live_server.url + reverse("class_list"))

    page.keyboard.press("Tab")
    expect(page.get_by_text("Skip to the page")).to_be_focused()
    page.keyboard.press("Enter")

    expect(page.locator("main")).to_be_focused()


def test_text_at_twice_the_size_still_fits_a_phone(
    page: Page, live_server: LiveServer, sign_in: Callable[[str], None]
) -> None:
    sign_in("coach")
    page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    page.goto(live_server.url + reverse("class_page", args=["monday"]))
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    page.evaluate(OPEN_EVERYTHING)

    assert page.evaluate(OVERFLOW) <= 0
