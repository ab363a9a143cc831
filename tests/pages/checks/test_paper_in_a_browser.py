"""The printed sheet on one page, and typing it in by keyboard."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.pages.checks.conftest import Hall, sign_in

PRINT, TYPING = "/classes/monday/checks/print/", "/classes/monday/checks/typing/"
A4 = {"width": "210mm", "height": "297mm"}
LOOK_FORS = ["Knees bend and stay over the feet", "Feet stay where they land", "Eyes look ahead"]


@pytest.fixture
def laptop(hall: Hall, browser: Browser) -> Page:
    """Kim's laptop."""
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    sign_in(context, hall, "kim")
    return context.new_page()


def more_children(hall: Hall, number: int) -> None:
    """Enrol more children, with names as long as names are."""
    columns = [str(row[1]) for row in hall.ask("PRAGMA table_info(progress_athlete)")]
    others = ", ".join(column for column in columns if column not in ("id", "code", "name"))
    for n in range(number):
        hall.ask(
            f"INSERT INTO progress_athlete (code, name, {others})"
            f" SELECT ?, ?, {others} FROM progress_athlete WHERE code = 'A00'",
            f"M{n:02}",
            f"Bartholomew Longfellow-Wintersgill {n:02}",
        )
        hall.ask(
            "INSERT INTO progress_enrolment (athlete_id, gym_class_id, since) SELECT a.id, c.id,"
            " '2025-09-01' FROM progress_athlete a, progress_gymclass c"
            " WHERE a.code = ? AND c.code = 'monday'",
            f"M{n:02}",
        )


def write_look_fors(hall: Hall) -> None:
    for order, text in enumerate(LOOK_FORS):
        hall.ask(
            'INSERT INTO progress_lookfor (skill_id, "order", text)'
            " SELECT id, ?, ? FROM progress_skill",
            order,
            text,
        )
    hall.ask(
        "UPDATE progress_skill SET caution = 'Mat rated by its maker for the height. One at a"
        " time. Dry hands, dry floor; stop when the landing is not clear.'"
    )


def test_sixteen_athletes_and_six_skills_fit_one_a4_page(hall: Hall, laptop: Page) -> None:
    more_children(hall, 4)
    write_look_fors(hall)
    laptop.goto(hall.url + PRINT)
    assert laptop.locator("tbody tr").count() == 16
    assert laptop.locator("thead th").count() == 7

    paper = laptop.pdf(**A4, prefer_css_page_size=True)

    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", paper)) == 1


def test_the_printed_sheet_is_wide_enough_for_its_boxes(hall: Hall, laptop: Page) -> None:
    laptop.emulate_media(media="print")
    laptop.set_viewport_size({"width": 688, "height": 1000})  # A4 between its margins
    laptop.goto(hall.url + PRINT)

    cells = laptop.locator("tbody td").all()[:6]

    for one in cells:
        cell, last = one.bounding_box(), one.locator(".box").last.bounding_box()
        assert cell is not None
        assert last is not None
        assert last["x"] + last["width"] <= cell["x"] + cell["width"]


def test_enter_moves_on_and_the_last_one_reaches_the_button(hall: Hall, laptop: Page) -> None:
    laptop.goto(hall.url + TYPING)
    fields = laptop.locator("input.codes")
    fields.first.focus()

    laptop.keyboard.type("cch")
    laptop.keyboard.press("Enter")
    expect(fields.nth(1)).to_be_focused()
    laptop.keyboard.type("n")
    laptop.keyboard.press("ArrowDown")
    expect(fields.nth(1 + laptop.locator("thead th").count() - 1)).to_be_focused()
    laptop.keyboard.type("x")
    fields.last.focus()
    laptop.keyboard.press("Enter")
    expect(laptop.get_by_role("button", name="Save")).to_be_focused()
    laptop.keyboard.press("Enter")

    expect(laptop.get_by_text("“x” means nothing here")).to_be_visible()
    assert hall.stored() == []
    wrong = laptop.locator("[aria-invalid]")
    expect(wrong).to_have_value("x")
    expect(fields.first).to_have_value("cch")
    wrong.fill("c")
    laptop.get_by_role("button", name="Save").press("Enter")

    expect(laptop.get_by_text("5 tries are stored.")).to_be_visible(timeout=15_000)
    assert [row[2] for row in hall.stored()] == ["clean", "clean", "assisted", "miss", "clean"]


def test_typing_works_without_javascript_and_on_a_phone(
    hall: Hall, browser: Browser, phone: Callable[..., BrowserContext]
) -> None:
    context = browser.new_context(java_script_enabled=False)
    sign_in(context, hall, "kim")
    page = context.new_page()
    page.goto(hall.url + TYPING)
    page.locator("input.codes").first.fill("ch")
    page.locator("input.codes").first.press("Enter")

    expect(page.get_by_text("2 tries are stored.")).to_be_visible(timeout=15_000)
    small = phone(hall, "kim").new_page()
    small.set_viewport_size({"width": 320, "height": 640})
    small.goto(hall.url + TYPING)
    overflow = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    assert small.evaluate(overflow) <= 0
    context.close()
