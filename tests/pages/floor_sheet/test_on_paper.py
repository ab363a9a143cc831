"""The sheet is one A4 page, whatever stands on the floor, and all that matters is on it."""

import re
from collections.abc import Callable
from itertools import count

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import BrowserContext, Page, expect
from pytest_django.live_server_helper import LiveServer

from progress.models import Mat, Setup, Skill, Station, StationKind
from tests import makers

pytestmark = pytest.mark.django_db(transaction=True)

A4 = {"width": "210mm", "height": "297mm"}
FLOORS = {
    "nothing at all": [],
    "one loop of three": ["a b c"],
    "two loops of six with a split": ["a b c d e f", "a b g h i f"],
    "three loops sharing a middle": ["a b m c d", "e f m g", "h i m j k"],
    "three loops of eight": ["a b c d e f g h", "i j k l m n o p", "q r s t u v w x"],
    "six loops of two": ["a b", "c d", "e f", "g h", "i j", "k l"],
}
NAMES = ("Beam", "Stepping blocks", "Wedge and roll", "Overhead ladder with a rest in the middle")
LONG = "Both sides have mats. One child at a time. Fixed as its maker says, seen by a person."


@pytest.fixture
def build(small_catalogue: dict[str, Skill]) -> Callable[[list[str]], Setup]:
    """Build loops from strings of station codes: four variants each, cautions, no facts spared."""
    numbers = count()

    def station(setup: Setup, code: str) -> Station:
        number = next(numbers)
        kinds = (StationKind.BEAM, StationKind.DROP, StationKind.OVERHEAD, StationKind.CLIMB)
        made = makers.make_station(
            setup, code, name=f"{NAMES[number % 4]} {code}", kind=kinds[number % 4], mat=Mat.NONE
        )
        for step in (-1, 0, 1, 2):
            makers.make_variant(
                made,
                small_catalogue["LAND-1"],
                step=step,
                name=f"Hip high, jog in on a slant, number {step + 2}",
                height_m=0.4 + 0.3 * step,
                lanes=1 + number % 3,
                spotter=step > 0,
                caution=LONG,
            )
        return made

    def floor(loops: list[str]) -> Setup:
        setup = makers.make_setup(None, name="A floor with a name as long as people give them")
        made: dict[str, Station] = {}
        for number, loop in enumerate(loops):
            stations = [
                made.setdefault(code, made.get(code) or station(setup, code))
                for code in loop.split()
            ]
            name = f"Loop named {number}"
            makers.make_loop(setup, chr(65 + number), name=name, stations=stations, order=number)
        return setup

    return floor


@pytest.fixture
def opened(
    coach_client: Client, context: BrowserContext, page: Page, live_server: LiveServer
) -> Callable[[Setup], Page]:
    """Open the sheet of a floor as Kim."""

    def show(setup: Setup) -> Page:
        key = coach_client.session.session_key
        assert key is not None
        context.add_cookies([{"name": "sessionid", "value": key, "url": live_server.url}])
        page.goto(live_server.url + reverse("floor_sheet", args=[setup.pk]))
        return page

    return show


def pages_of(page: Page) -> int:
    paper = page.pdf(**A4, prefer_css_page_size=True)
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", paper))


@pytest.mark.parametrize("name", FLOORS)
def test_every_floor_is_one_a4_page_with_all_that_matters(
    name: str, build: Callable[[list[str]], Setup], opened: Callable[[Setup], Page]
) -> None:
    loops = FLOORS[name]
    page = opened(build(loops))

    assert pages_of(page) == 1
    page.emulate_media(media="print")
    stations = {code for loop in loops for code in loop.split()}
    assert page.locator(".wall-variants").count() == len(stations)
    for one in page.locator(".wall-variants li, .wall-ticks li, .wall-stop").all():
        assert one.is_visible() or "wall-stop" in str(one.get_attribute("class"))
    if loops:
        expect(page.get_by_text("These are prompts only")).to_be_visible()
        expect(page.locator(".wall-line").first).to_be_visible()


@pytest.mark.parametrize("name", ["one loop of three", "three loops of eight"])
def test_what_is_not_on_paper_is_counted_there_and_stands_on_the_page(
    name: str, build: Callable[[list[str]], Setup], opened: Callable[[Setup], Page]
) -> None:
    page = opened(build(FLOORS[name]))
    cautions = page.locator(".wall-caution, .wall-prompts li:not(:has-text('so not looked at'))")
    on_screen = sum(one.is_visible() for one in cautions.all())
    assert on_screen == cautions.count()

    page.emulate_media(media="print")

    on_paper = sum(one.is_visible() for one in cautions.all())
    told = page.locator(".wall-cautions .print-only").all_text_contents()
    left = next((int(m[1]) for t in told if (m := re.search(r"(\d+) more caution", t))), 0)
    assert on_paper + left == on_screen
    stops = page.locator(".wall-stop")
    assert stops.count() > 0
    named = " ".join(told)
    for one in stops.all():
        where = one.locator("strong").nth(1).text_content() or ""
        assert one.is_visible() or where.rstrip(":") in named


def test_a_floor_of_three_stations_is_printed_large_with_every_caution(
    build: Callable[[list[str]], Setup], opened: Callable[[Setup], Page]
) -> None:
    page = opened(build(["a b c"]))
    page.emulate_media(media="print")

    assert page.locator(".wall-caution.no-print, .wall-stop.no-print").count() == 0
    size = page.locator(".wall-variants li").first.evaluate("e => getComputedStyle(e).fontSize")
    assert float(size.removesuffix("px")) * 72 / 96 >= 8.49
