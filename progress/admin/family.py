"""Families in the admin: links, codes, consents, erasure requests, ideas for home, mail."""

from django.contrib import admin

from progress.admin.rows import KeptForGood
from progress.models import Consent, ErasureRequest, FamilyCode, FamilyLink, HomeIdea, MailSent


@admin.register(FamilyLink)
class FamilyLinkAdmin(KeptForGood):
    """Private links; made and revoked on the guardian's page, where the link is shown once."""

    list_display = ("guardian", "made_at", "made_by", "expires_at", "revoked_at", "opened_at")
    list_select_related = ("guardian", "made_by")
    search_fields = ("guardian__name", "guardian__email")
    autocomplete_fields = ("guardian", "made_by")


@admin.register(FamilyCode)
class FamilyCodeAdmin(KeptForGood):
    """Codes sent by mail."""

    list_display = ("guardian", "made_at", "expires_at", "used_at", "tries")
    list_select_related = ("guardian",)
    search_fields = ("guardian__name", "guardian__email")
    autocomplete_fields = ("guardian",)


@admin.register(Consent)
class ConsentAdmin(KeptForGood):
    """Consents; guardians give and withdraw them, nobody does it for them here."""

    list_display = ("guardian", "athlete", "kind", "text_version", "given_at", "withdrawn_at")
    list_select_related = ("guardian", "athlete")
    list_filter = ("kind",)
    search_fields = ("guardian__name", "athlete__name", "athlete__code")
    autocomplete_fields = ("guardian", "athlete")


@admin.register(ErasureRequest)
class ErasureRequestAdmin(KeptForGood):
    """Requests to erase a child; the lead answers them on their own page."""

    list_display = ("athlete", "asked_by", "asked_at", "answered_at", "answered_by", "erased")
    list_select_related = ("athlete", "asked_by", "answered_by")
    list_filter = ("erased",)
    search_fields = ("athlete__name", "athlete__code", "asked_by__name")
    autocomplete_fields = ("athlete", "asked_by", "answered_by")


@admin.register(HomeIdea)
class HomeIdeaAdmin(admin.ModelAdmin):
    """Ideas for home; only those a lead marks are shown to families."""

    list_display = ("text", "skill", "active")
    list_select_related = ("skill",)
    list_filter = ("active",)
    search_fields = ("text", "skill__name", "skill__code")
    autocomplete_fields = ("skill",)


@admin.register(MailSent)
class MailSentAdmin(KeptForGood):
    """Progress mail: what went to whom."""

    list_display = ("guardian", "period", "claimed_at", "sent_at", "failed")
    list_select_related = ("guardian",)
    search_fields = ("guardian__name", "guardian__email", "period")
    autocomplete_fields = ("guardian",)
