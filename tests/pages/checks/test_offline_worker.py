"""What the worker keeps of a sheet, shows without a network, and deletes."""

import pytest
from playwright.sync_api import BrowserContext, Error, Page, expect

from tests.pages.checks.conftest import Hall
from tests.pages.checks.phones import SHEET, Phone, is_gone, open_sheet, ready

KEPT = """async () => {
  const kept = [];
  for (const name of await caches.keys()) {
    for (const request of await (await caches.open(name)).keys()) {
      kept.push(new URL(request.url).pathname);
    }
  }
  return kept.sort();
}"""
AGE = """async (hours) => {
  const cache = await caches.open("gym-sheet-pages-1");
  for (const request of await cache.keys()) {
    const answer = await cache.match(request);
    const headers = new Headers(answer.headers);
    headers.set("X-Kept-At", String(Date.now() - hours * 3_600_000));
    await cache.put(request, new Response(await answer.blob(), { headers }));
  }
}"""


@pytest.fixture
def kims(bare_hall: Hall, phone: Phone) -> BrowserContext:
    """Kim's phone."""
    return phone(bare_hall, "kim")


def visit(context: BrowserContext, hall: Hall) -> Page:
    """Open the sheet once and wait until it is kept."""
    page = open_sheet(context, hall)
    expect(page.locator("html[data-kept=yes]")).to_be_attached()
    return page


def kept(page: Page) -> list[str]:
    return list(page.evaluate(KEPT))


def opens(context: BrowserContext, hall: Hall, path: str = SHEET) -> bool:
    """Whether a page opens in a fresh tab."""
    page = context.new_page()
    try:
        page.goto(hall.url + path)
    except Error:
        return False
    return True


def test_after_one_visit_the_sheet_opens_without_a_network_and_records(
    bare_hall: Hall, kims: BrowserContext
) -> None:
    visit(kims, bare_hall).close()
    bare_hall.kill()

    page = open_sheet(kims, bare_hall)

    expect(page.get_by_text("Child 11")).to_be_visible()
    assert page.evaluate("getComputedStyle(document.body).fontFamily") != ""


def test_only_the_sheet_and_its_files_are_kept(bare_hall: Hall, kims: BrowserContext) -> None:
    page = visit(kims, bare_hall)
    for path in ("/classes/", "/classes/monday/", "/athletes/A00/", "/checks/token/"):
        answer = page.context.new_page().goto(bare_hall.url + path)
        assert answer is not None
        assert answer.ok
    page.reload()
    ready(page)

    found = kept(page)

    assert [path for path in found if not path.startswith("/static/")] == [SHEET]
    assert "/static/progress/sheet-queue.js" in found
    assert "/static/progress/sheet-post.js" in found
    assert "/static/progress/charts.js" not in found  # the athlete's page has it


def test_pages_that_are_not_kept_do_not_open(bare_hall: Hall, kims: BrowserContext) -> None:
    visit(kims, bare_hall)
    assert opens(kims, bare_hall, "/classes/")
    bare_hall.kill()

    assert opens(kims, bare_hall)
    assert not opens(kims, bare_hall, "/classes/")
    assert not opens(kims, bare_hall, "/classes/tuesday/checks/")


def test_signing_out_deletes_the_sheet(bare_hall: Hall, kims: BrowserContext) -> None:
    page = visit(kims, bare_hall)
    page.goto(bare_hall.url + "/classes/")

    page.get_by_role("button", name="Sign out").click()
    expect(page).to_have_url(bare_hall.url + "/accounts/login/")

    is_gone(page)
    bare_hall.kill()
    assert not opens(kims, bare_hall)


def test_a_message_from_a_page_deletes_the_sheet(bare_hall: Hall, kims: BrowserContext) -> None:
    page = visit(kims, bare_hall)
    page.evaluate("navigator.serviceWorker.controller.postMessage({ type: 'forget' })")
    is_gone(page)
    bare_hall.kill()

    assert not opens(kims, bare_hall)


def test_a_page_kept_for_more_than_a_day_is_not_shown_and_is_deleted(
    bare_hall: Hall, kims: BrowserContext
) -> None:
    page = visit(kims, bare_hall)
    bare_hall.kill()
    page.evaluate(AGE, 23.9)
    assert opens(kims, bare_hall)
    page.evaluate(AGE, 24.1)

    assert not opens(kims, bare_hall)
    is_gone(page)


def test_the_way_to_the_sign_in_page_is_not_taken_for_the_sheet(
    bare_hall: Hall, kims: BrowserContext
) -> None:
    page = visit(kims, bare_hall)
    bare_hall.end_session("kim")
    page.goto(bare_hall.url + SHEET)
    expect(page).to_have_title("Sign in – Gym progress")
    bare_hall.kill()

    page = open_sheet(kims, bare_hall)

    expect(page.get_by_text("Child 11")).to_be_visible()


def test_a_coach_who_has_left_keeps_no_sheet(bare_hall: Hall, kims: BrowserContext) -> None:
    page = visit(kims, bare_hall)
    bare_hall.ask("UPDATE progress_staffmember SET active = 0 WHERE code = 'kim'")
    page.goto(bare_hall.url + SHEET)

    assert SHEET not in kept(page)


def test_what_another_version_kept_is_deleted(bare_hall: Hall, kims: BrowserContext) -> None:
    page = kims.new_page()
    page.goto(bare_hall.url + "/accounts/login/")
    for name in ("gym-sheet-pages-0", "of-something-else"):
        page.evaluate("(name) => caches.open(name).then(() => null)", name)

    visit(kims, bare_hall)

    assert page.evaluate("caches.has('gym-sheet-pages-0')") is False
    assert page.evaluate("caches.has('of-something-else')") is True


def test_a_network_that_hangs_gives_way_to_the_kept_sheet(
    bare_hall: Hall, kims: BrowserContext
) -> None:
    page = visit(kims, bare_hall)
    (bare_hall.folder / "hang").touch()

    page.reload()
    ready(page)

    expect(page.get_by_text("Child 11")).to_be_visible()


def test_the_newest_sheet_is_shown_and_kept_while_there_is_a_network(
    bare_hall: Hall, kims: BrowserContext
) -> None:
    page = visit(kims, bare_hall)
    bare_hall.ask("UPDATE progress_athlete SET name = 'Newcomer' WHERE code = 'A11'")
    page.reload()
    expect(page.get_by_text("Newcomer")).to_be_visible()
    bare_hall.kill()

    page = open_sheet(kims, bare_hall)

    expect(page.get_by_text("Newcomer")).to_be_visible()
