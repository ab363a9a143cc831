"""Every record in Django's admin, for the programme lead and whoever looks after the site.

One file per family of records, like the models. Importing this package registers them all.
"""

from django.contrib import admin

from progress.admin import (
    attempts,
    classes,
    decisions,
    family,
    floor,
    ladders,
    people,
    rulebooks,
    standings,
)
from progress.admin.searches import search

__all__ = [
    "attempts",
    "classes",
    "decisions",
    "family",
    "floor",
    "ladders",
    "people",
    "rulebooks",
    "standings",
]

admin.site.site_header = "Gym records"
admin.site.site_title = "Gym records"
admin.site.index_title = "Records"
admin.site.autocomplete_view = search  # type: ignore[assignment, method-assign]
