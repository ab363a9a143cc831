"""The pages in a real browser: nothing refused by the policy, nothing axe objects to, no overflow.

These need Chromium; on a machine without it they are skipped.
"""

from collections.abc import Callable

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Page, expect
from pytest_django.live_server_helper import LiveServer

from progress.models import Athlete, StaffMember, Tier
from tests import makers

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("monday_class", "floor", "zoe"),
]

SMALLEST, PHONE, TABLET, LAPTOP = (320, 640), (390, 844), (780, 1000), (1280, 800)
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
    ("lead", "athlete_page", "ada"),
    ("lead", "move_up_list", None),
    ("lead", "evidence", "ada"),
    ("lead", "evidence", "bo"),
    ("lead", "sign_off", "?athlete=ada&athlete=bo"),
    ("lead", "sign_offs", None),
    ("lead", "move_back", "zoe"),
    ("lead", "places", None),
    ("lead", "attention", None),
    ("lead", "difficulty", None),
    ("lead", "coaches", None),
    ("lead", "report_card", None),
    ("lead", "time_to_tier", None),
    ("lead", "rules", None),
    ("lead", "rules_skills", None),
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
def zoe(lead: StaffMember, tiers: dict[int, Tier]) -> Athlete:
    """Moved up to tier 2 today, and waiting for a place there."""
    athlete = makers.make_athlete("zoe", name="Zoe", tier=2)
    said = {
        "decision": "building",
        "p_ready": 0.2,
        "reasons": ["1 of 2 skills of tier 1 secure"],
        "skills": [{"skill": "LAND-1", "gate": True, "state": "secure"}],
    }
    makers.make_sign_off(athlete, lead, although="Hangs well elsewhere.", engine_said=said)
    makers.make_class("first", name="First class", athletes=(athlete,)).tiers.add(tiers[1])
    makers.make_class("second", name="Second class", places=2).tiers.add(tiers[2])
    return athlete


def path_of(name: str, more: str | None) -> str:
    """The address of a page; ``more`` is a code in it, or what follows the question mark."""
    if more is None or more.startswith("?"):
        return reverse(name) + (more or "")
    return reverse(name, args=[more])


@pytest.mark.parametrize(("role", "name", "more"), PAGES)
def test_a_page_is_sound_in_light_and_dark_on_small_and_large_screens(
    role: str,
    name: str,
    more: str | None,
    page: Page,
    live_server: LiveServer,
    sign_in: Callable[[str], None],
    complaints: list[str],
) -> None:
    sign_in(role)
    # What is wide is wide in the dark too, so there the phone is enough.
    for scheme, screens in (("light", (SMALLEST, PHONE, TABLET, LAPTOP)), ("dark", (PHONE,))):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        for width, height in screens:
            page.set_viewport_size({"width": width, "height": height})
            page.goto(live_server.url + path_of(name, more))
            page.evaluate(OPEN_EVERYTHING)
            expect(page.locator("details[data-chart]:not([data-drawn])")).to_have_count(0)
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
