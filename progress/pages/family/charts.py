"""The chart a family may open: the same course as the drawing, month by month to point at.

The chart library knows no language but English, so every word and date in the chart is written
here. Colours are given by the page's script, part by part, from the stylesheet.
"""

from typing import Any

import plotly.graph_objects as go
from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from progress.usecases.families.see_course import Course, CoursePoint

MOST_TICKS = 4


def course_figure(course: Course) -> dict[str, Any] | None:
    """The figure as plain JSON values, or None where there is nothing to draw yet."""
    points = course.points
    if not points:
        return None
    figure = go.Figure(layout=_layout(points))
    figure.add_trace(
        go.Scatter(
            x=[point.day.isoformat() for point in points],
            y=[point.skills for point in points],
            text=[_said(point) for point in points],
            hovertemplate="%{text}<extra></extra>",
            mode="lines+markers",
            line={"width": 3, "shape": "hv"},
            marker={"size": 9},
            showlegend=False,
            meta={"part": "line"},
        )
    )
    return dict(figure.to_plotly_json())


def _said(point: CoursePoint) -> str:
    words = ngettext("%(day)s: %(n)s skill", "%(day)s: %(n)s skills", point.skills)
    day = formats.date_format(point.day, pgettext("date format", "j F Y"))
    return words % {"day": day, "n": formats.number_format(point.skills)}


def _layout(points: tuple[CoursePoint, ...]) -> dict[str, Any]:
    apart = -(-len(points) // MOST_TICKS)
    ticks = points[::-1][::apart]
    # ``M Y`` in words: the short month.
    named = [
        formats.date_format(point.day, pgettext("date format", "M Y")).replace(" ", "<br>")
        for point in ticks
    ]
    return {
        "template": "none",
        "margin": {"l": 44, "r": 24, "t": 16, "b": 56},
        "xaxis": {
            "type": "date",
            "tickvals": [point.day.isoformat() for point in ticks],
            "ticktext": named,
            "showgrid": False,
            "fixedrange": True,
        },
        "yaxis": {
            "title": {"text": _("Steady skills")},
            "rangemode": "tozero",
            "tickformat": "d",
            "nticks": 6,
            "fixedrange": True,
        },
        "hovermode": "closest",
        "dragmode": False,
        "showlegend": False,
    }
