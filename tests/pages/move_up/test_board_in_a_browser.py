"""Choosing on the board in a real browser, with a finger and with the script."""

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import BrowserContext, Page, expect
from pytest_django.live_server_helper import LiveServer

from tests import makers
from tests.makers_of_standings import make_standing

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("as_stored")]

OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture
def board(
    page: Page, context: BrowserContext, live_server: LiveServer, lead_client: Client
) -> Page:
    """The board on a phone: Ann and Ben ready, Cas building, Top in the highest tier."""
    for name, decision in (("Ann", "ready"), ("Ben", "ready"), ("Cas", "building")):
        held = ["HANG-1"] if decision == "building" else []
        make_standing(makers.make_athlete(name.lower(), name=name), decision, holding_back=held)
    make_standing(makers.make_athlete("top", name="Top", tier=2), "ready")
    key = lead_client.session.session_key
    assert key is not None
    context.add_cookies([{"name": "sessionid", "value": key, "url": live_server.url}])
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(live_server.url + reverse("move_up_list"))
    return page


def test_a_tap_anywhere_on_a_row_chooses_the_child(board: Page) -> None:
    row = board.locator("tbody tr").filter(has_text="Cas")
    row.scroll_into_view_if_needed()
    place = row.locator('[data-label="Tier"]').bounding_box()
    assert place is not None
    board.mouse.click(place["x"] + place["width"] / 2, place["y"] + place["height"] / 2)

    expect(board.get_by_label("Choose Cas")).to_be_checked()
    expect(board.get_by_role("status").filter(has_text="1 chosen")).to_be_visible()
    label = board.locator(".board-box").first.bounding_box()
    assert label is not None
    assert min(label["width"], label["height"]) >= 48


def test_a_tap_on_the_name_opens_the_child_and_chooses_nobody(board: Page) -> None:
    board.get_by_role("link", name="Cas", exact=True).click()

    assert "/cas/" in board.url


def test_all_ready_on_the_page_are_chosen_at_once_and_go_on_to_the_sign_off(board: Page) -> None:
    board.get_by_role("button", name="Choose all ready").click()
    expect(board.get_by_role("status").filter(has_text="2 chosen")).to_be_visible()

    board.get_by_role("button", name="Sign off the chosen").click()
    assert board.url.endswith(reverse("sign_off") + "?athlete=ann&athlete=ben")


def test_the_page_never_scrolls_sideways(board: Page) -> None:
    for width in (320, 390, 780, 1000, 1280):
        board.set_viewport_size({"width": width, "height": 844})
        assert board.evaluate(OVERFLOW) <= 0, width
