"""The family pages: a guardian's own children, in plain words, compared with nobody."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from progress.models import Athlete, Guardian
from progress.pages.family.charts import course_figure
from progress.pages.family.course_drawing import CourseDrawing, draw_course
from progress.pages.shared.access import guardian_only, may_see_child, own_children
from progress.pages.shared.ladder_drawing import DrawnLadders, draw_ladders
from progress.pages.shared.language import in_the_familys_language
from progress.usecases.see_family import ChildProgress, see_family


@dataclass(frozen=True)
class ChildOnPage:
    """One child's progress with its ladders and its course drawn."""

    progress: ChildProgress
    ladders: DrawnLadders
    course: CourseDrawing | None
    chart: dict[str, Any] | None

    @property
    def chart_id(self) -> str:
        """The id that the figure has on the page."""
        return f"course-of-{self.progress.athlete.pk}"


@in_the_familys_language
@guardian_only
def family_page(request: HttpRequest, *, guardian: Guardian) -> HttpResponse:
    """All of a guardian's children on one page."""
    return _show(request, own_children(guardian))


@in_the_familys_language
@may_see_child
def child_page(request: HttpRequest, *, athlete: Athlete) -> HttpResponse:
    """One child, for the guardian; coaches and leads see here what the family sees."""
    return _show(request, [athlete])


def _show(request: HttpRequest, children: Iterable[Athlete]) -> HttpResponse:
    progress = see_family(children=children, today=timezone.localdate())
    context = {"children": [on_page(one) for one in progress]}
    return render(request, "progress/family/page.html", context)


def on_page(progress: ChildProgress) -> ChildOnPage:
    """Draw what is drawn of one child."""
    spoken_of = {skill.code for skill in (*progress.working_on, *progress.next_up)}
    return ChildOnPage(
        progress=progress,
        ladders=draw_ladders(progress.ladders, spoken_of),
        course=draw_course(progress.course),
        chart=course_figure(progress.course),
    )
