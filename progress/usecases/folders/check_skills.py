"""Whether skills.csv makes a catalogue: each skill once, needs known and in no circle."""

from collections.abc import Iterable

from progress.engine.terms import NeedsCycle
from progress.models.ladders import refuse_cycle
from progress.usecases.folders.layout import SKILLS
from progress.usecases.folders.problems import Known, Problems, shown
from progress.usecases.folders.rows import SkillRow
from progress.usecases.folders.table import Table

ONE_ROW_A_SKILL = "Give each skill one row."
NAME_BY_CODE = "Name skills by their codes, with spaces between, and give each of them a row."
BREAK_THE_CIRCLE = "Take one of these needs away, so that some skill comes first."
MOST_CIRCLES = 20


def check_skills(
    table: Table, known: Known, stored_links: Iterable[tuple[str, str]], problems: Problems
) -> None:
    """Note doubled skills, unknown needs and circles.

    ``known`` are all skills of the folder and the records, ``stored_links`` the (skill, need)
    pairs of the records; the needs of a row replace those stored for its skill.
    """
    lines: dict[str, int] = {}
    needs: dict[str, tuple[str, ...]] = {}
    for row in table.rows:
        if row.skill in lines:
            what = f"{shown(row.skill)} has a row already, on line {lines[row.skill]}."
            problems.add(SKILLS.file, row.line, "skill", what, ONE_ROW_A_SKILL)
            continue
        lines[row.skill] = row.line
        if row.needs is not None:
            needs[row.skill] = row.needs
        check_needs(row, known, problems)
    links = [(skill, need) for skill, need in stored_links if skill not in needs]
    links += [(skill, need) for skill, needed in needs.items() for need in needed]
    check_circles(links, lines, problems)


def check_needs(row: SkillRow, known: Known, problems: Problems) -> None:
    """Note needs that are no skills."""
    for need in row.needs or ():
        if known.strange(need):
            what = f"{shown(need)} is not a skill{known.hint(need)}."
            problems.add(SKILLS.file, row.line, "needs", what, NAME_BY_CODE)


def check_circles(links: list[tuple[str, str]], lines: dict[str, int], problems: Problems) -> None:
    """Note every circle, each by its skills and their lines."""
    for _ in range(MOST_CIRCLES):
        try:
            refuse_cycle(links)
        except NeedsCycle as error:
            circle = error.circle
        else:
            return
        on_lines = sorted({lines[skill] for skill in circle if skill in lines})
        where = ", ".join(map(str, on_lines))
        what = f"needs go in a circle: {' > '.join(circle)} (lines {where})."
        line = on_lines[0] if on_lines else None
        problems.add(SKILLS.file, line, "needs", what, BREAK_THE_CIRCLE)
        # Opening the circle at one place lets the next one be found.
        opened = (circle[0], circle[1])
        links = [link for link in links if link != opened]
