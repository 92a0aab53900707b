"""All addresses: signing in and people here, the book's and the labels' in their rooms."""

from django.contrib import admin
from django.urls import include, path

from nursery.views import errors, health, people, signing

urlpatterns = [
    path("sign-in/", signing.SignInView.as_view(), name="sign-in"),
    path("sign-out/", signing.sign_out, name="sign-out"),
    path("password/", signing.ChangePasswordView.as_view(), name="password"),
    path("healthz", health.healthz, name="healthz"),
    path("people/", people.people, name="people"),
    path("people/new/", people.new_person, name="person-new"),
    path("people/<int:pk>/", people.person, name="person"),
    path("people/<int:pk>/password/", people.set_password, name="person-password"),
    path("people/<int:pk>/end/<str:key>/", people.end_sign_in, name="sign-in-end"),
    path("back-door/", admin.site.urls),
    path("", include("labels.urls")),
    path("", include("lots.urls")),
]

handler400 = errors.bad_request
handler403 = errors.forbidden
handler404 = errors.not_found
handler500 = errors.server_error
