"""The numbers of the report card: the curve, the yardsticks, and ladder by ladder."""

from collections.abc import Mapping, Sequence
from typing import Any

import django_tables2 as tables

from progress.engine.report_card import Against, ReportCard
from progress.engine.scores import CurvePoint
from progress.pages.report_card.words import ANSWERS, FITS, YARDSTICKS
from progress.pages.shared.tables import RuledTable
from progress.pages.shared.words import percent
from progress.usecases.judge_card import YARDSTICKS as IN_ORDER
from progress.usecases.judge_card import Part


class CurveTable(RuledTable):
    """What was said and seen, bin by bin."""

    caption = "In tenths of the chance. Between: 90% sure that the true share lies there."
    row_heading = "said"
    nobody = "Nothing was judged yet."

    said = tables.Column(verbose_name="It said")
    seen = tables.Column(verbose_name="It was clean")
    tries = tables.Column(verbose_name="Tries")
    between = tables.Column(verbose_name="Between")
    fits = tables.Column(verbose_name="Fits")


def curve_table(curve: Sequence[CurvePoint]) -> RuledTable:
    """A row a bin, the lowest first."""
    return _table(
        CurveTable,
        [
            {
                "said": f"about {percent(point.said)}",
                "seen": percent(point.seen),
                "tries": f"{point.attempts:,}",
                "between": f"{percent(point.low)} and {percent(point.high)}",
                "fits": "yes" if point.fits else "no",
            }
            for point in curve
        ],
    )


class YardstickTable(RuledTable):
    """The engine beside plainer ways."""

    caption = "Log loss: smaller is better. All are judged on the same attempts."

    name = tables.Column(verbose_name="Way")
    log_loss = tables.Column(verbose_name="Log loss")
    brier = tables.Column(verbose_name="Brier score")
    gain = tables.Column(verbose_name="The tool is better by")
    better = tables.Column(verbose_name="Is the tool better?")


def yardstick_table(card: ReportCard) -> RuledTable:
    """The engine itself first, then the yardsticks from the plainest."""
    own = {
        "name": "This tool",
        "log_loss": f"{card.overall.log_loss:.3f}",
        "brier": f"{card.overall.brier:.3f}",
        "gain": "–",
        "better": "–",
    }
    others = [_yardstick(name, card.against[name]) for name in IN_ORDER if name in card.against]
    return _table(YardstickTable, [own, *others])


def _yardstick(name: str, against: Against) -> dict[str, str]:
    words = YARDSTICKS[name]
    sure = (
        f" (90% sure: {_nats(against.low)} to {_nats(against.high)})"
        if against.low is not None and against.high is not None
        else ""
    )
    return {
        "name": f"{words[:1].upper()}{words[1:]}",
        "log_loss": f"{against.log_loss:.3f}",
        "brier": f"{against.brier:.3f}",
        "gain": f"{_nats(against.gain)}{sure}",
        "better": ANSWERS[against.better],
    }


def _nats(gain: float) -> str:
    """A difference of log losses, never minus nothing."""
    return f"{gain:.3f}".replace("-0.000", "0.000").replace("-", "−")


class PartTable(RuledTable):
    """Marks by ladder or by tier."""

    name = tables.Column(verbose_name="Ladder")
    tries = tables.Column(verbose_name="Tries")
    said = tables.Column(verbose_name="Said on average")
    seen = tables.Column(verbose_name="It was clean")
    log_loss = tables.Column(verbose_name="Log loss")
    fit = tables.Column(verbose_name="Said and seen")


def part_table(
    parts: Sequence[Part], names: Mapping[Any, str], heading: str, caption: str
) -> RuledTable:
    """A row a part, by the names given."""
    table = _table(
        PartTable,
        [
            {
                "name": names.get(part.key, str(part.key)),
                "tries": f"{part.marks.attempts:,}",
                "said": percent(part.marks.said),
                "seen": percent(part.marks.seen),
                "log_loss": f"{part.marks.log_loss:.3f}",
                "fit": FITS[part.fit],
            }
            for part in parts
        ],
        caption=caption,
    )
    table.columns["name"].column.verbose_name = heading
    return table


def _table(make: Any, rows: Sequence[Mapping[str, str]], **words: str) -> RuledTable:
    table: RuledTable = make(rows, orderable=False, **words)
    return table
