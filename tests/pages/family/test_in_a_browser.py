"""The family page in a real browser: the chart on demand, twice the text, and right to left."""

import re
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings as site
from django.test import Client
from django.urls import reverse
from playwright.sync_api import BrowserContext, Page, expect
from pytest_django import Settings
from pytest_django.live_server_helper import LiveServer

from progress.models import Athlete, HomeIdea, Note, Skill, Tier
from progress.usecases.load_catalogue import load_catalogue, starter_catalogue
from tests import makers
from tests.pages.family import pseudo

pytestmark = pytest.mark.django_db(transaction=True)

SMALLEST, PHONE, LAPTOP = (320, 640), (390, 844), (1280, 800)
OPEN_EVERYTHING = "document.querySelectorAll('details').forEach(fold => { fold.open = true })"
OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
LATIN = re.compile(r"[A-Za-z]+")


@pytest.fixture
def family(
    linked_client: Client, ada: Athlete, context: BrowserContext, live_server: LiveServer
) -> str:
    """The address of the page, opened in this browser by Ada's guardian; all parts are on it."""
    load_catalogue(source=starter_catalogue())
    HomeIdea.objects.update(active=True)
    balance = Skill.objects.get(code="BAL-1")
    makers.make_attempt(ada, balance, "assisted")
    makers.make_hold(ada, ladders=[Skill.objects.get(code="ROPE-1").ladder])
    key = linked_client.cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": key, "url": live_server.url}])
    return live_server.url + reverse("family_page")


def speak(context: BrowserContext, url: str, language: str) -> None:
    """Have the browser ask for pages in this language."""
    context.add_cookies([{"name": site.LANGUAGE_COOKIE_NAME, "value": language, "url": url}])


def test_the_chart_library_is_fetched_when_the_fold_is_opened_and_not_before(
    page: Page, family: str, complaints: list[str]
) -> None:
    asked_for: list[str] = []
    page.on("request", lambda request: asked_for.append(request.url))
    page.goto(family)
    page.wait_for_load_state("networkidle")
    assert not [url for url in asked_for if "plotly" in url]
    expect(page.locator(".course svg")).to_be_visible()

    page.get_by_text("Look month by month").click()

    expect(page.locator(".chart .main-svg").first).to_be_visible()
    assert [url for url in asked_for if "plotly" in url]
    assert complaints == []


def test_without_the_chart_library_the_list_says_the_same(page: Page, family: str) -> None:
    page.route("**/plotly.min.js", lambda route: route.abort())
    page.goto(family)
    page.get_by_text("Look month by month").click()

    expect(page.locator(".chart")).to_contain_text("The list below says the same")
    expect(page.locator(".months li").last).to_contain_text("2 skills")


@pytest.mark.parametrize("language", ["en", "es"])
def test_text_at_twice_the_size_fits_the_smallest_phone(
    page: Page, family: str, context: BrowserContext, language: str
) -> None:
    speak(context, family, language)
    page.set_viewport_size({"width": SMALLEST[0], "height": SMALLEST[1]})
    page.goto(family)
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    page.evaluate(OPEN_EVERYTHING)

    assert page.evaluate(OVERFLOW) <= 0


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_three_answers_stand_on_the_first_screens_of_a_phone(
    page: Page, family: str, context: BrowserContext, language: str
) -> None:
    """Can do, working on and next come before everything else but a rest."""
    speak(context, family, language)
    page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    page.goto(family)
    box = page.locator(".three").bounding_box()
    assert box is not None
    assert box["y"] < PHONE[1] / 2
    assert box["y"] + box["height"] < 2 * PHONE[1]


class TestRightToLeft:
    @pytest.fixture(autouse=True)
    def _made_up_language(
        self, settings: Settings, tmp_path: Path, context: BrowserContext, family: str
    ) -> None:
        pseudo.write(tmp_path)
        settings.LOCALE_PATHS = [str(tmp_path)]
        settings.LANGUAGES = [*site.LANGUAGES, (pseudo.CODE, "Made up")]
        speak(context, family, pseudo.CODE)

    def test_the_page_turns_round_and_fits_every_screen(
        self, page: Page, family: str, complaints: list[str]
    ) -> None:
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            for width, height in (SMALLEST, PHONE, LAPTOP):
                page.set_viewport_size({"width": width, "height": height})
                page.goto(family)
                assert page.locator("html").get_attribute("dir") == "rtl"
                assert page.locator("html").get_attribute("lang") == pseudo.CODE
                page.evaluate(OPEN_EVERYTHING)
                assert page.evaluate(OVERFLOW) <= 0, f"{width} px wide, {scheme}"
        found = Axe().run(page).response["violations"]
        assert [(one["id"], one["nodes"][0]["html"]) for one in found] == []
        assert complaints == []

    def test_rungs_stand_at_the_side_where_reading_begins_clear_of_their_words(
        self, page: Page, family: str
    ) -> None:
        page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
        page.goto(family)
        page.evaluate(OPEN_EVERYTHING)
        rung = page.locator(".rung").first
        drawing = rung.locator(".rung-drawing").bounding_box()
        name = rung.locator(".rung-name").bounding_box()
        assert drawing is not None
        assert name is not None
        assert drawing["x"] >= name["x"] + name["width"]

    def test_nothing_is_left_in_english_but_names_and_what_people_wrote(
        self, page: Page, family: str, ada: Athlete
    ) -> None:
        Note.objects.create(
            athlete=ada, text="Well waited.", for_family=True, written_at=makers.moment(hour=9)
        )
        Tier.objects.update(name="45")
        Skill.objects.filter(code__in=("LAND-1", "HANG-1", "LAND-2", "HANG-2", "HANG-3")).update(
            name="123"
        )
        page.goto(family)
        page.evaluate(OPEN_EVERYTHING)
        page.evaluate(
            "document.querySelectorAll('h1 bdi, summary bdi, .after bdi').forEach(e => e.remove())"
        )
        page.evaluate("document.querySelector('form.language').remove()")
        page.evaluate("document.querySelector('blockquote').remove()")
        page.evaluate("document.querySelectorAll('.chart').forEach(e => e.remove())")

        assert LATIN.findall(page.locator("body").inner_text()) == []
        assert LATIN.findall(page.title()) == []
