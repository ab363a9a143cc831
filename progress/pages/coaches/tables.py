"""The table of coaches with a small picture in each row."""

import django_tables2 as tables
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from progress.pages.coaches.words import figures, verdict
from progress.pages.shared.tables import RuledTable
from progress.usecases.see_coaches import OTHERS_GIVE, CoachSeen

LOWEST, HIGHEST = 0.60, 0.95  # ends of the picture; what lies beyond is drawn at the end
WIDTH, HEIGHT, EDGE = 220.0, 42, 14.0  # units of the drawing
MIDDLE, UPRIGHT = 14, 28  # height of the line, foot of the upright


def place_of(share: float) -> float:
    """Where a share lies in the drawing, left to right."""
    inside = min(max(share, LOWEST), HIGHEST)
    room = WIDTH - 2 * EDGE
    return round(EDGE + room * (inside - LOWEST) / (HIGHEST - LOWEST), 1)


def severity_drawing(coach: CoachSeen) -> SafeString | str:
    """A dot with its 90% line, and the upright at what others give; the words say the same."""
    if coach.gives is None or coach.low is None or coach.high is None:
        return "–"
    scale = format_html_join(
        "",
        '<text class="marking-scale" x="{}" y="40">{}%</text>',
        ((place_of(share), round(100 * share)) for share in (LOWEST, OTHERS_GIVE, HIGHEST)),
    )
    return format_html(
        '<svg class="marking" viewBox="0 0 {} {}" aria-hidden="true" focusable="false">'
        '<line class="marking-others" x1="{}" x2="{}" y1="0" y2="{}"/>'
        '<line class="marking-sure" x1="{}" x2="{}" y1="{}" y2="{}"/>'
        '<circle class="marking-dot" cx="{}" cy="{}" r="5.5"/>{}</svg>',
        *(int(WIDTH), HEIGHT),
        *(place_of(OTHERS_GIVE), place_of(OTHERS_GIVE), UPRIGHT),
        *(place_of(coach.low), place_of(coach.high), MIDDLE, MIDDLE),
        *(place_of(coach.gives), MIDDLE),
        scale,
    )


class CoachesTable(RuledTable):
    """Coaches by name: an order by severity would look like a ranking."""

    caption = (
        "Coaches by name. The dot is the best guess, the line is 90% sure. The dashed upright is "
        "what the others give; left of it is stricter."
    )

    name = tables.Column(verbose_name="Coach")
    says = tables.Column(verbose_name="Against the others", empty_values=())
    picture = tables.Column(verbose_name="Picture", empty_values=())
    tries = tables.Column(verbose_name="Tries marked")

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, orderable=False, **kwargs)

    def render_says(self, record: CoachSeen) -> SafeString:
        return format_html(
            '<strong>{}</strong><br><span class="small">{}</span>', verdict(record), figures(record)
        )

    def render_picture(self, record: CoachSeen) -> SafeString | str:
        return severity_drawing(record)
