"""The sheet in a coach's hand: taps counted, shown at once, sent, taken back; and by keyboard.

The gym is a process of its own with twelve children; see conftest.
"""

import re

from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.pages.checks.conftest import Hall, sign_in
from tests.pages.checks.on_a_phone import cell, kims, open_sheet, says, sheet, tally

__all__ = ["kims", "sheet"]  # fixtures

CLASS = "/classes/monday/"
MOST_TAPS = 45
# What a class of twelve is like: most of it clean, some with help, a few not yet.
MIX = ["Clean", "Clean", "With help", "Clean", "Not yet", "Clean"] * 2
RESULTS = {"Clean": "clean", "With help": "assisted", "Not yet": "miss"}


def test_twelve_children_at_three_skills_take_at_most_45_taps(
    hall: Hall, kims: BrowserContext
) -> None:
    page, taps = kims.new_page(), 0
    page.goto(hall.url + CLASS)

    page.get_by_role("link", name=re.compile("Record checks|sheet$")).tap()
    taps += 1
    expect(page.locator("body.sheet-live")).to_be_attached()
    for number in range(3):
        if number:
            page.locator("[data-tab]").nth(number).tap()
            taps += 1
        for child, word in enumerate(MIX):
            cell(page, child).get_by_role("button", name=word, exact=True).tap()
            taps += 1
    page.get_by_role("button", name="Finish").tap()
    taps += 1

    expect(page.get_by_role("heading", name="What changed today")).to_be_visible()
    assert taps <= MOST_TAPS
    assert sorted(row[2] for row in hall.stored()) == sorted(RESULTS[word] for word in MIX * 3)
    assert len({(row[0], row[1]) for row in hall.stored()}) == 36
    assert {row[3] for row in hall.stored()} == {"kim"}


def test_by_keyboard_alone_a_child_is_recorded_taken_back_and_the_sheet_finished(
    hall: Hall, browser: Browser
) -> None:
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    sign_in(context, hall, "kim")
    page = context.new_page()
    open_sheet(page, hall)

    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.matches('.tap')"):
            break
    expect(cell(page, 0).get_by_role("button", name="Clean", exact=True)).to_be_focused()
    page.keyboard.press("Enter")
    page.keyboard.type("hn")
    assert tally(page, 0) == ["Clean", "With help", "Not yet"]
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("c")
    assert tally(page, 2) == ["Clean"]
    for _ in range(3):
        page.keyboard.press("Tab")  # past the three buttons to the try
    page.keyboard.press("Enter")
    assert tally(page, 2) == []
    expect(cell(page, 2).get_by_role("button", name="Clean", exact=True)).to_be_focused()
    page.keyboard.press("Control+c")
    assert tally(page, 2) == []
    for _ in range(200):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.id") == "finish":
            break
    page.keyboard.press("Enter")

    expect(page.get_by_role("heading", name="What changed today")).to_be_visible()
    assert [row[2] for row in hall.stored()] == ["clean", "assisted", "miss"]
    context.close()


class TestTaps:
    def test_a_tap_is_shown_at_once_and_sent_by_itself(self, hall: Hall, sheet: Page) -> None:
        cell(sheet, 3).get_by_role("button", name="With help").tap()

        assert tally(sheet, 3) == ["With help"]
        expect(sheet.locator("[data-tab][aria-current] [data-done]")).to_have_text("1 of 12")
        expect(sheet.locator("#spoken")).to_have_text(
            re.compile("Child 03, .+: With help. 1 today.")
        )
        says(sheet, "All saved")
        assert [row[2] for row in hall.stored()] == ["assisted"]

    def test_a_try_that_is_not_sent_yet_is_simply_dropped(
        self, hall: Hall, sheet: Page, kims: BrowserContext
    ) -> None:
        kims.set_offline(True)
        cell(sheet, 0).get_by_role("button", name="Clean", exact=True).tap()
        cell(sheet, 0).get_by_role("button", name="Not yet").tap()
        says(sheet, "No network: 2 kept on this phone")

        cell(sheet, 0).get_by_role("button", name="Clean: take back").tap()

        assert tally(sheet, 0) == ["Not yet"]
        kims.set_offline(False)
        says(sheet, "All saved")
        assert [row[2] for row in hall.stored()] == ["miss"]

    def test_a_try_that_was_sent_is_taken_back_by_a_new_row(self, hall: Hall, sheet: Page) -> None:
        with sheet.expect_response("**/send/"):
            cell(sheet, 0).get_by_role("button", name="Clean", exact=True).tap()
        says(sheet, "All saved")
        with sheet.expect_response("**/send/"):
            cell(sheet, 0).get_by_role("button", name="take back").tap()

        assert tally(sheet, 0) == []
        says(sheet, "All saved")
        rows = hall.ask("SELECT taken_back, reason FROM progress_attempt ORDER BY id")
        assert rows == [(0, ""), (1, "Corrected on the day")]

    def test_todays_tries_are_there_after_a_reload(self, hall: Hall, sheet: Page) -> None:
        cell(sheet, 0).get_by_role("button", name="Clean", exact=True).tap()
        cell(sheet, 0).get_by_role("button", name="With help").tap()
        says(sheet, "All saved")

        open_sheet(sheet, hall)

        assert tally(sheet, 0) == ["Clean", "With help"]

    def test_tries_that_wait_are_there_after_a_reload(self, hall: Hall, sheet: Page) -> None:
        sheet.route("**/send/", lambda route: route.abort())
        cell(sheet, 0).get_by_role("button", name="Not yet").tap()
        says(sheet, "No network: 1 kept on this phone")

        open_sheet(sheet, hall)

        assert tally(sheet, 0) == ["Not yet"]

    def test_a_kept_page_shows_what_was_sent_after_it_was_drawn(
        self, hall: Hall, sheet: Page, kims: BrowserContext
    ) -> None:
        expect(sheet.locator("html[data-kept=yes]")).to_be_attached()
        cell(sheet, 0).get_by_role("button", name="Clean", exact=True).tap()
        cell(sheet, 1).get_by_role("button", name="Clean", exact=True).tap()
        says(sheet, "All saved")
        cell(sheet, 1).get_by_role("button", name="take back").tap()
        says(sheet, "All saved")
        expect(sheet.locator("html[data-copy=fresh]")).to_be_attached()
        kims.set_offline(True)

        open_sheet(sheet, hall)

        assert tally(sheet, 0) == ["Clean"]
        assert tally(sheet, 1) == []

    def test_without_a_network_another_skill_is_still_a_tap_away(
        self, sheet: Page, kims: BrowserContext
    ) -> None:
        kims.set_offline(True)
        second = sheet.locator("[data-tab]").nth(1)
        second.tap()

        shown = second.get_attribute("data-tab")
        expect(cell(sheet, 0)).to_have_attribute("data-skill", str(shown))
        expect(cell(sheet, 0)).to_have_count(1)
        sheet.get_by_role("link", name="All skills").tap()
        assert cell(sheet, 0).count() > 1

    def test_finishing_without_a_network_keeps_everything_and_says_so(
        self, sheet: Page, kims: BrowserContext
    ) -> None:
        kims.set_offline(True)
        cell(sheet, 0).get_by_role("button", name="Clean", exact=True).tap()
        sheet.get_by_role("button", name="Finish").tap()

        says(sheet, "nothing is lost")
        assert tally(sheet, 0) == ["Clean"]

    def test_a_session_that_ended_asks_to_sign_in_again(self, hall: Hall, sheet: Page) -> None:
        hall.end_session("kim")
        cell(sheet, 0).get_by_role("button", name="Clean", exact=True).tap()

        says(sheet, "Sign in again to send 1")
        link = sheet.get_by_role("link", name="Sign in")
        expect(link).to_have_attribute("href", re.compile(r"/accounts/login/\?next=.*checks"))

    def test_a_refused_try_says_why_at_its_cell_and_can_be_taken_off(
        self, hall: Hall, sheet: Page
    ) -> None:
        hall.ask(
            "DELETE FROM progress_enrolment WHERE athlete_id IN"
            " (SELECT id FROM progress_athlete WHERE code = 'A05')"
        )
        cell(sheet, 5).get_by_role("button", name="Clean", exact=True).tap()

        says(sheet, "1 not stored")
        expect(cell(sheet, 5)).to_contain_text("is not in this class today")
        cell(sheet, 5).get_by_role("button", name="Take it off").tap()
        says(sheet, "All saved")
        assert tally(sheet, 5) == []
        assert hall.stored() == []


class TestRegister:
    def away(self, hall: Hall) -> list[tuple[object, ...]]:
        return hall.ask(
            "SELECT a.code FROM progress_registerentry e JOIN progress_athlete a"
            " ON a.id = e.athlete_id WHERE NOT e.present"
        )

    def test_a_tap_moves_a_child_below_and_another_brings_it_back(
        self, hall: Hall, sheet: Page
    ) -> None:
        sheet.get_by_text("Register").tap()
        child = sheet.locator("#register .toggle", has_text="Child 04")

        with sheet.expect_response("**/register/"):
            child.tap()
        expect(sheet.locator("#register summary")).to_contain_text("11 here, 1 away")
        expect(sheet.locator('table[data-place="away"] tbody tr')).to_have_count(1)
        assert self.away(hall) == [("A04",)]
        with sheet.expect_response("**/register/"):
            child.tap()
        expect(sheet.locator("#register summary")).to_contain_text("12 here")
        rows = sheet.locator('table[data-place="here"] tbody th').all_text_contents()
        assert [text.split()[1] for text in rows] == [f"{n:02}" for n in range(12)]
        assert self.away(hall) == []

    def test_without_a_network_it_is_kept_and_sent_later(
        self, hall: Hall, sheet: Page, kims: BrowserContext
    ) -> None:
        sheet.get_by_text("Register").tap()
        kims.set_offline(True)
        sheet.locator("#register .toggle", has_text="Child 04").tap()
        expect(sheet.locator("#register")).to_contain_text("the register is kept on this phone")
        with sheet.expect_response("**/register/"):
            kims.set_offline(False)

        expect(sheet.locator("#register")).not_to_contain_text("kept on this phone")
        assert self.away(hall) == [("A04",)]
