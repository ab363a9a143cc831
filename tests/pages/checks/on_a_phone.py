"""The sheet open on a coach's phone, and what a test reads off it."""

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import BrowserContext, Locator, Page, expect

from tests.pages.checks.conftest import Hall

SHEET = "/classes/monday/checks/"


@pytest.fixture
def kims(hall: Hall, phone: Callable[..., BrowserContext]) -> BrowserContext:
    """Kim's phone."""
    return phone(hall, "kim")


@pytest.fixture
def sheet(hall: Hall, kims: BrowserContext) -> Iterator[Page]:
    """The sheet, open on Kim's phone; nothing on it may make the browser complain."""
    page = kims.new_page()
    heard: list[str] = []
    page.on("pageerror", lambda error: heard.append(str(error)))
    open_sheet(page, hall)
    yield page
    assert heard == []


def open_sheet(page: Page, hall: Hall, query: str = "") -> None:
    page.goto(hall.url + SHEET + query)
    expect(page.locator("body.sheet-live")).to_be_attached()


def cell(page: Page, child: int) -> Locator:
    """A child's cell at the skill in view."""
    return page.get_by_role("group", name=f"Child {child:02} ")


def says(page: Page, text: str) -> None:
    expect(page.locator("#status")).to_contain_text(text)


def tally_grows_to(page: Page, child: int, count: int) -> None:
    """Wait until so many tries are listed."""
    expect(cell(page, child).locator(".tally .sr-only")).to_have_count(count)


def tally(page: Page, child: int) -> list[str]:
    names = cell(page, child).locator(".tally .sr-only").all_text_contents()
    return [name.partition(":")[0] for name in names]
