"""The plan in a real browser: two taps move a child, one takes it back, one page of paper."""

import re
from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page, expect
from pytest_django.live_server_helper import LiveServer

from progress.models import PlanChoice, Skill
from tests import makers
from tests.pages.plans.full_hall import fill_hall

pytestmark = pytest.mark.django_db(transaction=True)

SIZES = {"phone": (390, 844), "laptop": (1280, 800)}
PLAN, PRINT = "/classes/full/plan/", "/classes/full/plan/print/"
OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
OPEN_EVERYTHING = "document.querySelectorAll('details').forEach(fold => { fold.open = true })"
SMALL_TARGETS = """[...document.querySelectorAll('main button, main summary')]
    .filter(one => one.checkVisibility() && one.getBoundingClientRect().height < 47.9)
    .map(one => one.textContent.trim())"""


@pytest.fixture(params=[True, False], ids=["script", "no-script"])
def with_and_without_script(
    request: pytest.FixtureRequest, browser: Browser
) -> Iterator[BrowserContext]:
    """A browser with and without JavaScript: the plan needs none."""
    context = browser.new_context(java_script_enabled=request.param)
    yield context
    context.close()


def open_as(context: BrowserContext, client: Client, server: LiveServer) -> Page:
    """A page signed in as this client."""
    key = str(client.session.session_key)
    context.add_cookies([{"name": "sessionid", "value": key, "url": server.url}])
    return context.new_page()


def tap(page: Page, who: str, station: str, button: str) -> None:
    """Two taps: the cell, then the choice."""
    cell = page.locator("td details").filter(has_text=f"{who}, {station}: ").first
    cell.locator("summary").click()
    cell.get_by_role("button", name=button).click()
    expect(page.locator("#moved")).to_be_in_viewport()


def standing() -> set[tuple[str, str]]:
    return {
        (choice.athlete.code, choice.variant.code if choice.variant else "")
        for choice in PlanChoice.objects.standing().select_related("athlete", "variant")
    }


@pytest.mark.parametrize("size", SIZES)
def test_two_children_are_moved_with_two_taps_each_and_one_is_taken_back(
    size: str,
    with_and_without_script: BrowserContext,
    coach_client: Client,
    live_server: LiveServer,
    small_catalogue: dict[str, Skill],
) -> None:
    fill_hall(small_catalogue)
    page = open_as(with_and_without_script, coach_client, live_server)
    width, height = SIZES[size]
    page.set_viewport_size({"width": width, "height": height})
    page.goto(live_server.url + PLAN)

    tap(page, "Ines Dunmoor", "Drop", "Easier")
    expect(page.locator("#moved")).to_contain_text("Ines Dunmoor at Drop: easier")
    tap(page, "Jonte Eastbrook", "Long roll", "Leaves this station out")
    expect(page.locator("#moved")).to_contain_text("Jonte Eastbrook leaves Long roll out.")
    assert len(standing()) == 2

    page.get_by_role("button", name="Undo").click()

    expect(page.locator("#moved")).to_contain_text("taken back")
    assert standing() == {("c08", "s0-1-1")} or standing() == {("c08", "s1-1-1")}


@pytest.mark.parametrize(("athletes", "loops"), [(30, 2), (30, 3), (1, 1)])
def test_the_plan_prints_on_one_page(
    athletes: int,
    loops: int,
    page: Page,
    coach_client: Client,
    live_server: LiveServer,
    small_catalogue: dict[str, Skill],
) -> None:
    full = fill_hall(small_catalogue, athletes=athletes, loops=loops)
    for code in ("c03", "c11"):
        for athlete in full.athletes.filter(code=code):
            makers.make_hold(athlete)
    page = open_as(page.context, coach_client, live_server)
    page.goto(live_server.url + PRINT)
    assert page.locator("tbody tr").count() == athletes
    assert page.locator("tbody tr").first.locator("td").count() == 2 + 6 * loops

    paper = page.pdf(prefer_css_page_size=True)

    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", paper)) == 1
    box = re.search(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", paper)
    assert box
    assert (round(float(box[1])), round(float(box[2]))) == (842, 595)


def test_no_word_on_paper_is_cut_off(
    page: Page,
    coach_client: Client,
    live_server: LiveServer,
    small_catalogue: dict[str, Skill],
) -> None:
    fill_hall(small_catalogue)
    page = open_as(page.context, coach_client, live_server)
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 1062, "height": 733})  # A4 on its side between its margins
    page.goto(live_server.url + PRINT)

    cut = """[...document.querySelectorAll('tbody th, tbody td:not(.paper-checks)')]
        .filter(one => one.scrollWidth > one.clientWidth + 1).map(one => one.textContent)"""
    assert page.evaluate(cut) == []


def test_the_page_is_sound_in_light_and_dark_with_everything_open(
    page: Page,
    coach_client: Client,
    live_server: LiveServer,
    small_catalogue: dict[str, Skill],
) -> None:
    full = fill_hall(small_catalogue, athletes=8, spotters=0)
    makers.make_hold(full.athletes.get(code="c03"))
    page = open_as(page.context, coach_client, live_server)
    page.goto(live_server.url + PLAN)
    tap(page, "Alma Ahrendt", "Drop", "Base")
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        for width, height in ((320, 640), *SIZES.values()):
            page.set_viewport_size({"width": width, "height": height})
            page.evaluate(OPEN_EVERYTHING)
            assert page.evaluate(OVERFLOW) <= 0, f"{width} px wide"
            assert page.evaluate(SMALL_TARGETS) == []
        found = Axe().run(page).response["violations"]
        assert [(one["id"], one["nodes"][0]["html"]) for one in found] == [], scheme
    page.goto(live_server.url + PRINT)
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        found = Axe().run(page).response["violations"]
        assert [(one["id"], one["nodes"][0]["html"]) for one in found] == [], scheme


def test_the_keyboard_alone_moves_a_child_and_takes_it_back(
    page: Page,
    coach_client: Client,
    live_server: LiveServer,
    small_catalogue: dict[str, Skill],
) -> None:
    fill_hall(small_catalogue, athletes=2, loops=1)
    page = open_as(page.context, coach_client, live_server)
    page.goto(live_server.url + PLAN)
    cell = page.locator("td details").filter(has_text="Alma Ahrendt, Drop: ")
    for _ in range(60):
        page.keyboard.press("Tab")
        if cell.locator("summary").evaluate("one => one === document.activeElement"):
            break
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    expect(cell.locator("button").first).to_be_focused()
    page.keyboard.press("Enter")

    expect(page.locator("#moved")).to_contain_text("Alma Ahrendt at Drop: easier")
    # The address names the place, so the next Tab goes on from there.
    page.keyboard.press("Tab")
    expect(page.get_by_role("button", name="Undo")).to_be_focused()
    page.keyboard.press("Enter")

    expect(page.locator("#moved")).to_contain_text("taken back")
    assert standing() == set()
