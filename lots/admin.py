"""The book's tables at the back door. Catalogues can be changed there; what counts can't."""

from django.contrib import admin
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

from lots.forms.catalogue import CropGroupForm, MethodForm
from lots.models import (
    RECORDS,
    Correction,
    CropGroup,
    Cut,
    Flat,
    Forecast,
    Lot,
    Method,
    NotedChange,
    Photo,
    Place,
    PotSize,
    Refusal,
    StickingSession,
    StockPlant,
    Target,
    Trial,
    Variety,
)


class ReadOnly(admin.ModelAdmin):
    """To be looked at: what writes these keeps rules that a form here would not."""

    show_full_result_count = False

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False


admin.site.register(Flat)


@admin.register(CropGroup)
class CropGroupAdmin(admin.ModelAdmin):
    form = CropGroupForm
    list_display = ["name", "genus", "roots_like"]


@admin.register(Method)
class MethodAdmin(admin.ModelAdmin):
    form = MethodForm
    list_display = ["name", "source_part", "cut_like", "pieces_per_source", "needs_shoot"]


@admin.register(PotSize)
class PotSizeAdmin(admin.ModelAdmin):
    list_display = ["name", "diameter_cm", "pieces_per_pot", "least_struck"]


@admin.register(Variety)
class VarietyAdmin(admin.ModelAdmin):
    list_display = ["code", "__str__", "group", "protected", "licence"]
    list_filter = ["group", "protected"]
    list_select_related = ["group"]
    search_fields = ["code", "genus", "species", "cultivar", "trade_name"]


@admin.register(StockPlant)
class StockPlantAdmin(admin.ModelAdmin):
    list_display = ["__str__", "variety", "health", "place", "since"]
    list_filter = ["health", "origin"]
    list_select_related = ["variety", "place"]
    raw_id_fields = ["from_lot"]
    search_fields = ["code"]


@admin.register(Place)
class PlaceAdmin(admin.ModelAdmin):
    list_display = ["name", "walk_order"]
    search_fields = ["name"]


@admin.register(StickingSession)
class StickingSessionAdmin(admin.ModelAdmin):
    list_display = ["code", "day", "led_by"]
    list_select_related = ["led_by"]
    search_fields = ["code"]


@admin.register(Target)
class TargetAdmin(admin.ModelAdmin):
    list_display = ["variety", "pot_size", "pots", "wanted_by", "for_whom"]
    list_select_related = ["variety", "pot_size"]


@admin.register(NotedChange)
class NotedChangeAdmin(admin.ModelAdmin):
    list_display = ["what", "day", "house", "group"]
    list_select_related = ["group"]
    search_fields = ["what"]


@admin.register(Lot)
class LotAdmin(ReadOnly):
    """Only what nobody counts by can be changed: the rest is the ledger's to write."""

    list_display = ["__str__", "variety", "method", "stage", "place", "stuck_on", "stuck_units"]
    list_filter = ["stage"]
    list_select_related = ["variety", "method", "place"]
    search_fields = ["code"]
    fields = [*(field.name for field in Lot._meta.fields if field.name != "id")]
    readonly_fields = [name for name in fields if name not in ("medium", "hormone", "note")]

    def has_change_permission(self, request: HttpRequest, obj: Lot | None = None) -> bool:
        return request.user.is_manager


@admin.register(Trial)
class TrialAdmin(ReadOnly):
    list_display = ["question", "session", "variety", "seed"]
    list_select_related = ["session", "variety"]
    search_fields = ["question"]


@admin.register(Cut)
class CutAdmin(ReadOnly):
    list_display = ["lot", "stock_plant", "pieces", "order", "disinfected_before"]
    list_select_related = ["lot", "stock_plant"]
    search_fields = ["lot__code", "stock_plant__code"]


@admin.register(Correction)
class CorrectionAdmin(ReadOnly):
    list_display = ["lot", "at", "by", "what", "before", "after", "why"]
    list_select_related = ["lot", "by"]
    search_fields = ["lot__code"]


@admin.register(*RECORDS.values())
class RecordAdmin(ReadOnly):
    list_display = ["lot", "observed_at", "by", "voided"]
    list_select_related = ["lot", "by"]
    search_fields = ["lot__code"]

    @admin.display(boolean=True, description=_("voided"))
    def voided(self, record: object) -> bool:
        return record.is_voided


@admin.register(Forecast)
class ForecastAdmin(ReadOnly):
    list_display = ["lot", "moment", "made_at", "struck_p50", "finished_p50", "to_come"]
    list_filter = ["moment", "basis"]
    list_select_related = ["lot"]
    search_fields = ["lot__code"]


@admin.register(Photo)
class PhotoAdmin(ReadOnly):
    list_display = ["lot", "variety", "taken_at", "by"]
    list_select_related = ["lot", "variety", "by"]
    search_fields = ["lot__code", "variety__code"]


@admin.register(Refusal)
class RefusalAdmin(ReadOnly):
    list_display = ["lot_text", "received_at", "by", "why", "settled_at"]
    list_select_related = ["by"]
    search_fields = ["lot_text", "uuid"]
