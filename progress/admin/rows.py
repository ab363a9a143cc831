"""Rows inside another record's page, drawn without a question to the database for each row."""

from collections.abc import Sequence
from typing import Any, cast

from django import forms
from django.contrib import admin
from django.contrib.admin.widgets import AutocompleteSelect
from django.db import models
from django.forms.models import ModelChoiceIterator
from django.http import HttpRequest


class RowAutocomplete(AutocompleteSelect):
    """A search box that takes the label of the row's own choice from the row itself."""

    chosen: models.Model | None = None

    def optgroups(self, name: str, value: Sequence[str], attr: Any = None) -> Any:
        """As the parent does it, but for the choice already loaded with the row."""
        if self.chosen is None or [str(self.chosen.pk)] != [str(one) for one in value]:
            return super().optgroups(name, value, attr)
        chosen = self.create_option(name, self.chosen.pk, str(self.chosen), True, 0)
        return [(None, [chosen], 0)]


class RowForm(forms.ModelForm):
    """A row that hands what it has loaded to its search boxes."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            box = getattr(field.widget, "widget", None)
            if isinstance(box, RowAutocomplete) and self.instance.pk:
                box.chosen = getattr(self.instance, name)


class Rows(admin.TabularInline):
    """Rows of a table inside another record's page.

    ``loads`` names what each row's label needs, so that it comes in the same question.
    ``short_lists`` names fields that choose from a short list, which is read once for all rows.
    """

    form = RowForm
    extra = 0
    loads: tuple[str, ...] = ()
    short_lists: tuple[str, ...] = ()

    def get_queryset(self, request: HttpRequest) -> models.QuerySet[Any]:
        """The rows with what their labels need."""
        return super().get_queryset(request).select_related(*self.loads)

    def formfield_for_foreignkey(
        self, db_field: models.ForeignKey, request: HttpRequest, **kwargs: Any
    ) -> Any:
        """Search boxes and short lists that do not ask again for every row."""
        if db_field.name in self.autocomplete_fields:
            kwargs["widget"] = RowAutocomplete(db_field, self.admin_site, using=kwargs.get("using"))
        field = super().formfield_for_foreignkey(db_field, request, **kwargs)
        if field is not None and db_field.name in self.short_lists:
            field.choices = list(cast(ModelChoiceIterator, field.choices))
        return field


class KeptForGood(admin.ModelAdmin):
    """Records to read, never to add, change or delete here: they are made elsewhere and kept."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        """Nobody adds one by hand."""
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Nobody changes one."""
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Nobody deletes one."""
        return False
