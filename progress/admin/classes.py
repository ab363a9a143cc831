"""Classes, places, meetings and registers in the admin."""

from typing import Any

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest

from progress.admin.rows import Rows
from progress.models import Enrolment, GymClass, Meeting, RegisterEntry, SheetSkill


class MemberRows(Rows):
    """Who has a place in one class."""

    model = Enrolment
    autocomplete_fields = ("athlete",)
    loads = ("athlete", "gym_class")
    ordering = ("athlete__name", "since")


@admin.register(GymClass)
class GymClassAdmin(admin.ModelAdmin):
    """Classes through the week."""

    list_display = ("name", "code", "weekday", "starts_at", "minutes", "places", "small_area")
    list_filter = ("weekday", "small_area")
    search_fields = ("name", "code")
    autocomplete_fields = ("coaches",)
    inlines = (MemberRows,)


@admin.register(Enrolment)
class EnrolmentAdmin(admin.ModelAdmin):
    """Places, the newest first."""

    list_display = ("athlete", "gym_class", "since", "until")
    list_filter = (("until", admin.EmptyFieldListFilter),)
    list_select_related = ("athlete", "gym_class")
    search_fields = ("athlete__name", "athlete__code", "gym_class__name")
    autocomplete_fields = ("athlete", "gym_class")
    show_full_result_count = False
    ordering = ("-pk",)


class RegisterRows(Rows):
    """Who came to one meeting."""

    model = RegisterEntry
    autocomplete_fields = ("athlete",)
    loads = ("athlete", "meeting__gym_class")
    ordering = ("athlete__name",)


@admin.register(Meeting)
class MeetingAdmin(admin.ModelAdmin):
    """Meetings, the newest first."""

    list_display = ("day", "gym_class")
    search_fields = ("gym_class__name", "gym_class__code", "day")
    autocomplete_fields = ("gym_class",)
    show_full_result_count = False
    date_hierarchy = "day"
    ordering = ("-day", "-pk")
    inlines = (RegisterRows,)

    def get_queryset(self, request: HttpRequest) -> QuerySet[Meeting]:
        """Meetings with their class, which their label names."""
        return super().get_queryset(request).select_related("gym_class")

    def get_inlines(self, request: HttpRequest, obj: Any) -> Any:
        """The register, once the meeting is there to say whose class it is."""
        return self.inlines if obj is not None else ()


@admin.register(RegisterEntry)
class RegisterEntryAdmin(admin.ModelAdmin):
    """All registers, to search; a new entry is made on its meeting's page."""

    list_display = ("meeting", "athlete", "present")
    list_filter = ("present",)
    search_fields = ("athlete__name", "athlete__code", "meeting__gym_class__name")
    readonly_fields = ("meeting", "athlete")
    show_full_result_count = False
    ordering = ("-pk",)

    def get_queryset(self, request: HttpRequest) -> QuerySet[RegisterEntry]:
        """Entries with the meeting and class that their label names."""
        return super().get_queryset(request).select_related("athlete", "meeting__gym_class")

    def has_add_permission(self, request: HttpRequest) -> bool:
        """A meeting's page is the place for that."""
        return False


@admin.register(SheetSkill)
class SheetSkillAdmin(admin.ModelAdmin):
    """What coaches put on the sheet of a meeting or took off it."""

    list_display = ("meeting", "skill", "shown", "chosen_by")
    list_filter = ("shown",)
    list_select_related = ("meeting__gym_class", "skill", "chosen_by")
    search_fields = ("meeting__gym_class__name", "skill__name", "skill__code")
    autocomplete_fields = ("meeting", "skill", "chosen_by")
    show_full_result_count = False
    ordering = ("-pk",)
