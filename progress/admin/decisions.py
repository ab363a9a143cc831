"""Holds and sign-offs in the admin."""

from django.contrib import admin

from progress.admin.rows import KeptForGood
from progress.models import Hold, SignOff


@admin.register(Hold)
class HoldAdmin(admin.ModelAdmin):
    """Holds, the newest first."""

    list_display = ("athlete", "kind", "starts", "review", "lifted", "placed_by")
    list_filter = ("kind", ("lifted", admin.EmptyFieldListFilter))
    list_select_related = ("athlete", "placed_by")
    search_fields = ("athlete__name", "athlete__code")
    autocomplete_fields = ("athlete", "placed_by", "lifted_by", "ladders")
    show_full_result_count = False


@admin.register(SignOff)
class SignOffAdmin(KeptForGood):
    """Every decision to move an athlete up."""

    list_display = ("athlete", "from_tier", "to_tier", "decided_by", "decided_at", "sentence")
    list_filter = ("to_tier", "decided_by")
    list_select_related = ("athlete", "from_tier", "to_tier", "decided_by")
    search_fields = ("athlete__name", "athlete__code", "sentence")
    show_full_result_count = False
    date_hierarchy = "decided_at"
