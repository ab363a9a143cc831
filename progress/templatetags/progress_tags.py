"""What the templates need: shapes with words, chances in words, the menu, a column's sort state."""

from datetime import date, datetime
from typing import Any

from django import template
from django.templatetags.static import static
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from progress.engine.answers import Estimate
from progress.pages.shared import shapes, words
from progress.pages.shared.access import visitor_of

register = template.Library()

SHEET_MARKS = {
    "check": shapes.CHECK,
    "missing": shapes.MISSING,
    "gate": shapes.GATE_NOT_HELD,
    "here": shapes.HERE,
    "away": shapes.AWAY,
    "refused": shapes.REFUSED,
}


@register.simple_tag
def shape(name: str, css: str = "") -> SafeString:
    """Draw the shape called ``name``; it is decoration, so a word must stand beside it."""
    return format_html(
        '<svg class="shape {}" aria-hidden="true" focusable="false" width="24" height="24">'
        '<use href="{}#{}"></use></svg>',
        css,
        static("progress/shapes.svg"),
        name,
    )


def marked(mark: shapes.Mark, css: str = "") -> SafeString:
    """A shape and its word, kept together on one line."""
    return format_html('<span class="mark {}">{}{}</span>', css, shape(mark.shape), mark.word)


@register.simple_tag
def state_mark(state: Any) -> SafeString:
    """A skill state for staff."""
    return marked(shapes.STATES[state])


@register.simple_tag
def result_mark(result: Any) -> SafeString:
    """What one try showed."""
    return marked(shapes.RESULTS[result])


@register.simple_tag
def decision_mark(decision: Any) -> SafeString:
    """The suggestion about the next tier."""
    return marked(shapes.DECISIONS[decision], "mark-strong")


@register.simple_tag
def hold_mark() -> SafeString:
    """A stop set by a person."""
    return marked(shapes.HOLD, "mark-strong")


@register.simple_tag
def gate_mark() -> SafeString:
    """A safety skill."""
    return marked(shapes.GATE)


@register.simple_tag
def sheet_mark(kind: str) -> SafeString:
    """A mark of the check sheet: ``check``, ``missing``, ``gate``, ``here``, ``away``."""
    return marked(SHEET_MARKS[kind], "mark-strong")


@register.filter
def staff_chance(estimate: Estimate) -> str:
    """``84% (70–92)``."""
    return words.percent_with_range(estimate)


@register.filter
def percent(chance: float) -> str:
    """``84%``."""
    return words.percent(chance)


@register.filter
def likelihood(p_ready: float) -> str:
    """``likely``."""
    return words.likelihood(p_ready)


@register.filter
def days_ago(day: date | None) -> str:
    """``3 days ago``, counted from the venue's today."""
    return words.days_ago(day, timezone.localdate())


@register.filter
def moment_ago(moment: datetime) -> str:
    """``2 weeks ago`` for a moment, in the venue's days."""
    return words.days_ago(timezone.localdate(moment), timezone.localdate())


@register.filter
def skill_name(skills: dict[str, Any], code: str) -> str:
    """The name of the skill with this code; the code itself where it is not in the catalogue."""
    skill = skills.get(code)
    return str(skill) if skill else code


@register.inclusion_tag("progress/parts/menu.html", takes_context=True)
def menu(context: template.Context) -> dict[str, Any]:
    """The links that this visitor may follow."""
    request = context["request"]
    visitor = visitor_of(request) if hasattr(request, "user") else None
    here = request.resolver_match.url_name if request.resolver_match else ""
    return {"visitor": visitor, "user": getattr(request, "user", None), "here": here}


@register.simple_tag(takes_context=True)
def visitor(context: template.Context) -> Any:
    """Who is asking."""
    return visitor_of(context["request"])


@register.simple_tag
def sort_state(column: Any) -> str:
    """The ``aria-sort`` value of a table column."""
    if not column.is_ordered:
        return "none"
    return "descending" if column.order_by_alias.is_descending else "ascending"


@register.filter
def dict_get(names: dict[str, Any], key: str) -> Any:
    """What ``names`` holds for ``key``; the key itself where it holds nothing."""
    return names.get(key, key)
