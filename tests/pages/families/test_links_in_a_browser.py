"""The desk prints a link, a camera reads the square, one tap on the phone opens the page."""

import io
from collections.abc import Callable

import pytest
import zxingcpp
from django.test import Client
from django.urls import reverse
from PIL import Image
from playwright.sync_api import BrowserContext, Page, Request, expect
from pytest_django.live_server_helper import LiveServer

from progress.models import Guardian

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def desk_page(page: Page, desk_client: Client, live_server: LiveServer) -> Page:
    """The desk's browser."""
    page.context.add_cookies(
        [
            {
                "name": "sessionid",
                "value": str(desk_client.session.session_key),
                "url": live_server.url,
            }
        ]
    )
    return page


@pytest.fixture
def read_square(desk_page: Page, guardian: Guardian, live_server: LiveServer) -> Callable[[], str]:
    """Make a link at the desk and read the square off the paper as it would be printed."""

    def read() -> str:
        desk_page.goto(live_server.url + reverse("guardian_page", args=[guardian.pk]))
        desk_page.get_by_role("button", name="Make a link to print").click()
        desk_page.emulate_media(media="print")
        box = desk_page.locator(".qr-box")
        expect(box).to_be_visible()
        [found] = zxingcpp.read_barcodes(Image.open(io.BytesIO(box.screenshot())))
        return str(found.text)

    return read


def test_from_the_printed_square_to_the_childs_page(
    read_square: Callable[[], str], new_context: Callable[..., BrowserContext]
) -> None:
    address = read_square()
    phone = new_context(viewport={"width": 390, "height": 844}, has_touch=True).new_page()
    asked: list[Request] = []
    phone.on("request", lambda request: asked.append(request))

    phone.goto(address)
    expect(phone.get_by_text("Tap once to open")).to_be_visible()
    assert "#" not in phone.url, "the secret is out of the address bar and the history"
    phone.get_by_role("button", name="Open our page").tap()
    expect(phone.get_by_role("heading", name="Ada")).to_be_visible()

    secret = address.partition("#")[2]
    here = address.partition("/family")[0]
    for request in asked:
        assert request.url.startswith(here), "nobody else is asked for anything"
        assert secret not in request.url
        assert secret not in request.headers.get("referer", "")


def test_without_the_tap_nothing_opens(
    read_square: Callable[[], str],
    new_context: Callable[..., BrowserContext],
    live_server: LiveServer,
) -> None:
    address = read_square()
    scanner = new_context().new_page()
    scanner.goto(address)
    scanner.goto(live_server.url + reverse("family_page"))
    expect(scanner.get_by_role("heading", name="Ada")).to_have_count(0)


def test_without_scripts_the_code_on_the_paper_opens_it(
    read_square: Callable[[], str],
    new_context: Callable[..., BrowserContext],
    live_server: LiveServer,
) -> None:
    secret = read_square().partition("#")[2]
    phone = new_context(java_script_enabled=False).new_page()
    phone.goto(live_server.url + reverse("family_open"))
    phone.get_by_label("The code under the square").fill(secret.upper().replace("-", " "))
    phone.get_by_role("button", name="Open our page").click()
    expect(phone.get_by_role("heading", name="Ada")).to_be_visible()
