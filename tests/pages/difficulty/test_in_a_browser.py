"""The map and the moves in a real browser: sound in light and dark, and by keyboard alone."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from django.urls import reverse
from playwright.sync_api import BrowserContext, ConsoleMessage, Page, expect
from pytest_django.live_server_helper import LiveServer

from progress.models import ResultChoice, Skill, SkillRule, StaffMember
from progress.usecases.change_skills import change_skills
from tests import makers

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("monday_class"),
]

SCREENS = ((320, 640), (390, 844), (1280, 800))
OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
LOOK = "?skill=HANG-1&tier=2&skill=LAND-2&tier=1&look=1"


@pytest.fixture
def hard(small_catalogue: dict[str, Skill], today: date) -> Skill:
    """A skill of tier 1 that sits too low, with a long name."""
    skill = makers.make_skill("HARD", ladder="hanging", name="Hold on and turn around " * 3)
    days = [today - timedelta(weeks=weeks) for weeks in (5, 4, 3, 2, 1)]
    for number in range(12):
        child = makers.make_athlete(tier=1 + number % 2)
        makers.make_attempts(child, skill, [ResultChoice.MISS] * 6, days=days)
        for code in ("LAND-1", "HANG-1", "LAND-2", "HANG-2"):
            results = [ResultChoice.CLEAN] * 6
            makers.make_attempts(child, small_catalogue[code], results, days=days)
    return skill


@pytest.fixture
def visit(
    context: BrowserContext, page: Page, live_server: LiveServer, lead_client: Client
) -> Callable[..., Page]:
    """Open a page as the lead."""

    def go(name: str, query: str = "") -> Page:
        key = lead_client.session.session_key
        assert key is not None
        context.add_cookies([{"name": "sessionid", "value": key, "url": live_server.url}])
        page.goto(live_server.url + reverse(name) + query)
        return page

    return go


@pytest.mark.parametrize(("name", "query"), [("difficulty", ""), ("retier", LOOK)])
def test_a_page_is_sound_in_light_and_dark_on_small_and_large_screens(
    name: str,
    query: str,
    page: Page,
    visit: Callable[..., Page],
    hard: Skill,
    lead: StaffMember,
) -> None:
    change_skills(
        changes={"HANG-3": {SkillRule.STANDARD: 0.7}}, why="Try.", lead=lead, now=makers.moment()
    )
    heard: list[str] = []

    def listen(message: ConsoleMessage) -> None:
        if message.type in {"error", "warning"}:
            heard.append(message.text)

    page.on("console", listen)
    schemes: tuple[Literal["light", "dark"], ...] = ("light", "dark")
    for scheme in schemes:
        page.emulate_media(color_scheme=scheme)
        for width, height in SCREENS:
            page.set_viewport_size({"width": width, "height": height})
            visit(name, query)
            if name == "difficulty":
                expect(page.locator("details[data-drawn]")).to_have_count(1)
            assert page.evaluate(OVERFLOW) <= 0, f"{width} px wide, {scheme}"
            if width > SCREENS[0][0]:
                found = Axe().run(page).response["violations"]
                assert [(one["id"], one["nodes"][0]["html"]) for one in found] == [], scheme
    assert heard == []


def test_the_map_draws_every_row_within_its_place(visit: Callable[..., Page], hard: Skill) -> None:
    page = visit("difficulty")
    expect(page.locator("details[data-drawn]")).to_have_count(1)
    expect(page.locator(".chart").get_by_text("Travel hand to hand")).to_be_visible()
    box, drawn = page.locator(".map-box").bounding_box(), page.locator(".main-svg").first
    inner = drawn.bounding_box()
    assert box is not None
    assert inner is not None
    assert abs(box["height"] - inner["height"]) < 2
    assert inner["height"] > 6 * 30


def test_a_skill_is_moved_by_keyboard_alone(
    visit: Callable[..., Page], hard: Skill, page: Page
) -> None:
    visit("difficulty").get_by_role("link", name="See what moving it would change").press("Enter")
    expect(page.get_by_text("from tier 1 to tier 2").first).to_be_visible()
    page.get_by_label("Why?").fill("Nobody in tier 1 does it.")
    page.get_by_role("button", name="Save this change").press("Enter")
    expect(page.get_by_text("Saved: Hold on and turn around")).to_be_visible()
    assert Skill.objects.get(code="HARD").tier_id == 2


def test_all_of_it_but_the_drawing_works_without_scripts(
    context: BrowserContext,
    live_server: LiveServer,
    lead_client: Client,
    hard: Skill,
) -> None:
    assert context.browser is not None
    plain = context.browser.new_context(java_script_enabled=False)
    key = lead_client.session.session_key
    assert key is not None
    plain.add_cookies([{"name": "sessionid", "value": key, "url": live_server.url}])
    page = plain.new_page()
    page.goto(live_server.url + reverse("difficulty"))
    expect(page.get_by_role("row").filter(has_text="Nearer to tier 2")).to_have_count(1)
    page.goto(live_server.url + reverse("retier"))
    page.get_by_label("Skill", exact=True).first.select_option("HARD")
    page.get_by_label("To tier").first.select_option("2")
    page.get_by_role("button", name="Show what would change").click()
    page.get_by_label("Why?").fill("Nobody in tier 1 does it.")
    page.get_by_role("button", name="Save this change").click()
    expect(page.get_by_text("Saved:")).to_be_visible()
    plain.close()
