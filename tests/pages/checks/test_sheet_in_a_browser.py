"""The sheet in a real browser: room for thumbs, nothing that jumps, and a form without scripts."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from tests.pages.checks.conftest import Hall, sign_in
from tests.pages.checks.on_a_phone import SHEET, cell, kims, open_sheet, sheet

__all__ = ["kims", "sheet"]  # fixtures

OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.mark.parametrize("width", [320, 390])
@pytest.mark.parametrize("view", ["", "?by=athlete"])
def test_every_target_is_48_px_with_8_px_between(
    hall: Hall, sheet: Page, width: int, view: str
) -> None:
    sheet.set_viewport_size({"width": width, "height": 640})
    open_sheet(sheet, hall, view)
    for word in ("Clean", "With help"):
        cell(sheet, 0).get_by_role("button", name=word, exact=True).first.click()

    boxes = sheet.evaluate(
        "[...document.querySelectorAll('fieldset')].filter(cell => cell.offsetParent).slice(0, 2)"
        ".map(cell => [...cell.querySelectorAll('button')]"
        ".map(button => button.getBoundingClientRect().toJSON()))"
    )

    assert [len(one) for one in boxes] == [5, 3]
    assert min(min(box["width"], box["height"]) for one in boxes for box in one) >= 48
    for one in boxes:
        for first in one:
            for other in one:
                if first is not other:
                    assert apart(first, other) >= 7.9
    assert sheet.evaluate(OVERFLOW) <= 0


def apart(one: dict[str, float], other: dict[str, float]) -> float:
    """The gap between two boxes, across or down, whichever is larger."""
    across = max(one["left"], other["left"]) - min(one["right"], other["right"])
    down = max(one["top"], other["top"]) - min(one["bottom"], other["bottom"])
    return max(across, down)


def test_nothing_below_moves_when_a_child_is_recorded(sheet: Page) -> None:
    """Otherwise the next tap would land on the wrong child."""
    before = cell(sheet, 5).bounding_box()
    for child in range(3):
        for word in ("Clean", "Not yet", "Clean"):
            cell(sheet, child).get_by_role("button", name=word, exact=True).click()

    sheet.evaluate("window.scrollTo(0, 0)")
    after = cell(sheet, 5).bounding_box()
    assert before is not None
    assert after is not None
    assert after["y"] == pytest.approx(before["y"], abs=1)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_the_sheet_in_use(sheet: Page, scheme: str) -> None:
    sheet.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    sheet.evaluate("document.querySelectorAll('details').forEach(fold => { fold.open = true })")
    for word in ("Clean", "With help", "Not yet"):
        cell(sheet, 0).get_by_role("button", name=word, exact=True).click()

    found = Axe().run(sheet).response["violations"]

    assert [(one["id"], one["nodes"][0]["html"]) for one in found] == []


def test_without_javascript_the_same_page_is_a_form(hall: Hall, browser: Browser) -> None:
    context = browser.new_context(java_script_enabled=False)
    sign_in(context, hall, "kim")
    page = context.new_page()
    page.goto(hall.url + SHEET)
    second = page.locator("[data-tab]").nth(1)
    href = second.get_attribute("href")
    second.click()
    expect(page).to_have_url(hall.url + SHEET + str(href))

    cell(page, 0).get_by_text("With help").click()
    cell(page, 1).get_by_text("Clean", exact=True).click()
    page.get_by_role("button", name="Save").click()

    expect(page.get_by_text("2 checks are stored")).to_be_visible()
    assert sorted(row[2] for row in hall.stored()) == ["assisted", "clean"]
    context.close()
