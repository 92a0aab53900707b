"""The addresses of the tag service."""

from django.urls import path

from labels import views

urlpatterns = [
    path("sessions/<int:pk>/tags/", views.session_print, name="session-print"),
    path("sessions/<int:pk>/tags.pdf", views.session_tags, name="session-tags"),
    path("lots/<str:code>/tag.pdf", views.lot_tag, name="lot-tag"),
    path("lots/<str:code>/tag/", views.lot_print, name="lot-print"),
    path("labels/", views.labels, name="labels"),
]
