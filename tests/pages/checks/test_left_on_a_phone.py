"""What stays on a coach's phone: only what the gym has not stored yet, and it goes by itself."""

import re
from collections.abc import Callable
from typing import Any

from playwright.sync_api import BrowserContext, Page, expect

from tests.pages.checks.conftest import Hall
from tests.pages.checks.on_a_phone import (
    SHEET,
    cell,
    kims,
    open_sheet,
    says,
    sheet,
    tally,
    tally_grows_to,
)
from tests.pages.checks.phones import is_gone

__all__ = ["kims", "sheet"]  # fixtures

KEPT = """async () => {
  const found = { ...localStorage, ...sessionStorage };
  for (const { name } of await indexedDB.databases()) {
    const database = await new Promise((resolve, reject) => {
      const request = indexedDB.open(name);
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => reject(request.error);
    });
    for (const store of database.objectStoreNames) {
      found[`${name} ${store}`] = await new Promise((resolve) => {
        const request = database.transaction(store).objectStore(store).getAll();
        request.onsuccess = () => resolve(request.result);
      });
    }
    database.close();
  }
  return found;
}"""
PAGES = (
    """async () => (await (await caches.open("gym-sheet-pages-1")).keys()).map(({ url }) => url)"""
)


def kept(page: Page) -> dict[str, Any]:
    """What the page's stores hold, whatever their names."""
    return dict(page.evaluate(KEPT))


def is_kept(page: Page) -> None:
    expect(page.locator("html[data-kept=yes]")).to_be_attached()


def is_drawn_afresh(page: Page) -> None:
    expect(page.locator("html[data-copy=fresh]")).to_be_attached()


def tap(page: Page, child: int, word: str = "Clean") -> None:
    cell(page, child).get_by_role("button", name=word, exact=True).tap()


class TestWhatIsStoredLeavesThePhone:
    def test_no_try_and_no_register_mark_stays(
        self, hall: Hall, sheet: Page, kims: BrowserContext
    ) -> None:
        kims.set_offline(True)
        tap(sheet, 0)
        tap(sheet, 1, "Not yet")
        sheet.get_by_text("Register").tap()
        sheet.locator("#register .toggle", has_text="Child 04").tap()
        says(sheet, "No network: 2")
        waiting = str(kept(sheet))
        assert all(word in waiting for word in ("A00", "A01", "A04", "clean", "miss"))

        kims.set_offline(False)

        says(sheet, "All saved")
        expect(sheet.locator("#register")).not_to_contain_text("kept on this phone")
        assert len(hall.stored()) == 2
        left = str(kept(sheet))
        assert not re.search(r"A\d\d|Child|SKILL|clean|miss|assisted", left), left

    def test_what_an_older_sheet_kept_is_cleared(self, hall: Hall, sheet: Page) -> None:
        sheet.evaluate("localStorage.setItem('sheet-tries-2026-03-02-kim-monday', '[1]')")
        open_sheet(sheet, hall)
        assert "sheet-tries-2026-03-02-kim-monday" not in kept(sheet)

    def test_the_sheet_still_opens_without_a_network_and_says_that_it_is_a_copy(
        self, hall: Hall, sheet: Page, kims: BrowserContext
    ) -> None:
        is_kept(sheet)
        expect(sheet.locator("#copy")).to_be_hidden()
        tap(sheet, 0)
        says(sheet, "All saved")
        is_drawn_afresh(sheet)
        kims.set_offline(True)

        open_sheet(sheet, hall)

        assert tally(sheet, 0) == ["Clean"]
        expect(sheet.locator("#copy")).to_contain_text("this is the sheet of")

    def test_leaving_the_sheet_draws_the_copy_afresh_at_once(
        self, hall: Hall, sheet: Page, kims: BrowserContext
    ) -> None:
        is_kept(sheet)
        tap(sheet, 0)
        sheet.get_by_role("button", name="Finish").tap()
        expect(sheet.get_by_role("heading", name="What changed today")).to_be_visible()
        text = (
            "async () => (await (await caches.match(new URL('/classes/monday/checks/', location)"
            ")).text()).includes('/correct/?sheet=')"
        )
        sheet.wait_for_load_state("networkidle")
        sheet.wait_for_function(text)
        kims.set_offline(True)

        open_sheet(sheet, hall)

        tally_grows_to(sheet, 0, 1)
        assert tally(sheet, 0) == ["Clean"]


class TestAnotherPersonOnThePhone:
    def test_signing_out_and_in_as_somebody_else_leaves_no_sheet(
        self, hall: Hall, sheet: Page, kims: BrowserContext
    ) -> None:
        is_kept(sheet)
        sheet.goto(hall.url + "/classes/")
        assert any(SHEET in address for address in sheet.evaluate(PAGES))
        hall.end_session("kim")  # nobody signed out
        sheet.goto(hall.url + "/classes/")
        assert any(SHEET in address for address in sheet.evaluate(PAGES))

        sheet.get_by_label("Username").fill("sam")
        sheet.get_by_label("Password").fill("correct horse battery")
        sheet.get_by_role("button", name="Sign in").tap()
        expect(sheet).to_have_url(hall.url + "/classes/")

        is_gone(sheet)
        assert sheet.evaluate(PAGES) == []


class TestOnOtherPages:
    def leave_waiting(self, page: Page, context: BrowserContext, children: int) -> None:
        context.set_offline(True)
        for child in range(children):
            tap(page, child)
        says(page, f"No network: {children}")
        page.close()

    def test_tries_that_wait_are_spoken_of_and_sent(
        self, hall: Hall, sheet: Page, kims: BrowserContext
    ) -> None:
        self.leave_waiting(sheet, kims, 3)
        kims.set_offline(False)
        kims.route("**/send/", lambda route: route.abort())
        page = kims.new_page()

        page.goto(hall.url + "/classes/")

        expect(page.locator("#tries-waiting")).to_have_text("3 tries wait on this phone. ")
        assert hall.stored() == []
        kims.unroute("**/send/")
        line = page.locator("#tries-waiting")
        expect(line).to_have_text("Every try of yours on this phone is sent. ")
        assert len(hall.stored()) == 3

    def test_tries_of_another_coach_wait_for_that_coach(
        self, hall: Hall, sheet: Page, kims: BrowserContext
    ) -> None:
        self.leave_waiting(sheet, kims, 1)
        kims.set_offline(False)
        cookie = {"name": "sessionid", "value": hall.sessions["sam"], "url": hall.url}
        kims.add_cookies([cookie])  # type: ignore[list-item]
        page = kims.new_page()

        page.goto(hall.url + "/classes/")

        expect(page.locator("#tries-waiting")).to_contain_text("1 try of another coach waits here")
        assert hall.stored() == []

    def test_a_refused_try_leads_to_its_sheet(
        self, hall: Hall, sheet: Page, kims: BrowserContext
    ) -> None:
        self.leave_waiting(sheet, kims, 1)
        hall.ask(
            "DELETE FROM progress_enrolment WHERE athlete_id IN"
            " (SELECT id FROM progress_athlete WHERE code = 'A00')"
        )
        kims.set_offline(False)
        page = kims.new_page()

        page.goto(hall.url + "/classes/")

        line = page.locator("#tries-waiting")
        expect(line).to_contain_text("A try was not stored.")
        expect(line.get_by_role("link")).to_have_attribute("href", SHEET)

    def test_a_phone_that_never_recorded_loads_nothing_for_it(
        self, hall: Hall, phone: Callable[..., BrowserContext]
    ) -> None:
        page = phone(hall, "sam").new_page()
        asked: list[str] = []
        page.on("request", lambda sent: asked.append(sent.url))

        page.goto(hall.url + "/classes/", wait_until="networkidle")

        assert any("sheet-waiting" in url for url in asked)
        assert not any("sheet-queue" in url or "/token/" in url for url in asked)
        expect(page.locator("#tries-waiting")).to_have_count(0)


def test_a_try_of_a_child_put_on_hold_meanwhile_is_kept_and_the_coach_is_told(
    hall: Hall, sheet: Page, kims: BrowserContext
) -> None:
    kims.set_offline(True)
    tap(sheet, 2)
    says(sheet, "No network: 1")
    hall.ask(
        "INSERT INTO progress_hold (starts, kind, reason, athlete_id)"
        " SELECT date('now'), 'other', '', id FROM progress_athlete WHERE code = 'A02'"
    )
    kims.set_offline(False)

    says(sheet, "Child 02 is on hold since")
    says(sheet, "the try is kept. Tell the lead")
    assert len(hall.stored()) == 1
    sheet.get_by_role("button", name="Finish").tap()
    expect(sheet.get_by_role("heading", name="On hold, with tries today")).to_be_visible()
    expect(sheet.get_by_role("link", name="Child 02")).to_be_visible()
