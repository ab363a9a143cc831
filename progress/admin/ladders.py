"""The skill catalogue in the admin."""

from django.contrib import admin

from progress.admin.rows import Rows
from progress.models import Ladder, LookFor, Skill, SkillNeed, Tier


@admin.register(Ladder)
class LadderAdmin(admin.ModelAdmin):
    """Ladders in the order they are shown."""

    list_display = ("name", "code", "order")
    search_fields = ("name", "code")


@admin.register(Tier)
class TierAdmin(admin.ModelAdmin):
    """Tiers from the first to the last."""

    list_display = ("number", "name", "minimum_age")
    search_fields = ("name", "number")


class LookForRows(Rows):
    """What a coach watches for in a skill."""

    model = LookFor


class NeedRows(Rows):
    """What an athlete must hold before starting a skill; the record refuses a circle."""

    model = SkillNeed
    fk_name = "skill"
    autocomplete_fields = ("need",)
    loads = ("skill", "need")
    verbose_name = "need"


@admin.register(Skill)
class SkillAdmin(admin.ModelAdmin):
    """Skills by ladder and tier."""

    list_display = ("name", "code", "ladder", "tier", "required", "gate", "standard")
    list_filter = ("ladder", "tier", "required", "gate")
    list_select_related = ("ladder", "tier")
    search_fields = ("name", "code", "ladder__name")
    inlines = (LookForRows, NeedRows)

    def search_label(self, skill: Skill) -> str:
        """The code goes with the name, as on paper."""
        return f"{skill.code}: {skill}"
