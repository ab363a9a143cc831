"""Coverage, sheet and limits in a real browser: sound in light and dark, and by keyboard alone."""

from collections.abc import Callable

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from django.urls import reverse
from playwright.sync_api import BrowserContext, ConsoleMessage, Page, expect
from pytest_django.live_server_helper import LiveServer

from progress.models import RuleBook, Setup, Skill
from tests import makers

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("monday_class"),
]

SCREENS = ((320, 640), (390, 844), (1280, 800))
OPEN_EVERYTHING = "document.querySelectorAll('details').forEach(fold => { fold.open = true })"
OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture
def draft(small_catalogue: dict[str, Skill]) -> Setup:
    """A draft that a bar of the library would serve better."""
    setup = makers.make_setup(None, published=False, name="Next week")
    land = makers.make_station(setup, "land", name="Landing")
    makers.make_variant(land, small_catalogue["LAND-1"], height_m=0.9, caution="One at a time.")
    makers.make_loop(setup, "A", stations=(land,), name="Round")
    library = Setup.objects.library()
    makers.make_station(library, "bar", name="Bar", variants=[small_catalogue["HANG-1"]])
    return setup


@pytest.fixture
def visit(
    request: pytest.FixtureRequest, context: BrowserContext, page: Page, live_server: LiveServer
) -> Callable[..., Page]:
    """Open a page as one of the cast."""

    def go(role: str, name: str, *args: int) -> Page:
        client: Client = request.getfixturevalue(f"{role}_client")
        key = client.session.session_key
        assert key is not None
        context.add_cookies([{"name": "sessionid", "value": key, "url": live_server.url}])
        page.goto(live_server.url + reverse(name, args=args))
        return page

    return go


@pytest.mark.parametrize(
    ("role", "name"),
    [
        ("coach", "floor_coverage"),
        ("coach", "floor_sheet"),
        ("coach", "floor_limits"),
        ("lead", "floor_limits"),
    ],
)
def test_a_page_is_sound_in_light_and_dark_on_small_and_large_screens(
    role: str, name: str, page: Page, visit: Callable[..., Page], draft: Setup
) -> None:
    heard: list[str] = []

    def listen(message: ConsoleMessage) -> None:
        if message.type in {"error", "warning"}:
            heard.append(message.text)

    page.on("console", listen)
    RuleBook.objects.create(version=2, values={"children_per_lane": 12}, why="A test.")
    args = [] if name == "floor_limits" else [draft.pk]
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        for width, height in SCREENS:
            page.set_viewport_size({"width": width, "height": height})
            visit(role, name, *args)
            page.evaluate(OPEN_EVERYTHING)
            assert page.evaluate(OVERFLOW) <= 0, f"{width} px wide, {scheme}"
            if width > SCREENS[0][0]:
                found = Axe().run(page).response["violations"]
                assert [(one["id"], one["nodes"][0]["html"]) for one in found] == [], scheme
    assert heard == []


def test_a_proposal_is_found_and_taken_by_keyboard_alone(
    visit: Callable[..., Page], draft: Setup
) -> None:
    page = visit("coach", "floor_coverage", draft.pk)
    page.locator("summary", has_text="Whom and what to compare").focus()
    page.keyboard.press("Enter")
    page.get_by_role("radio", name="1", exact=True).focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    expect(page.get_by_text("up to 2 changes")).to_be_visible()

    page.get_by_role("button", name="Put it into the draft").press("Enter")

    expect(page.get_by_text("Bar is in the place of Landing")).to_be_visible()
    assert "changes=2" in page.url


def test_limits_are_saved_by_keyboard_alone_and_enter_never_removes_a_band(
    visit: Callable[..., Page],
) -> None:
    page = visit("lead", "floor_limits")
    page.get_by_label("Why?", exact=True).fill("The hall is small.")
    lanes = page.get_by_label("Most children on one variant, for each lane")
    lanes.fill("6")
    lanes.press("Enter")

    expect(page.get_by_text("Version 2 of the rules holds from now on.")).to_be_visible()
    rules = RuleBook.in_force()
    assert (rules.children_per_lane, len(rules.ratios)) == (6, 5)
