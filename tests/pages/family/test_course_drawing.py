"""The stepped line: geometry, and the chart with its words in the page's language."""

import json
import re
from datetime import date, timedelta

import pytest
from django.utils import translation
from hypothesis import given
from hypothesis import strategies as st

from progress.pages.family.charts import course_figure
from progress.pages.family.course_drawing import HEIGHT, WIDTH, CourseDrawing, draw_course
from progress.usecases.families.see_course import Course, CoursePoint

FIRST = date(2026, 1, 31)


def made(*skills: int) -> Course:
    """A course with a point every 30 days."""
    days = [FIRST + timedelta(days=30 * place) for place in range(len(skills))]
    return Course(tuple(CoursePoint(day, n) for day, n in zip(days, skills, strict=True)))


def drawn(*skills: int) -> CourseDrawing:
    drawing = draw_course(made(*skills))
    assert drawing is not None
    return drawing


def test_nothing_is_drawn_of_nothing() -> None:
    assert draw_course(Course(())) is None
    assert course_figure(Course(())) is None


def test_it_goes_level_and_then_up() -> None:
    """Four skills fill the height but for the room above: 100 - 92 = 8."""
    assert drawn(0, 4).line == "M0 100.0H300V8.0"
    assert drawn(0, 2, 4).line == "M0 100.0H150V54.0H300V8.0"


def test_one_skill_is_no_mountain() -> None:
    assert drawn(0, 1).top == 4
    assert drawn(0, 1).line.endswith("V77.0")


counts = st.lists(st.integers(0, 60), min_size=2, max_size=12).map(sorted)


@given(counts)
def test_it_stays_in_the_drawing_and_never_falls(skills: list[int]) -> None:
    drawing = drawn(*skills)
    across = [float(x) for x in re.findall(r"H([\d.]+)", drawing.line)]
    heights = [float(y) for y in re.findall(r"[V ]([\d.]+)", drawing.line)]

    assert across == sorted(across)
    assert across[-1] == WIDTH
    assert heights == sorted(heights, reverse=True)
    assert all(0 <= y <= HEIGHT for y in (*heights, *drawing.rules))
    assert drawing.top >= skills[-1]
    assert 2 <= len(drawing.rules) <= 7


def test_the_chart_is_plain_json_in_the_pages_language() -> None:
    with translation.override("es"):
        figure = course_figure(made(1, 2, 5))
    text = json.dumps(figure, ensure_ascii=False)

    assert "31 de enero de 2026: 1 habilidad" in text
    assert "5 habilidades" in text
    assert "Habilidades firmes" in text
    assert not re.search(r"\b(Jan|Steady|skills)\b", text)


@pytest.mark.parametrize("months", [2, 5, 12])
def test_the_chart_names_a_few_months_the_last_among_them(months: int) -> None:
    figure = course_figure(made(*range(months)))
    assert figure is not None
    axis = figure["layout"]["xaxis"]
    assert 1 <= len(axis["tickvals"]) == len(axis["ticktext"]) <= 4
    last = FIRST + timedelta(days=30 * (months - 1))
    assert last.isoformat() in axis["tickvals"]
