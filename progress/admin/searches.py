"""What search boxes list, so that two children of one name can be told apart."""

from typing import Any

from django.contrib import admin
from django.contrib.admin.views.autocomplete import AutocompleteJsonView
from django.http import HttpRequest
from django.http.response import HttpResponseBase


class LabelledSearch(AutocompleteJsonView):
    """Search results with the label that the record's admin gives in ``search_label``."""

    def serialize_result(self, obj: Any, to_field_name: str) -> dict[str, str]:
        """One result as the search box wants it."""
        result = super().serialize_result(obj, to_field_name)
        label = getattr(self.model_admin, "search_label", str)
        return {**result, "text": label(obj)}


def search(request: HttpRequest) -> HttpResponseBase:
    """Answer a search box."""
    return LabelledSearch.as_view(admin_site=admin.site)(request)
