"""The log of attempts in the admin: to read and to add to, never to change."""

from typing import Any
from uuid import uuid4

from django import forms
from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils import timezone

from progress.models import Attempt, StaffMember


class AttemptForm(forms.ModelForm):
    """A new attempt. Its id is made with the form, so sending the form twice stores it once."""

    class Meta:
        widgets = {"uid": forms.HiddenInput}  # noqa: RUF012


@admin.register(Attempt)
class AttemptAdmin(admin.ModelAdmin):
    """Attempts, the last stored first; a correction is added as a new one."""

    form = AttemptForm
    list_display = ("at", "athlete", "skill", "result", "variant", "coach", "counts")
    list_filter = ("result", "skill__ladder", "skill__tier", "coach", "taken_back")
    search_fields = ("athlete__name", "athlete__code", "skill__name", "skill__code")
    search_help_text = "An athlete's or a skill's name or code."
    date_hierarchy = "at"
    # By primary key, which is indexed: sorting a log of years by time on every page is slow.
    ordering = ("-pk",)
    show_full_result_count = False
    autocomplete_fields = ("athlete", "skill", "variant", "coach", "entered_by", "meeting")
    raw_id_fields = ("supersedes",)

    def get_queryset(self, request: HttpRequest) -> QuerySet[Attempt]:
        """Attempts with everything that the list and their labels name."""
        wanted = ("athlete", "skill", "variant", "coach", "superseded_by")
        return super().get_queryset(request).select_related(*wanted)

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Nobody changes an attempt."""
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Nobody deletes an attempt."""
        return False

    def get_changeform_initial_data(self, request: HttpRequest) -> dict[str, Any]:
        """A fresh id, now, and whoever is signed in as the coach."""
        coach = StaffMember.objects.filter(user__isnull=False, user=request.user.pk).first()
        return {
            "uid": uuid4().hex,
            "at": timezone.now(),
            "coach": coach and coach.pk,
            **super().get_changeform_initial_data(request),
        }

    @admin.display(boolean=True)
    def counts(self, attempt: Attempt) -> bool:
        """Whether it still counts: not superseded and not taken back."""
        return not (attempt.taken_back or hasattr(attempt, "superseded_by"))
