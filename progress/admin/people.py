"""Athletes, guardians and staff in the admin."""

from django.contrib import admin

from progress.admin.rows import Rows
from progress.models import Athlete, Enrolment, Guardian, Guardianship, Note, StaffMember


@admin.register(StaffMember)
class StaffMemberAdmin(admin.ModelAdmin):
    """Staff by name."""

    list_display = ("name", "code", "role", "active", "user")
    list_filter = ("role", "active")
    list_select_related = ("user",)
    search_fields = ("name", "code")
    autocomplete_fields = ("user",)


class GuardianRows(Rows):
    """Who may see one athlete."""

    model = Guardianship
    autocomplete_fields = ("guardian",)
    loads = ("guardian", "athlete")
    verbose_name = "guardian"


class ChildRows(Rows):
    """Whom one guardian may see."""

    model = Guardianship
    autocomplete_fields = ("athlete",)
    loads = ("guardian", "athlete")
    verbose_name = "child"
    verbose_name_plural = "children"


class PlaceRows(Rows):
    """The classes of one athlete."""

    model = Enrolment
    autocomplete_fields = ("gym_class",)
    loads = ("gym_class", "athlete")
    ordering = ("-since",)


@admin.register(Athlete)
class AthleteAdmin(admin.ModelAdmin):
    """Athletes by name."""

    list_display = ("name", "code", "tier", "birth_date", "joined", "left")
    list_filter = ("tier", ("left", admin.EmptyFieldListFilter))
    list_select_related = ("tier",)
    search_fields = ("name", "code")
    show_full_result_count = False
    inlines = (GuardianRows, PlaceRows)

    def search_label(self, athlete: Athlete) -> str:
        """Two children may share a name, but not a code."""
        return f"{athlete} ({athlete.code})"


@admin.register(Guardian)
class GuardianAdmin(admin.ModelAdmin):
    """Guardians by name."""

    list_display = ("name", "email", "user")
    list_select_related = ("user",)
    search_fields = ("name", "email")
    autocomplete_fields = ("user",)
    show_full_result_count = False
    inlines = (ChildRows,)


@admin.register(Note)
class NoteAdmin(admin.ModelAdmin):
    """Notes for staff, the newest first."""

    list_display = ("athlete", "text", "written_by", "written_at", "taken_back_at")
    list_filter = (("taken_back_at", admin.EmptyFieldListFilter),)
    list_select_related = ("athlete", "written_by")
    search_fields = ("athlete__name", "athlete__code", "text")
    autocomplete_fields = ("athlete", "written_by")
    show_full_result_count = False
    date_hierarchy = "written_at"
    ordering = ("-written_at", "-pk")
