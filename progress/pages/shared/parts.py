"""Small pieces of page that several tables show: names, readiness, holds, lists of skills."""

from collections.abc import Mapping, Sequence
from datetime import date

from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

from progress.engine.answers import Readiness
from progress.models import Athlete, Hold, Skill
from progress.pages.shared import words

MOST_SKILLS = 3


def athlete_link(athlete: Athlete) -> SafeString:
    """The athlete's name, leading to their page."""
    url = reverse("athlete_page", args=[athlete.code])
    return format_html('<a class="name" href="{}">{}</a>', url, athlete)


def readiness_cell(readiness: Readiness) -> SafeString:
    """The decision's shape and word, with p_ready in words and as a number."""
    return mark_safe(render_to_string("progress/parts/readiness.html", {"readiness": readiness}))


def hold_lines(holds: Sequence[Hold]) -> SafeString:
    """Every hold in force, said plainly."""
    lines = (render_to_string("progress/parts/hold_line.html", {"hold": hold}) for hold in holds)
    return mark_safe("".join(lines))


def skill_list(skills: Mapping[str, Skill], codes: Sequence[str]) -> SafeString | str:
    """The first few skills by name, and how many more there are."""
    if not codes:
        return "–"
    shown = [(str(skills.get(code, code)),) for code in codes[:MOST_SKILLS]]
    items = format_html_join("", "<li>{}</li>", shown)
    more = len(codes) - len(shown)
    rest = format_html('<li class="soft">and {} more</li>', more) if more else ""
    return format_html("<ul>{}{}</ul>", items, rest)


def day_cell(day: date | None, today: date) -> SafeString | str:
    """How long ago, with the day itself for machines."""
    if day is None:
        return "Not checked yet"
    return format_html(
        '<time datetime="{}">{}</time>', day.isoformat(), words.days_ago(day, today).capitalize()
    )
