"""The chart of an athlete's page: ability over time with its band.

Colours are not set here. Each trace says its part in ``meta`` and the page's script gives it the
colour of that part from the stylesheet, so that the chart follows light and dark.
"""

from collections.abc import Mapping
from typing import Any

import plotly.graph_objects as go

from progress.usecases.see_athlete import AbilityHistory


def ability_figure(history: AbilityHistory, tier_names: Mapping[int, str]) -> dict[str, Any] | None:
    """The figure as plain JSON values, or None where there is no history to draw.

    Heights are logits: at a tier's line a typical skill of that tier is clean every second time.
    """
    if not history.days:
        return None
    days = [day.isoformat() for day in history.days]
    figure = go.Figure(layout=_layout())
    figure.add_trace(_edge(days, list(history.low)))
    figure.add_trace(_edge(days, list(history.high), fill="tonexty"))
    figure.add_trace(_middle(days, list(history.mean)))
    for number, level in sorted(history.tier_level.items()):
        _add_tier(figure, tier_names.get(number, f"Tier {number}"), level)
    return dict(figure.to_plotly_json())


def ability_sentence(history: AbilityHistory) -> str:
    """What the chart shows, for those who do not see it."""
    if not history.days:
        return "There is no history yet."
    moved = history.mean[-1] - history.mean[0]
    spread = history.high[-1] - history.low[-1]
    first_spread = history.high[0] - history.low[0]
    way = "stayed about level" if abs(moved) < 0.25 else "risen" if moved > 0 else "fallen"
    surer = "surer" if spread < first_spread else "no surer"
    return (
        f"Since {history.days[0].day} {history.days[0]:%b %Y} the estimate has {way}. "
        f"It is now {surer} than it was at the start."
    )


def _edge(days: list[str], heights: list[float], fill: str | None = None) -> go.Scatter:
    return go.Scatter(
        x=days,
        y=heights,
        mode="lines",
        line={"width": 0},
        fill=fill,
        hoverinfo="skip",
        showlegend=False,
        meta={"part": "band"},
    )


def _middle(days: list[str], heights: list[float]) -> go.Scatter:
    return go.Scatter(
        x=days,
        y=heights,
        mode="lines",
        line={"width": 3},
        name="Ability",
        hovertemplate="%{x|%-d %b %Y}<extra></extra>",
        showlegend=False,
        meta={"part": "line"},
    )


def _add_tier(figure: go.Figure, name: str, level: float) -> None:
    figure.add_shape(
        type="line", xref="paper", x0=0, x1=1, y0=level, y1=level, line={"width": 1, "dash": "dot"}
    )
    figure.add_annotation(
        text=name, xref="paper", x=0, y=level, xanchor="left", yanchor="bottom", showarrow=False
    )


def _layout() -> dict[str, Any]:
    return {
        # The library's own theme brings colours that know nothing of the dark.
        "template": "none",
        "margin": {"l": 32, "r": 12, "t": 12, "b": 40},
        "xaxis": {
            "type": "date",
            "tickformat": "%-d %b\n%Y",
            "nticks": 6,
            "showgrid": False,
            "fixedrange": True,
        },
        # The tiers' lines are the scale; logits would tell a coach nothing.
        "yaxis": {
            "title": {"text": "Ability"},
            "showticklabels": False,
            "showgrid": False,
            "zeroline": False,
            "fixedrange": True,
        },
        "hovermode": "x",
        "dragmode": False,
        "showlegend": False,
    }
