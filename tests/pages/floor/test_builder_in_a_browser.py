"""A coach plans a week on a phone: by keyboard, by touch, and where no script runs."""

from collections.abc import Callable, Iterator
from datetime import date, timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Browser, BrowserContext, Page, expect
from pytest_django.live_server_helper import LiveServer

from progress.models import Loop, Setup, Skill
from tests import makers
from tests.usecases.floors.floors import Hall, order_of

pytestmark = pytest.mark.django_db(transaction=True)

WEEK = timedelta(weeks=1)
SMALLEST, PHONE, LAPTOP = (320, 640), (390, 844), (1280, 800)
OPEN_EVERYTHING = "document.querySelectorAll('details').forEach(fold => { fold.open = true })"
OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"

Phone = Callable[..., Page]


@pytest.fixture
def phone(
    browser: Browser, live_server: LiveServer, coach_client: Client, stands: Hall, library: Setup
) -> Iterator[Phone]:
    """Kim's phone, with or without scripts; nothing may make the browser complain."""
    opened: list[BrowserContext] = []
    heard: list[str] = []

    def open_phone(*, scripts: bool = True) -> Page:
        context = browser.new_context(
            viewport={"width": PHONE[0], "height": PHONE[1]},
            has_touch=True,
            java_script_enabled=scripts,
        )
        key = coach_client.session.session_key
        assert key is not None
        context.add_cookies([{"name": "sessionid", "value": key, "url": live_server.url}])
        opened.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: heard.append(str(error)))
        page.on(
            "console",
            lambda said: heard.append(said.text) if said.type in {"error", "warning"} else None,
        )
        return page

    yield open_phone
    for context in opened:
        context.close()
    assert heard == []


def copy_last_week(page: Page, url: str, today: date) -> Setup:
    """Open the floor and copy what stands to next week in one tap."""
    page.goto(url + reverse("floor_weeks"))
    page.get_by_role("button", name="Copy to week of 9 March").first.click()
    expect(page.locator(".told")).to_contain_text("is your draft for the week of 9 March")
    return Setup.objects.get(planned_for=today + WEEK)


def grip_of(page: Page, loop: Loop, code: str) -> tuple[float, float]:
    """The middle of a station's grip on the screen."""
    station = loop.stations.get(code=code)
    grip = page.locator(f"#stop-{loop.pk}-{station.pk} .grip")
    grip.scroll_into_view_if_needed()
    box = grip.bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def touch_drag(page: Page, start: tuple[float, float], end: tuple[float, float]) -> None:
    """A finger goes down at ``start``, slides to ``end`` and lifts."""
    finger = page.context.new_cdp_session(page)

    def touch(kind: str, *points: tuple[float, float]) -> None:
        finger.send(
            "Input.dispatchTouchEvent",
            {"type": kind, "touchPoints": [{"x": x, "y": y} for x, y in points]},
        )

    touch("touchStart", start)
    for part in range(1, 11):
        x = start[0] + (end[0] - start[0]) * part / 10
        y = start[1] + (end[1] - start[1]) * part / 10
        touch("touchMove", (x, y))
        page.wait_for_timeout(20)
    touch("touchEnd")


def test_a_week_is_planned_on_a_phone(phone: Phone, live_server: LiveServer, today: date) -> None:
    """Copy, move by keyboard, move by touch, add from the library, publish."""
    page = phone()
    draft = copy_last_week(page, live_server.url, today)
    left = draft.loops.get(code="left")

    drop = left.stations.get(code="drop")
    up = page.locator(f"#up-{left.pk}-{drop.pk}")
    up.focus()
    page.keyboard.press("Enter")
    expect(page.locator(".told")).to_contain_text("Drop is now number 2 on Left.")
    expect(page.locator(f"#up-{left.pk}-{drop.pk}")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator(".told")).to_contain_text("Drop is now number 1 on Left.")
    assert order_of(left) == ["drop", "start", "beam"]

    beam, drop_at = grip_of(page, left, "beam"), grip_of(page, left, "drop")
    touch_drag(page, beam, (drop_at[0], drop_at[1] - 60))
    expect(page.locator(".told")).to_contain_text("Beam is now number 1 on Left.")
    assert order_of(left) == ["beam", "drop", "start"]

    page.locator(f"#loop-{left.pk}").get_by_role("link", name="Add a station").click()
    page.get_by_label("Find by name").fill("ne")
    expect(page.get_by_role("button", name="Add Box")).to_be_visible()
    page.get_by_label("Find by name").fill("net")
    expect(page.get_by_role("button", name="Add Box")).to_be_hidden()
    page.get_by_role("button", name="Add Net").click()
    expect(page.locator(".told")).to_contain_text("Net is now on Left.")
    assert order_of(left) == ["beam", "drop", "start", "net"]

    page.get_by_role("button", name="Publish for week of 9 March").click()
    expect(page.locator(".told")).to_contain_text("is published for the week of 9 March")
    assert Setup.objects.on_floor(today + WEEK) == draft


def test_a_week_is_planned_where_no_script_runs(
    phone: Phone, live_server: LiveServer, today: date
) -> None:
    page = phone(scripts=False)
    draft = copy_last_week(page, live_server.url, today)
    left, right = draft.loops.get(code="left"), draft.loops.get(code="right")
    assert page.locator(".grip").count() == 0

    page.get_by_role("button", name="Move Beam up on Left").click()
    expect(page.locator(".told")).to_contain_text("Beam is now number 1 on Left.")
    page.get_by_text("More for Beam on Left").click()
    page.get_by_role("button", name="Move Beam to that loop").click()
    expect(page.locator(".told")).to_contain_text("on Right")
    assert order_of(right) == ["start", "rope", "beam"]
    page.get_by_role("button", name="Undo").click()
    expect(page.locator(".told")).to_contain_text("Beam is back on Left.")
    assert order_of(left) == ["beam", "start", "drop"]

    page.get_by_role("link", name="Add a station to Left").click()
    page.get_by_role("button", name="Share Rope").click()
    expect(page.locator(".told")).to_contain_text("Rope is now on Left, shared with Right.")
    page.get_by_role("button", name="Publish for week of 9 March").click()
    assert Setup.objects.get(pk=draft.pk).published


def test_a_station_is_dragged_with_a_mouse_to_another_loop(
    phone: Phone, live_server: LiveServer, today: date
) -> None:
    page = phone()
    draft = copy_last_week(page, live_server.url, today)
    page.set_viewport_size({"width": LAPTOP[0], "height": 2400})
    left, right = draft.loops.get(code="left"), draft.loops.get(code="right")
    start, end = grip_of(page, left, "beam"), grip_of(page, right, "rope")

    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(end[0], end[1] + 60, steps=12)
    page.mouse.up()

    expect(page.locator(".told")).to_contain_text("Beam is now number 3 on Right.")
    assert order_of(right) == ["start", "rope", "beam"]
    assert order_of(left) == ["start", "drop"]


def test_escape_leaves_everything_as_it_was(
    phone: Phone, live_server: LiveServer, today: date
) -> None:
    page = phone()
    draft = copy_last_week(page, live_server.url, today)
    left = draft.loops.get(code="left")
    start = grip_of(page, left, "start")

    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(start[0], start[1] + 250, steps=8)
    expect(page.locator(".stop-gap")).to_have_count(1)
    page.keyboard.press("Escape")
    page.mouse.up()

    expect(page.locator(".stop-gap")).to_have_count(0)
    assert order_of(left) == ["start", "beam", "drop"]


def test_the_screen_stays_where_it_was_after_a_change(
    phone: Phone, live_server: LiveServer, today: date
) -> None:
    page = phone()
    draft = copy_last_week(page, live_server.url, today)
    right = draft.loops.get(code="right")
    button = page.get_by_role("button", name="Move Rope up on Right")
    button.scroll_into_view_if_needed()
    before = page.evaluate("window.scrollY")
    assert before > 0

    button.click()

    expect(page.locator(".told")).to_contain_text("Rope is now number 1")
    assert abs(page.evaluate("window.scrollY") - before) < 5
    assert order_of(right) == ["rope", "start"]


def full_hall(setup: Setup, skill: Skill) -> None:
    """Three loops of eight, with long names."""
    for number in range(3):
        stations = [
            makers.make_station(
                setup,
                f"full-{number}-{place}",
                name=f"Hanging rings and a long way over to platform {place}",
                variants=[skill] * 3,
            )
            for place in range(8)
        ]
        makers.make_loop(setup, name=f"The long way round {number}", stations=stations)


@pytest.mark.parametrize("case", ["empty", "one", "full"])
def test_the_pages_are_sound_in_light_and_dark_on_small_and_large_screens(
    case: str,
    phone: Phone,
    live_server: LiveServer,
    today: date,
    small_catalogue: dict[str, Skill],
    stands: Hall,
) -> None:
    draft = makers.make_setup(published=False, planned_for=today + 2 * WEEK)
    if case == "one":
        bare = makers.make_station(draft, variants=[small_catalogue["LAND-1"]])
        makers.make_loop(draft, stations=[bare])
    if case == "full":
        full_hall(draft, small_catalogue["LAND-1"])
    beam = stands.beam
    names = [reverse("floor_weeks"), reverse("floor_setup", args=[draft.pk])]
    if case == "full":
        loop = draft.loops.all()[0]
        names += [
            reverse("floor_setup", args=[stands.setup.pk]),
            reverse("floor_throw_away", args=[draft.pk]),
            reverse("floor_pick", args=[draft.pk, loop.pk]),
            reverse("floor_library"),
            reverse("floor_station", args=[loop.stations.all()[0].pk]),
            reverse("floor_variant_new", args=[loop.stations.all()[0].pk]),
            reverse("floor_station", args=[beam.pk]),
        ]
    page = phone()
    for name in names:
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            for width, height in (SMALLEST, PHONE, LAPTOP):
                page.set_viewport_size({"width": width, "height": height})
                page.goto(live_server.url + name)
                page.evaluate(OPEN_EVERYTHING)
                assert page.evaluate(OVERFLOW) <= 0, f"{name}: {width} px wide, {scheme}"
            found = Axe().run(page).response["violations"]
            assert [(one["id"], one["nodes"][0]["html"]) for one in found] == [], (name, scheme)
