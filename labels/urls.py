"""The addresses of the tag service."""

from django.urls import path

from labels.views import made, printers, printing, removing, stocks, wording

urlpatterns = [
    path("sessions/<int:pk>/tags/", printing.session_print, name="session-print"),
    path("sessions/<int:pk>/tags.pdf", printing.session_tags, name="session-tags"),
    path("lots/<str:code>/tag/", printing.lot_print, name="lot-print"),
    path("lots/<str:code>/tag.pdf", printing.lot_tag, name="lot-tag"),
    path("stock/tags/", printing.stock_print, name="stock-print"),
    path("stock/tags.pdf", printing.stock_tags, name="stock-tags"),
    path("stock/<int:pk>/tag/", printing.stock_plant_print, name="stock-plant-print"),
    path("stock/<int:pk>/tag.pdf", printing.stock_plant_tag, name="stock-plant-tag"),
    path("places/tags/", printing.places_print, name="places-print"),
    path("places/tags.pdf", printing.places_tags, name="places-tags"),
    path("flats/tags/", printing.flats_print, name="flats-print"),
    path("flats/tags.pdf", printing.flats_tags, name="flats-tags"),
    path("labels/", stocks.labels, name="labels"),
    path("labels/prints/<uuid:uuid>/", made.printing, name="printing"),
    path("labels/prints/<uuid:uuid>/tags.pdf", made.printing_pdf, name="printing-pdf"),
    path("labels/prints/<uuid:uuid>/<int:page>.png", made.printing_png, name="printing-png"),
    path("labels/test-sheet.pdf", stocks.test_sheet, name="test-sheet"),
    path("labels/stocks/new/", stocks.new_stock, name="label-stock-new"),
    path("labels/stocks/<int:pk>/change/", stocks.change_stock, name="label-stock-change"),
    path("labels/stocks/<int:pk>/remove/", removing.stock, name="label-stock-remove"),
    path("labels/stocks/draw/", stocks.draw_stock, name="label-stock-draw"),
    path("labels/printers/new/", printers.new, name="printer-new"),
    path("labels/printers/<int:pk>/change/", printers.change, name="printer-change"),
    path("labels/printers/<int:pk>/remove/", removing.printer, name="printer-remove"),
    path("labels/wording/", wording.wording, name="tag-wording"),
]
