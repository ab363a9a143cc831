"""The difficulty map as a chart: children by tier above, skills by ladder below, one scale.

Everything stands in rows counted in pixels from the top, so that a name fits above each skill on a
phone as on a wide screen. Colours are the page's: the script takes them from the stylesheet.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import groupby
from typing import Any

import plotly.graph_objects as go
from scipy.special import logit

from progress.engine.placing import Placed
from progress.models import Skill
from progress.pages.difficulty.words import between, logits, saying
from progress.pages.shared.words import percent
from progress.usecases.see_difficulty import ALL_LADDERS, BIN, DifficultyMap, Spread

EIGHT_IN_TEN = float(logit(0.8))  # how far above a skill a child is clean eight times in ten

SCALE_ROW, TIER_ROW, TALLEST_BAR, LADDER_ROW, SKILL_ROW = 46, 54, 30, 32, 32
MARGIN_TOP, MARGIN_BOTTOM = 8, 66
LONGEST_NAME = 44  # characters that fit on the narrowest phone
EDGE = 0.35  # logits left free at either side

# One shape a tier: the chart's name of it, and its outline in a box of 24 for the key.
SHAPES = (
    ("circle", "M12 4a8 8 0 1 0 0 16a8 8 0 1 0 0-16z"),
    ("square", "M5 5h14v14h-14z"),
    ("diamond", "M12 2.5l9.5 9.5l-9.5 9.5l-9.5-9.5z"),
    ("triangle-up", "M12 3.5l9.5 16.5h-19z"),
    ("pentagon", "M12 3l9 6.5l-3.4 10.5h-11.2l-3.4-10.5z"),
    ("hexagon", "M12 3l8 4.5v9l-8 4.5l-8-4.5v-9z"),
    ("triangle-down", "M12 20.5l9.5-16.5h-19z"),
    ("cross", "M9 3h6v6h6v6h-6v6h-6v-6h-6v-6h6z"),
)


@dataclass(frozen=True)
class TierMark:
    """How one tier's skills look: a shape, and a shade from light to full."""

    tier: int
    name: str
    symbol: str
    outline: str
    shade: float


@dataclass(frozen=True)
class Chart:
    """The figure as JSON values, and how tall it is in pixels."""

    figure: dict[str, Any]
    height: int


def tier_marks(told: DifficultyMap) -> list[TierMark]:
    """The marks of every tier with a skill in it, for the key and the chart alike."""
    names = {skill.tier_id: str(skill.tier) for skill in told.skills.values()}
    marks = []
    for place, tier in enumerate(sorted(names)):
        symbol, outline = SHAPES[place % len(SHAPES)]
        shade = round((place + 0.4) / (len(names) - 0.6), 2) if len(names) > 1 else 1.0
        marks.append(TierMark(tier, names[tier], symbol, outline, min(shade, 1.0)))
    return marks


def map_chart(told: DifficultyMap, ladder: str = ALL_LADDERS) -> Chart | None:
    """The chart of every ladder or of one; None where there is no skill to draw."""
    placed = [one for one in told.placed if ladder in {ALL_LADDERS, one.ladder}]
    if not placed:
        return None
    spreads = told.spreads.get(ladder, ())
    low, high = _range(placed, spreads)
    figure = go.Figure()
    below = _add_spreads(figure, spreads, low)
    height = _add_skills(figure, told, placed, (low, below))
    _add_scale_bar(figure, low)
    for place, spread in enumerate(spreads):
        _add_middle(figure, spread, SCALE_ROW + (place + 1) * TIER_ROW, height)
    _add_ends(figure)
    figure.update_layout(_layout(low, high, height))
    return Chart(dict(figure.to_plotly_json()), height + MARGIN_TOP + MARGIN_BOTTOM)


def _range(placed: Sequence[Placed], spreads: Sequence[Spread]) -> tuple[float, float]:
    points = [edge for one in placed for edge in (one.low, one.high)]
    points += [middle for spread in spreads for middle, _ in spread.counts]
    low, high = min(points) - EDGE, max(points) + EDGE
    return low, max(high, low + EIGHT_IN_TEN + 2 * EDGE)


def _add_spreads(figure: go.Figure, spreads: Sequence[Spread], left: float) -> int:
    """A strip of bars for each tier, all to one measure; return where the rows below start."""
    tallest = max((count for spread in spreads for _, count in spread.counts), default=1)
    for place, spread in enumerate(spreads):
        floor = SCALE_ROW + (place + 1) * TIER_ROW
        counts = [count for _, count in spread.counts]
        figure.add_trace(
            go.Bar(
                x=[middle for middle, _ in spread.counts],
                y=[-TALLEST_BAR * count / tallest for count in counts],
                base=[floor] * len(counts),
                width=[BIN * 0.9] * len(counts),
                customdata=counts,
                marker={"opacity": 0.75},
                hovertemplate=f"Tier {spread.tier}: %{{customdata}} here<extra></extra>",
                showlegend=False,
            )
        )
    said = [(_children(spread), SCALE_ROW + n * TIER_ROW + 11) for n, spread in enumerate(spreads)]
    _write(figure, said, left)
    return SCALE_ROW + len(spreads) * TIER_ROW + 10


def _children(spread: Spread) -> str:
    return f"Tier {spread.tier}: {spread.athletes} child{'' if spread.athletes == 1 else 'ren'}"


def _add_skills(
    figure: go.Figure, told: DifficultyMap, placed: Sequence[Placed], start: tuple[float, int]
) -> int:
    """Names, intervals and marks from the corner ``start``; return where the rows end."""
    left, top = start
    rows = list(_rows(placed, top))
    _write(figure, [(_name(told, one), y - 15) for one, y in rows], left)
    ladders = [next(group) for _, group in groupby(rows, key=lambda row: row[0].ladder)]
    named = [(_short(told.skills[one.skill].ladder), y - 37) for one, y in ladders]
    _write(figure, named, left, weight=700)
    _add_intervals(figure, rows)
    for mark in tier_marks(told):
        mine = [(one, y) for one, y in rows if one.tier == mark.tier]
        if mine:
            _add_marks(figure, told, mark, mine)
    return rows[-1][1] + 12


def _name(told: DifficultyMap, one: Placed) -> str:
    nearer = "" if one.points_to is None else f" (nearer to tier {one.points_to})"
    return _short(told.skills[one.skill]) + nearer


def _rows(placed: Sequence[Placed], top: int) -> Iterator[tuple[Placed, int]]:
    y = top
    for _, group in groupby(placed, key=lambda one: one.ladder):
        y += LADDER_ROW
        for one in group:
            y += SKILL_ROW
            yield one, y - 6


def _add_intervals(figure: go.Figure, rows: Sequence[tuple[Placed, int]]) -> None:
    x: list[float | None] = []
    y: list[int | None] = []
    for one, row in rows:
        x += [one.low, one.high, None]
        y += [row, row, None]
    figure.add_trace(
        go.Scatter(x=x, y=y, mode="lines", line={"width": 2}, hoverinfo="skip", showlegend=False)
    )


def _add_marks(
    figure: go.Figure,
    told: DifficultyMap,
    mark: TierMark,
    rows: Sequence[tuple[Placed, int]],
) -> None:
    """The shape's shade below, its outline at full strength above."""
    x, y = [one.difficulty for one, _ in rows], [row for _, row in rows]
    said = [_hover(told.skills[one.skill], one) for one, _ in rows]
    for symbol, opacity in ((mark.symbol, mark.shade), (f"{mark.symbol}-open", 1.0)):
        figure.add_trace(
            go.Scatter(
                x=x,
                y=y,
                mode="markers",
                opacity=opacity,
                marker={"symbol": symbol, "size": 13, "line": {"width": 2}},
                text=said,
                hovertemplate="%{text}<extra></extra>",
                hoverinfo="text" if opacity == 1.0 else "skip",
                showlegend=False,
            )
        )


def _hover(skill: Skill, one: Placed) -> str:
    return (
        f"{_short(skill)}, tier {one.tier}<br>difficulty {logits(one.difficulty)}"
        f" (90% sure: {between(one)})<br>average child of the tier: {percent(one.chance)} clean"
        f"<br>{saying(one).words}"
    )


def _add_scale_bar(figure: go.Figure, low: float) -> None:
    start, end, y = low + 0.1, low + 0.1 + EIGHT_IN_TEN, 34
    for line in ((start, end, y, y), (start, start, y - 5, y + 5), (end, end, y - 5, y + 5)):
        x0, x1, y0, y1 = line
        figure.add_shape(type="line", x0=x0, x1=x1, y0=y0, y1=y1, line={"width": 2})
    _write(figure, [("This far above a skill: clean 8 times in 10", 13)], low)


def _add_middle(figure: go.Figure, spread: Spread, top: int, bottom: int) -> None:
    """A dotted line down from a tier's children to the skills, at the middle child."""
    figure.add_shape(
        type="line",
        x0=spread.middle,
        x1=spread.middle,
        y0=top,
        y1=bottom,
        line={"width": 1, "dash": "dot"},
        layer="below",
    )


def _add_ends(figure: go.Figure) -> None:
    for x, side, text in (
        (0, "left", "← easier skill,<br>less able child"),
        (1, "right", "harder skill, →<br>more able child"),
    ):
        figure.add_annotation(
            text=text,
            xref="paper",
            yref="paper",
            x=x,
            y=0,
            yshift=-24,
            xanchor=side,
            yanchor="top",
            align=side,
            showarrow=False,
        )


def _write(
    figure: go.Figure, lines: Sequence[tuple[str, int]], left: float, weight: int = 400
) -> None:
    """Lines of text at their heights, from the left edge.

    Not by annotations, whose weight the page's script does not keep, nor by tags in the text, which
    the library would style inline.
    """
    figure.add_trace(
        go.Scatter(
            x=[left] * len(lines),
            y=[y for _, y in lines],
            text=[text for text, _ in lines],
            mode="text",
            textposition="middle right",
            textfont={"size": 13, "weight": weight},
            cliponaxis=False,
            hoverinfo="skip",
            showlegend=False,
        )
    )


def _short(named: object) -> str:
    """A name that fits above its row, safe from being read as tags."""
    text = str(named)
    cut = text if len(text) <= LONGEST_NAME else text[: LONGEST_NAME - 1].rstrip() + "…"
    return escape(cut, quote=False)


def _layout(low: float, high: float, height: int) -> dict[str, Any]:
    return {
        # The library's own theme brings colours that know nothing of the dark.
        "template": "none",
        "margin": {"l": 4, "r": 12, "t": MARGIN_TOP, "b": MARGIN_BOTTOM},
        "xaxis": {
            "range": [low, high],
            "dtick": 1,
            "zeroline": False,
            "showgrid": True,
            "fixedrange": True,
        },
        "yaxis": {
            "range": [height, 0],
            "showline": False,
            "showticklabels": False,
            "showgrid": False,
            "zeroline": False,
            "fixedrange": True,
        },
        "barmode": "overlay",
        "hovermode": "closest",
        "dragmode": False,
        "showlegend": False,
    }
