"""Step curves of the share of children that has reached a tier.

Curves are told apart by dash, shape and the name in the key. Colours come from the stylesheet.
"""

from typing import Any

import numpy as np
import plotly.graph_objects as go

from progress.engine.survival import Curve
from progress.pages.time_to_tier.words import TERMS
from progress.usecases.see_time_to_tier import TierTimes, Times

DASHES = ("dash", "dot", "dashdot")
SHAPES = ("square-open", "diamond-open", "triangle-up-open")
WIDE, NARROW = 3, 1.5


def times_figure(tier: TierTimes) -> dict[str, Any] | None:
    """The figure as plain JSON values; None where nobody reached the tier or too few are known."""
    curve = tier.everybody.curve
    if curve is None or not curve.moved:
        return None
    figure = go.Figure(layout=_layout())
    for edge in _band(curve, tier.everybody):
        figure.add_trace(edge)
    figure.add_trace(_steps("All children", tier.everybody, curve, WIDE, "solid", "circle"))
    for term, times in tier.by_term.items():
        # A curve that begins later is about other children; beside the others it would mislead.
        alike = times.start == tier.everybody.start and len(tier.by_term) > 1
        if alike and times.curve is not None and times.curve.moved:
            looks = (NARROW, DASHES[term], SHAPES[term])
            figure.add_trace(_steps(f"Joined {TERMS[term]}", times, times.curve, *looks))
    return dict(figure.to_plotly_json())


def _steps(
    name: str, times: Times, curve: Curve, width: float, dash: str, shape: str
) -> go.Scatter:
    """From where the curve begins to how far anybody was followed."""
    weeks = [times.start, *curve.times.tolist(), times.followed]
    shares = [0.0, *curve.gone.tolist(), float(1 - curve.still_at(times.followed))]
    return go.Scatter(
        x=[round(week, 1) for week in weeks],
        y=[round(share, 3) for share in shares],
        mode="lines+markers",
        line={"width": width, "dash": dash, "shape": "hv"},
        # Marks stand where somebody reached the tier, not at the ends of the line.
        marker={"symbol": shape, "size": [0, *[7] * len(curve.times), 0]},
        name=name,
        hovertemplate="week %{x:.0f}: %{y:.0%}<extra>" + name + "</extra>",
        meta={"part": "line"},
    )


def _band(curve: Curve, times: Times) -> list[go.Scatter]:
    """Lower and upper edge; they end where the curve has no bounds any more."""
    known = np.flatnonzero(~np.isnan(curve.low))
    if not len(known):
        return []
    weeks = [times.start, *curve.times[known].tolist()]
    low = [0.0, *(1 - curve.high[known]).tolist()]
    high = [0.0, *(1 - curve.low[known]).tolist()]
    if len(known) == len(curve.times):
        weeks, low, high = [*weeks, times.followed], [*low, low[-1]], [*high, high[-1]]
    return [_edge(weeks, low), _edge(weeks, high, fill="tonexty")]


def _edge(weeks: list[float], shares: list[float], fill: str | None = None) -> go.Scatter:
    return go.Scatter(
        x=[round(week, 1) for week in weeks],
        y=[round(share, 3) for share in shares],
        mode="lines",
        line={"width": 0, "shape": "hv"},
        fill=fill,
        hoverinfo="skip",
        showlegend=False,
        meta={"part": "band"},
    )


def _layout() -> dict[str, Any]:
    return {
        # The library's own theme brings colours that know nothing of the dark.
        "template": "none",
        "margin": {"l": 48, "r": 12, "t": 12, "b": 36},
        "xaxis": {
            "rangemode": "tozero",
            "showgrid": False,
            "fixedrange": True,
        },
        "yaxis": {
            "tickformat": ".0%",
            "range": [0, 1.02],
            "fixedrange": True,
        },
        "legend": {
            "orientation": "h",
            "traceorder": "normal",
            "yanchor": "top",
            "y": -0.12,
            "x": 0,
        },
        "hovermode": "closest",
        "dragmode": False,
        "showlegend": True,
    }
