"""What a preview shows: counts before and after, cautions, and the children who would change."""

from collections.abc import Sequence
from typing import Any

import django_tables2 as tables
from django.utils.safestring import SafeString

from progress.pages.shared.parts import athlete_link
from progress.pages.shared.tables import RuledTable
from progress.usecases.preview_rules import AthleteChange, Count, Preview

SHOWN_AT_ONCE = 50
DECISION = (
    "{% load progress_tags %}{% if record.SIDE.next_tier is None %}"
    "In the highest tier{% else %}{% decision_mark record.SIDE.decision %}{% endif %}"
)


class CountTable(RuledTable):
    """Counts before and after; ``tag`` draws what is counted."""

    row_heading = "what"

    what = tables.Column()
    before = tables.Column(verbose_name="Now")
    after = tables.Column(verbose_name="Then")
    difference = tables.Column(verbose_name="Change", accessor="before")

    def render_difference(self, record: Count[Any]) -> str:
        more = record.after - record.before
        return "same" if not more else f"{more:+d}".replace("-", "−")


class DecisionCounts(CountTable):
    """Children by the suggestion about the next tier."""

    caption = "Children by suggestion. Those in the highest tier are left out."
    what = tables.TemplateColumn(
        "{% load progress_tags %}{% decision_mark record.what %}", verbose_name="Suggestion"
    )


class StateCounts(CountTable):
    """Skills by state."""

    caption = "Every skill of every child, counted once."
    what = tables.TemplateColumn(
        "{% load progress_tags %}{% state_mark record.what %}", verbose_name="Skill"
    )


class ChangedTable(RuledTable):
    """Children whose suggestion would be another."""

    caption = "By name. The tool suggests; you decide, child by child."
    nobody = "Nobody’s suggestion would change today."

    name = tables.Column(verbose_name="Athlete", accessor="athlete")
    classes = tables.Column(verbose_name="Class", empty_values=())
    tier = tables.Column(verbose_name="Tier", accessor="before__tier")
    was = tables.TemplateColumn(DECISION.replace("SIDE", "before"), verbose_name="Now")
    then = tables.TemplateColumn(DECISION.replace("SIDE", "after"), verbose_name="Then")

    def render_name(self, record: AthleteChange) -> SafeString:
        return athlete_link(record.athlete)

    def render_classes(self, record: AthleteChange) -> str:
        return record.classes or "–"


def preview_context(preview: Preview, weaker: Sequence[str]) -> dict[str, Any]:
    """For the template; ``weaker`` says in words what would guard a safety skill less."""
    first, rest = preview.changed[:SHOWN_AT_ONCE], preview.changed[SHOWN_AT_ONCE:]
    return {
        "preview": preview,
        "weaker": weaker,
        "decisions": DecisionCounts(preview.decisions, orderable=False),
        "states": StateCounts(preview.states, orderable=False),
        "changed": ChangedTable(first, orderable=False),
        "changed_more": ChangedTable(rest, orderable=False) if rest else None,
        "heights": [(f"{one.what:g}", one) for one in preview.heights],
        "newly": [gate for gate in preview.gates if gate.newly],
        "no_longer": [gate for gate in preview.gates if gate.no_longer],
    }
