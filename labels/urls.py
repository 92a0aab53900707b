"""The addresses of the tag service."""

from django.urls import path

from labels import views

urlpatterns = [
    path("sessions/<int:pk>/tags.pdf", views.session_tags, name="session-tags"),
    path("lots/<str:code>/tag.pdf", views.lot_tag, name="lot-tag"),
    path("labels/", views.labels, name="labels"),
]
