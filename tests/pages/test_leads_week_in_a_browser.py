"""The lead's week in a real browser: from the board to a decision, the rules and a list to keep.

Nobody's answer is made up here: Kim and Lee record the tries, and the engine says who is ready.
"""

import csv
import io
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from openpyxl import load_workbook
from playwright.sync_api import Locator, Page, expect
from pytest_django.live_server_helper import LiveServer

from progress.models import Athlete, GymClass, RuleBook, SignOff, Skill, StaffMember, Tier
from progress.usecases.record_checks import Entry, record_checks
from tests import makers

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("gym")]

LAPTOP, PHONE = (1280, 800), (390, 844)
OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
WHY = "Steady on both ladders for four weeks."
READY = ("Ines", "Jon", "Kaya", "Lew")
MENU = (
    *("Board", "Sign-offs", "Places", "Look at", "Difficulty"),
    *("Coaches", "Report card", "Time to tier", "Rules"),
)
IN_A_ROW = "Clean tries in a row, at least"


def record_four_weeks(gym_class: GymClass, coaches: list[StaffMember], never: str = "") -> None:
    """Each week each coach sees each child of the class once at each skill of tier 1.

    All tries are clean but those of the child ``never``, who does not manage to hang.
    """
    for weeks in (4, 3, 2, 1):
        for minute, coach in enumerate(coaches):
            now = makers.moment(makers.TODAY - timedelta(weeks=weeks), minute=30 + minute)
            entries = [
                Entry(makers.next_code("try"), child.code, skill, "miss" if missed else "clean")
                for child in gym_class.athletes.order_by("code")
                for skill in ("LAND-1", "HANG-1")
                for missed in [child.code == never and skill == "HANG-1"]
            ]
            record_checks(gym_class=gym_class, coach=coach, entries=entries, now=now)


@pytest.fixture
def gym(
    small_catalogue: dict[str, Skill], tiers: dict[int, Tier], coach: StaffMember, lead: StaffMember
) -> None:
    """Ines, Jon and Moe on Tuesdays, Kaya and Lew on Thursdays; all but Moe can do all of it."""
    made = {name: makers.make_athlete(name.lower(), name=name) for name in (*READY, "Moe")}
    for code, weekday, names in (("tue", 1, ("Ines", "Jon", "Moe")), ("thu", 3, ("Kaya", "Lew"))):
        children = [made[name] for name in names]
        name = {"tue": "Tuesday class", "thu": "Thursday class"}[code]
        gym_class = makers.make_class(code, athletes=children, name=name, weekday=weekday)
        gym_class.tiers.add(tiers[1])
        record_four_weeks(gym_class, [coach, lead], never="moe")
    makers.make_class("up", name="Saturday class", weekday=5, places=2).tiers.add(tiers[2])


@pytest.fixture
def board(
    page: Page, live_server: LiveServer, sign_in: Callable[[str], None], complaints: list[str]
) -> Page:
    """The board of the gym, open for the lead on a laptop."""
    sign_in("lead")
    page.set_viewport_size({"width": LAPTOP[0], "height": LAPTOP[1]})
    page.goto(live_server.url + reverse("move_up_list"))
    return page


# What the lead sees and does


def to(page: Page, name: str) -> None:
    """Go to one of the lead's pages by their menu."""
    page.get_by_label("The lead’s pages").get_by_role("link", name=name, exact=True).click()
    expect(page.get_by_label("The lead’s pages").locator("[aria-current]")).to_have_text(name)


def sound(page: Page) -> None:
    """Nothing that axe objects to, and nothing to scroll sideways for."""
    found = Axe().run(page).response["violations"]
    assert [(one["id"], one["nodes"][0]["html"]) for one in found] == []
    assert page.evaluate(OVERFLOW) <= 0


def names_on(page: Page | Locator, rows: str = "tbody") -> list[str]:
    """Who is in the table, by name: here all are as ready as each other, so any may be first."""
    return sorted(page.locator(f"{rows} a.name").all_inner_texts())


def cell(row: Locator, column: str) -> str:
    """The words of one cell; a dash says that there is nothing."""
    words = row.locator(f'[data-label="{column}"]').inner_text()
    return "" if words == "–" else " ".join(words.split())


def tiers_of_all() -> dict[str, int]:
    return dict(Athlete.objects.values_list("name", "tier"))


def narrow_the_board(page: Page) -> None:
    """To those ready; of these to a class; of those to a name; and back to those ready."""
    menu = page.get_by_label("The lead’s pages").get_by_role("link")
    assert menu.all_inner_texts() == list(MENU)
    assert names_on(page) == [*READY, "Moe"]
    page.get_by_label("Show only").get_by_role("link", name="Ready").click()
    expect(page.get_by_text("4 athletes.")).to_be_visible()
    assert names_on(page) == list(READY)
    page.get_by_text("More filters").click()
    page.get_by_label("Class", exact=True).select_option("Thursday class")
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page.get_by_text("2 athletes.")).to_be_visible()
    assert names_on(page) == ["Kaya", "Lew"]
    page.get_by_label("Name or code").fill("le")
    page.get_by_label("Name or code").press("Enter")
    expect(page.get_by_text("1 athlete.")).to_be_visible()
    assert names_on(page) == ["Lew"]


def read_the_evidence(page: Page) -> None:
    """What would take Lew's readiness back: a single miss at the safety skill of the tier."""
    page.get_by_role("link", name="Lew", exact=True).click()
    expect(page.get_by_role("heading", name="Evidence for Lew")).to_be_visible()
    change = page.get_by_role("region", name="What could take it back")
    expect(change.get_by_role("listitem").filter(has_text="Land still on two feet")).to_be_visible()
    expect(page.get_by_role("table", name="Attempts at Land still").first).to_be_visible()
    sound(page)
    page.go_back()
    assert names_on(page) == ["Lew"]
    page.get_by_role("link", name="Clear all filters").click()
    page.get_by_label("Show only").get_by_role("link", name="Ready").click()
    expect(page.get_by_text("4 athletes.")).to_be_visible()


def sign_three_off(page: Page) -> None:
    """Ines, Jon and Kaya; nothing is stored before the last press."""
    for name in ("Ines", "Jon", "Kaya"):
        page.get_by_label(f"Choose {name}").check()
    expect(page.get_by_role("status").filter(has_text="3 chosen")).to_be_visible()
    page.get_by_role("button", name="Sign off the chosen").click()
    assert names_on(page, ".cases h3") == ["Ines", "Jon", "Kaya"]
    name = page.locator(".cases").get_by_role("link", name="Jon", exact=True)
    expect(name).to_have_attribute("href", reverse("evidence", args=["jon"]))
    page.get_by_label("Why do they move up?").fill(WHY)
    sound(page)
    assert not SignOff.objects.exists()
    page.get_by_role("button", name="Move 3 athletes up").click()


def see_who_moved(page: Page) -> None:
    told = page.get_by_role("status").filter(has_text="3 athletes moved up")
    for name in ("Ines", "Jon", "Kaya"):
        expect(told).to_contain_text(f"{name} to Tier 2")
    expect(page.get_by_text(WHY)).to_have_count(3)
    assert tiers_of_all() == {"Ines": 2, "Jon": 2, "Kaya": 2, "Lew": 1, "Moe": 1}
    assert {one.sentence for one in SignOff.objects.all()} == {WHY}


def undo_one(page: Page) -> None:
    """Jon is in tier 1 again, and Ines and Kaya stay where they are."""
    page.get_by_role("button", name="Undo the move of Jon").click()
    expect(page.get_by_text("Undone: Jon is in Tier 1 again.")).to_be_visible()
    expect(page.get_by_role("button", name="Undo the move")).to_have_count(2)
    assert tiers_of_all() == {"Ines": 2, "Jon": 1, "Kaya": 2, "Lew": 1, "Moe": 1}
    to(page, "Places")
    expect(page.get_by_text("2 athletes wait for a place")).to_be_visible()


def change_a_rule(page: Page) -> None:
    """Nine clean tries in a row where there are eight: Jon and Lew would no longer be ready."""
    before = list(RuleBook.objects.values_list("version", flat=True))
    to(page, "Rules")
    page.get_by_label(IN_A_ROW).fill("9")
    page.get_by_role("button", name="Show who would change").click()
    expect(page.get_by_role("heading", name="Who would change")).to_be_visible()
    changed = page.get_by_role("region", name="2 children with another suggestion")
    assert names_on(changed) == ["Jon", "Lew"]
    assert {cell(row, "Now") for row in changed.locator("tbody tr").all()} == {"Ready"}
    sound(page)
    assert list(RuleBook.objects.values_list("version", flat=True)) == before
    page.get_by_label("Why?").fill("The mats are new.")
    page.get_by_role("button", name="Save as version 2").click()
    newest = page.locator(".versions > li").first
    expect(newest).to_contain_text("Version 2 in force")
    expect(newest).to_contain_text("The mats are new.")
    expect(newest).to_contain_text("5 tries → 9 tries")
    expect(page.get_by_label(IN_A_ROW)).to_have_value("9")
    assert list(RuleBook.objects.values_list("version", flat=True)) == [*before, 2]


def rows_on(page: Page) -> list[tuple[str, str, str, str]]:
    """Each row of the board: name, tier, class, age."""
    rows = page.locator("table.ruled tbody tr").all()
    columns = ("Tier", "Class", "Age")
    found = [(one.locator("a.name").inner_text(), *(cell(one, c) for c in columns)) for one in rows]
    return [(name, tier.removeprefix("Tier "), *rest) for name, tier, *rest in found]


def file_of(page: Page, link: str) -> Path:
    with page.expect_download() as waiting:
        page.get_by_role("link", name=link).click()
    return waiting.value.path()


def take_the_list_along(page: Page) -> None:
    """The board, narrowed to a class in the order of age, as both files: what the board shows."""
    to(page, "Board")
    page.get_by_text("More filters").click()
    page.get_by_label("Class", exact=True).select_option("Tuesday class")
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page.get_by_text("3 athletes.")).to_be_visible()
    shown = rows_on(page)
    said = [cell(row, "Next tier") for row in page.locator("table.ruled tbody tr").all()]
    assert {name for name, *_ in shown} == {"Ines", "Jon", "Moe"}

    text = file_of(page, "As a CSV file").read_bytes().decode("utf-8-sig")
    lines = list(csv.DictReader(io.StringIO(text, newline="")))
    sheet = load_workbook(io.BytesIO(file_of(page, "As an Excel file").read_bytes())).active
    assert sheet is not None
    head, *rows = sheet.iter_rows(values_only=True)
    cells = [dict(zip(head, row, strict=True)) for row in rows]
    wanted = ("name", "tier", "class", "age")
    for found in (lines, cells):
        assert [tuple(str(one[key]) for key in wanted) for one in found] == shown
        for one, words in zip(found, said, strict=True):
            assert words.startswith(str(one["decision"]))
    assert [one["decision"] for one in lines] == [one["decision"] for one in cells]


@pytest.mark.parametrize("screen", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_the_leads_week(board: Page, screen: tuple[int, int], complaints: list[str]) -> None:
    board.set_viewport_size({"width": screen[0], "height": screen[1]})
    for step in (
        *(narrow_the_board, read_the_evidence, sign_three_off, see_who_moved),
        *(undo_one, change_a_rule, take_the_list_along),
    ):
        step(board)
        sound(board)
    assert complaints == []


def tab_to(page: Page, wanted: Locator) -> None:
    """Press Tab until this has the focus, as somebody without a mouse does."""
    for _ in range(120):
        page.keyboard.press("Tab")
        if wanted.evaluate("element => element === document.activeElement"):
            return
    raise AssertionError(f"The keyboard does not reach {wanted}.")


def test_three_are_signed_off_by_keyboard_alone(board: Page, complaints: list[str]) -> None:
    for name in ("Ines", "Jon", "Kaya"):
        tab_to(board, board.get_by_label(f"Choose {name}"))
        board.keyboard.press("Space")
    tab_to(board, board.get_by_role("button", name="Sign off the chosen"))
    board.keyboard.press("Enter")
    expect(board.get_by_role("heading", name="Sign off")).to_be_visible()
    tab_to(board, board.get_by_label("Why do they move up?"))
    board.keyboard.type(WHY)
    tab_to(board, board.get_by_role("button", name="Move 3 athletes up"))
    board.keyboard.press("Enter")

    see_who_moved(board)
    assert complaints == []
