"""What family pages need beside the rest: names, days and states in the family's language."""

from datetime import date, datetime
from typing import Any

from django import template
from django.utils import formats, timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext, pgettext

from progress.pages.shared import shapes, words
from progress.templatetags.progress_tags import marked

register = template.Library()


@register.filter
def in_our_words(named: Any) -> str:
    """The name of a skill, ladder or tier in the page's language; a gym's own as it is."""
    return pgettext("catalogue", str(named))


@register.filter
def isolated(name: Any) -> SafeString:
    """A name whose letters may run the other way, kept from turning its neighbours round."""
    return format_html("<bdi>{}</bdi>", name)


@register.filter
def family_day(day: date | datetime) -> str:
    """``3 March 2026``, as the page's language writes it."""
    local = timezone.localtime(day) if isinstance(day, datetime) else day
    return formats.date_format(local, pgettext("date format", "j F Y"))


@register.filter
def family_month(day: date) -> str:
    """``March 2026``."""
    return formats.date_format(day, pgettext("date format", "F Y"))


@register.simple_tag
def family_state_mark(state: Any) -> SafeString:
    """A skill state in a family's words."""
    mark = shapes.FAMILY_STATES[state]
    return marked(shapes.Mark(mark.shape, gettext(mark.word)))


@register.filter
def in_ten(chance: float) -> str:
    """``Clean about 8 times in 10``."""
    return words.in_ten(chance)
