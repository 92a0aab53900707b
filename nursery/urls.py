"""All addresses: signing in and people here, the book's and the labels' in their rooms."""

from django.contrib import admin
from django.urls import include, path

from nursery.views import about, data, errors, health, people, signing, trust

urlpatterns = [
    path("sign-in/", signing.SignInView.as_view(), name="sign-in"),
    path("sign-out/", signing.sign_out, name="sign-out"),
    path("password/", signing.ChangePasswordView.as_view(), name="password"),
    path("pin/", signing.own_pin, name="pin"),
    path("change-person/", signing.change_person, name="change-person"),
    path("trust/", trust.trust, name="trust"),
    path("trust/authority.crt", trust.authority, name="authority"),
    path("healthz", health.healthz, name="healthz"),
    path("people/", people.people, name="people"),
    path("people/new/", people.new_person, name="person-new"),
    path("people/<int:pk>/", people.person, name="person"),
    path("people/<int:pk>/password/", people.set_password, name="person-password"),
    path("people/<int:pk>/end/<str:key>/", people.end_sign_in, name="sign-in-end"),
    path("about/", about.about, name="about"),
    path("data/", data.data, name="data"),
    path("data/import/", data.bring_in, name="bring-in"),
    path("data/import/<str:number>/", data.an_import, name="import"),
    path("data/import/<str:number>/commit/", data.commit, name="import-commit"),
    path("data/columns/<slug:name>.csv", data.columns, name="columns"),
    path("data/export/", data.take_out, name="take-out"),
    path("data/back-up/", data.back_up, name="back-up"),
    path("back-door/", admin.site.urls),
    path("", include("labels.urls")),
    path("", include("lots.urls")),
]

handler400 = errors.bad_request
handler403 = errors.forbidden
handler404 = errors.not_found
handler500 = errors.server_error
