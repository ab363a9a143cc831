"""The floor in the admin: setups, areas, loops, stations and variants."""

from typing import Any

from django.contrib import admin
from django.db.models import ForeignKey, QuerySet
from django.http import HttpRequest

from progress.admin.rows import Rows
from progress.models import (
    Area,
    Equipment,
    Loop,
    LoopStop,
    PlanChoice,
    Setup,
    Station,
    StationEquipment,
    Variant,
)


@admin.register(Area)
class AreaAdmin(admin.ModelAdmin):
    """Parts of the hall."""

    list_display = ("name", "code", "small", "space_m2")
    search_fields = ("name", "code")


@admin.register(Equipment)
class EquipmentAdmin(admin.ModelAdmin):
    """What the hall has only so many of."""

    list_display = ("name", "code", "count")
    search_fields = ("name", "code")


class LoopRows(Rows):
    """The loops of one setup; each one's stops are on its own page."""

    model = Loop
    fields = ("code", "name", "area", "order")
    short_lists = ("area",)
    show_change_link = True


class StationRows(Rows):
    """The stations of one setup; each one's variants are on its own page."""

    model = Station
    fields = ("code", "name")
    show_change_link = True


@admin.register(Setup)
class SetupAdmin(admin.ModelAdmin):
    """Setups, the newest week first."""

    list_display = ("__str__", "week", "published", "planned_for", "stood_in")
    list_filter = ("published", "library")
    autocomplete_fields = ("published_by",)
    search_fields = ("name", "week")
    inlines = (LoopRows, StationRows)


class OfOneSetup(admin.ModelAdmin):
    """A record that stays in the setup it was made for."""

    autocomplete_fields = ("setup",)

    def search_label(self, record: Any) -> str:
        """The same name comes back week after week."""
        return f"{record}, {record.setup}"

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        """The setup is chosen once: its stops and stations belong together."""
        return ("setup",) if obj is not None else ()

    def get_queryset(self, request: HttpRequest) -> QuerySet[Any]:
        """Records with their setup, which tells one week's from another's."""
        return super().get_queryset(request).select_related("setup")


class StopRows(Rows):
    """The stations of one loop in order."""

    model = LoopStop
    loads = ("loop", "station")
    short_lists = ("station",)

    def formfield_for_foreignkey(
        self, db_field: ForeignKey, request: HttpRequest, **kwargs: Any
    ) -> Any:
        """Offer the stations that stand on the same floor as the loop."""
        if db_field.name == "station" and request.resolver_match is not None:
            loop = request.resolver_match.kwargs.get("object_id")
            kwargs["queryset"] = Station.objects.filter(setup__loops=loop)
        return super().formfield_for_foreignkey(db_field, request, **kwargs)


@admin.register(Loop)
class LoopAdmin(OfOneSetup):
    """Loops of all setups."""

    list_display = ("name", "code", "setup", "area", "order")
    list_filter = ("area",)
    search_fields = ("name", "code", "setup__name", "setup__week")
    ordering = ("-setup__week", "order", "code")
    inlines = (StopRows,)

    def get_queryset(self, request: HttpRequest) -> QuerySet[Loop]:
        """Loops with their setup and area."""
        return super().get_queryset(request).select_related("setup", "area")

    def get_inlines(self, request: HttpRequest, obj: Any) -> Any:
        """The stops, once the loop is there to say which floor they stand on."""
        return self.inlines if obj is not None else ()


class VariantRows(Rows):
    """The variants of one station, easiest first; cautions are on each one's own page."""

    model = Variant
    fields = (
        *("code", "name", "step", "skill", "change", "difficulty", "height_m"),
        *("spotter", "lanes", "seconds", "places", "minimum_age"),
    )
    autocomplete_fields = ("skill",)
    loads = ("skill",)
    ordering = ("step", "code")
    show_change_link = True


class EquipmentRows(Rows):
    """What one station takes."""

    model = StationEquipment
    short_lists = ("equipment",)
    loads = ("equipment",)


@admin.register(Station)
class StationAdmin(OfOneSetup):
    """Stations of all setups, and of the library."""

    list_display = ("name", "code", "setup", "kind", "mat", "mat_rated_m")
    list_filter = ("kind", "small_area")
    search_fields = ("name", "code", "setup__name", "setup__week")
    ordering = ("-setup__week", "code")
    inlines = (VariantRows, EquipmentRows)


@admin.register(Variant)
class VariantAdmin(admin.ModelAdmin):
    """Variants of all stations."""

    list_display = ("__str__", "code", "station", "setup", "step", "skill", "change", "height_m")
    list_filter = ("change", "spotter")
    search_fields = ("name", "code", "station__name", "station__code", "skill__code")
    autocomplete_fields = ("station", "skill")
    show_full_result_count = False
    ordering = ("-station__setup__week", "station__code", "step")

    def get_queryset(self, request: HttpRequest) -> QuerySet[Variant]:
        """Variants with their floor, which tells one week's from another's."""
        return super().get_queryset(request).select_related("station__setup", "skill")

    def search_label(self, variant: Variant) -> str:
        """The same variant may stand on many weeks' floors."""
        return f"{variant}, {variant.station}, {variant.station.setup}"

    @admin.display(description="setup", ordering="station__setup__week")
    def setup(self, variant: Variant) -> str:
        """Which week's floor the variant stands on."""
        return str(variant.station.setup)


@admin.register(PlanChoice)
class PlanChoiceAdmin(admin.ModelAdmin):
    """What coaches fixed by hand in plans; they do it on the plan page."""

    list_display = ("athlete", "gym_class", "day", "loop", "station", "variant", "reason")
    list_filter = ("gym_class",)
    search_fields = ("athlete__name", "athlete__code", "gym_class__name", "reason")
    autocomplete_fields = ("gym_class", "athlete", "loop", "station", "variant", "chosen_by")
    date_hierarchy = "day"
    show_full_result_count = False

    def get_queryset(self, request: HttpRequest) -> QuerySet[PlanChoice]:
        """Choices with what they name."""
        names = ("athlete", "gym_class", "loop", "station", "variant", "chosen_by")
        return super().get_queryset(request).select_related(*names)
