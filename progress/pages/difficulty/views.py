"""The difficulty map: how hard each skill is here, next to how able the children are."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django_tables2 import RequestConfig

from progress.models import Ladder, StaffMember
from progress.pages.difficulty.charts import EIGHT_IN_TEN, map_chart, tier_marks
from progress.pages.difficulty.tables import SkillTable, skill_rows
from progress.pages.difficulty.words import enough_words, logits, misplaced_lines
from progress.pages.shared.access import lead_only
from progress.usecases.see_difficulty import ALL_LADDERS, DifficultyMap, see_difficulty

ROWS_A_PAGE = 30


@lead_only
def difficulty(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """The map of every ladder, or of the one asked for, and the skills in a table."""
    told = see_difficulty(today=timezone.localdate())
    ladders = _ladders(told)
    asked = request.GET.get("ladder", ALL_LADDERS)
    chosen = next((one for one in ladders if one.code == asked), None)
    code = chosen.code if chosen else ALL_LADDERS
    rows = [row for row in skill_rows(told.placed, told.skills) if code in {"", row.placed.ladder}]
    table = SkillTable(rows)
    RequestConfig(request, paginate={"per_page": ROWS_A_PAGE}).configure(table)
    context = {
        "told": told,
        "ladders": ladders,
        "chosen": chosen,
        "chart": map_chart(told, code),
        "marks": tier_marks(told),
        "misplaced": misplaced_lines(told),
        "unsaid": sum(not one.enough for one in told.placed),
        "enough": enough_words(),
        "attempts": f"{told.attempts:,}",
        "eight_in_ten": logits(EIGHT_IN_TEN),
        "table": table,
    }
    return render(request, "progress/difficulty/map.html", context)


def _ladders(told: DifficultyMap) -> list[Ladder]:
    """The ladders with a skill on them, in their order."""
    found = {skill.ladder.code: skill.ladder for skill in told.skills.values()}
    return list(found.values())
