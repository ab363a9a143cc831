"""The reliability curve: what was said across, what was seen up, and the line where both agree.

Colours are not set here; the page's script takes them from the stylesheet.
"""

from collections.abc import Sequence
from typing import Any

import plotly.graph_objects as go

from progress.engine.scores import CurvePoint
from progress.pages.shared.words import percent

SMALLEST, LARGEST = 7.0, 15.0  # a point's width in pixels, by its number of tries


def reliability_figure(curve: Sequence[CurvePoint]) -> dict[str, Any] | None:
    """The figure as plain JSON values, or None where there is nothing to draw."""
    if not curve:
        return None
    figure = go.Figure(layout=_layout())
    figure.add_trace(_bars(curve))
    figure.add_trace(_points(curve))
    return dict(figure.to_plotly_json())


def _bars(curve: Sequence[CurvePoint]) -> go.Scatter:
    """Each point's 90% bounds as a line of its own, broken in between."""
    across: list[float | None] = []
    up: list[float | None] = []
    for point in curve:
        across += [point.said, point.said, None]
        up += [point.low, point.high, None]
    return go.Scatter(
        x=across,
        y=up,
        mode="lines",
        line={"width": 2},
        hoverinfo="skip",
        showlegend=False,
        meta={"part": "bars"},
    )


def _points(curve: Sequence[CurvePoint]) -> go.Scatter:
    most = max(point.attempts for point in curve)
    told = [
        f"said {percent(point.said)}, seen {percent(point.seen)}, {point.attempts:,} tries"
        for point in curve
    ]
    return go.Scatter(
        x=[point.said for point in curve],
        y=[point.seen for point in curve],
        mode="markers",
        marker={
            "size": [
                SMALLEST + (LARGEST - SMALLEST) * (point.attempts / most) ** 0.5 for point in curve
            ],
            "opacity": 1,
        },
        text=told,
        hovertemplate="%{text}<extra></extra>",
        showlegend=False,
        meta={"part": "points"},
    )


def _layout() -> dict[str, Any]:
    axis = {
        "range": [-0.02, 1.04],
        "tickvals": [0, 0.2, 0.4, 0.6, 0.8, 1],
        "tickformat": ".0%",
        "zeroline": False,
        "fixedrange": True,
    }
    return {
        # The library's own theme brings colours that know nothing of the dark.
        "template": "none",
        "margin": {"l": 64, "r": 12, "t": 12, "b": 56},
        "xaxis": {**axis, "title": {"text": "It said"}},
        "yaxis": {**axis, "title": {"text": "It was clean"}},
        "shapes": [
            {
                "type": "line",
                "x0": 0,
                "y0": 0,
                "x1": 1,
                "y1": 1,
                "layer": "below",
                "line": {"width": 1, "dash": "dash"},
            }
        ],
        "annotations": [
            {
                "text": "as said",
                "x": 0.04,
                "y": 0.05,
                "xanchor": "left",
                "yanchor": "top",
                "showarrow": False,
            }
        ],
        "hovermode": "closest",
        "dragmode": False,
        "showlegend": False,
    }
