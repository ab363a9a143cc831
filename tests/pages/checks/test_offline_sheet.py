"""The check sheet itself on phones in a hall with a bad network: every tap is stored once."""

import re
from collections import Counter

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.pages.checks.conftest import Hall
from tests.pages.checks.phones import SHEET, Phone

ALL = SHEET + "?by=athlete"
PUT_AGAIN = """async ({ uid, result }) => {
  const { openQueue } = await import("/static/progress/sheet-queue.js");
  const queue = await openQueue(JSON.parse(document.getElementById("sheet-data").textContent));
  await queue.put({
    uid, result, athlete: "A00", skill: "SKILL-0", variant: null, at: new Date().toISOString(),
    supersedes: null, taken_back: false, reason: "",
  });
}"""


@pytest.fixture
def kims(hall: Hall, phone: Phone) -> BrowserContext:
    """Kim's phone."""
    return phone(hall, "kim")


def open_sheet(context: BrowserContext, hall: Hall) -> Page:
    """Open the sheet with every skill in view, ready for taps."""
    page = context.new_page()
    page.goto(hall.url + ALL)
    expect(page.locator("body.sheet-live")).to_be_attached()
    return page


def visit(context: BrowserContext, hall: Hall) -> Page:
    """Open it with a network, once, so that it is kept."""
    page = open_sheet(context, hall)
    expect(page.locator("html[data-kept=yes]")).to_be_attached()
    return page


def tap_all(page: Page, result: str = "clean", first: int = 0, last: int = 72) -> None:
    """One try for every child at every skill."""
    taps = page.locator(f"fieldset.tries .tap-{result}")
    expect(taps).to_have_count(72)
    for number in range(first, last):
        taps.nth(number).tap()


def says(page: Page, text: str) -> None:
    expect(page.locator("#status")).to_contain_text(text)


def each_cell_once(hall: Hall, coach: str = "kim") -> bool:
    """Whether this coach has exactly one try stored for every child at every skill."""
    found = Counter((child, skill) for child, skill, _, who in hall.stored() if who == coach)
    return len(found) == 72 and set(found.values()) == {1}


def test_a_class_recorded_offline_survives_a_closed_tab_and_is_stored_exactly_once(
    hall: Hall, kims: BrowserContext
) -> None:
    page = visit(kims, hall)
    kims.set_offline(True)
    tap_all(page, last=40)
    says(page, "40")
    page.close()

    page = open_sheet(kims, hall)
    expect(page.locator("ul.tally .chip")).to_have_count(40)
    tap_all(page, first=40)
    says(page, "No network: 72")
    assert hall.stored() == []
    page.close()
    page = open_sheet(kims, hall)
    expect(page.locator("ul.tally .chip")).to_have_count(72)

    kims.set_offline(False)

    says(page, "All saved")
    assert len(hall.stored()) == 72
    assert each_cell_once(hall)
    page.reload()
    expect(page.locator("ul.tally .chip")).to_have_count(72)


@pytest.mark.parametrize("moment", ["before-commit", "before-answer"])
def test_a_server_struck_down_while_it_stores_loses_and_doubles_nothing(
    hall: Hall, kims: BrowserContext, moment: str
) -> None:
    page = visit(kims, hall)
    kims.set_offline(True)
    tap_all(page)
    hall.die(moment)
    kims.set_offline(False)
    assert hall.died() == 9
    assert len(hall.stored()) == (72 if moment == "before-answer" else 0)
    says(page, "72")

    hall.start()

    says(page, "All saved")
    assert len(hall.stored()) == 72
    assert each_cell_once(hall)


def test_of_two_coaches_at_the_same_sheet_every_try_is_kept(
    hall: Hall, kims: BrowserContext, phone: Phone
) -> None:
    phones = [kims, phone(hall, "sam")]
    pages = [visit(context, hall) for context in phones]
    for context, page, result in zip(phones, pages, ("clean", "miss"), strict=True):
        context.set_offline(True)
        tap_all(page, result)
    for context in phones:
        context.set_offline(False)

    for page in pages:
        says(page, "All saved")
    assert len(hall.stored()) == 144
    assert each_cell_once(hall, "kim")
    assert each_cell_once(hall, "sam")


def test_a_session_that_ended_meanwhile_loses_nothing_and_asks_to_sign_in(
    hall: Hall, kims: BrowserContext
) -> None:
    page = visit(kims, hall)
    kims.set_offline(True)
    tap_all(page)
    hall.end_session("kim")
    kims.set_offline(False)
    says(page, "Sign in again to send 72")
    assert hall.stored() == []

    page.get_by_role("link", name="Sign in").tap()
    page.get_by_label("Username").fill("kim")
    page.get_by_label("Password").fill("correct horse battery")
    page.get_by_role("button", name="Sign in").tap()

    says(page, "All saved")
    assert page.url.startswith(hall.url + SHEET)
    assert len(hall.stored()) == 72
    assert each_cell_once(hall)


def test_a_try_sent_again_with_other_content_is_refused_in_its_cell_and_the_rest_is_stored(
    hall: Hall, kims: BrowserContext, phone: Phone
) -> None:
    first = visit(kims, hall)
    tap_all(first, last=1)
    says(first, "All saved")
    [(uid,)] = hall.ask("SELECT uid FROM progress_attempt")
    restored = phone(hall, "kim")
    page = visit(restored, hall)
    restored.set_offline(True)
    page.evaluate(PUT_AGAIN, {"uid": uid, "result": "miss"})
    tap_all(page, "assisted")
    restored.set_offline(False)

    expect(page.locator("#status")).to_have_text(re.compile("^1 not stored"))
    cell = page.locator('fieldset[data-athlete="A00"][data-skill="SKILL-0"]')
    expect(cell).to_contain_text("stored before with other content")
    assert len(hall.stored()) == 73

    cell.get_by_role("button", name="Take it off").tap()
    says(page, "All saved")
    assert len(hall.stored()) == 73


def test_the_policy_refuses_nothing_that_the_offline_part_does(
    hall: Hall, kims: BrowserContext
) -> None:
    complaints: list[str] = []
    kims.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    page = visit(kims, hall)

    tap_all(page, last=3)
    says(page, "All saved")
    page.reload()
    expect(page.locator("ul.tally .chip")).to_have_count(3)

    assert complaints == []


def test_a_try_undone_without_a_network_is_never_stored(hall: Hall, kims: BrowserContext) -> None:
    page = visit(kims, hall)
    kims.set_offline(True)
    tap_all(page, last=2)
    says(page, "No network: 2")
    page.locator("ul.tally .chip").first.tap()
    says(page, "No network: 1")

    kims.set_offline(False)

    says(page, "All saved")
    assert len(hall.stored()) == 1
