"""What the engine runs on, in the admin: rules, changes of skills, calibrations, last answers."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from progress.admin.rows import KeptForGood
from progress.models import Calibration, RuleBook, SkillChange, Standing


@admin.register(RuleBook)
class RuleBookAdmin(KeptForGood):
    """Every version of the rules; a new one is written on the rules page."""

    list_display = ("version", "changed_at", "changed_by", "why")
    list_select_related = ("changed_by",)
    search_fields = ("why", "changed_by__name")


@admin.register(Calibration)
class CalibrationAdmin(KeptForGood):
    """Every calibration the engine has run on."""

    list_display = ("cutoff", "engine_version", "attempts", "made_at", "fingerprint")
    list_filter = ("engine_version",)
    search_fields = ("fingerprint", "engine_version")


@admin.register(SkillChange)
class SkillChangeAdmin(KeptForGood):
    """Every change of what a skill asks for; a new one is made on the lead's pages."""

    list_display = ("skill", "what", "before", "after", "changed_by", "changed_at", "why")
    list_filter = ("what",)
    list_select_related = ("skill", "changed_by")
    search_fields = ("skill__code", "skill__name", "why")
    show_full_result_count = False


@admin.register(Standing)
class StandingAdmin(KeptForGood):
    """What the engine said last of every athlete: worked out, never written by hand."""

    readonly_fields = ("athlete",)
    list_display = ("athlete", "decision", "p_ready", "on_day", "last_checked")
    list_filter = ("decision",)
    list_select_related = ("athlete",)
    search_fields = ("athlete__name", "athlete__code")
    show_full_result_count = False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """It goes with its athlete; an answer that is gone is worked out again."""
        return True
