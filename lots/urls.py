"""The addresses of the book, a list a subject."""

from django.urls import path, re_path

from lots.forms.ledger.kinds import FORMS
from lots.views.catalogue import (
    groups,
    handbook,
    methods,
    pasting,
    places,
    pot_sizes,
    starting,
    varieties,
)
from lots.views.ledger import (
    bench,
    correcting,
    finding,
    flats,
    inbox,
    lot,
    lots,
    mine,
    photos,
    records,
    rules,
)
from lots.views.reports import changes, compare, coverage
from lots.views.sticking import confirming, sessions, trials
from lots.views.stockplants import plants
from lots.views.supply import availability, due, limits, need, offers, plan, targets, week
from lots.views.worklists import rounds, today

worklists = [
    path("", today.today, name="today"),
    path("round/", rounds.walk_round, name="round"),
]

ledger = [
    path("find/", finding.find, name="find"),
    path("find/matches/", finding.matches, name="find-matches"),
    # The tag's address is upper case, for the QR; a hand may type it lower.
    re_path(r"^[Tt]/(?P<text>.{1,80}?)/?$", finding.tag, name="tag"),
    re_path(r"^[Ff]/(?P<text>.{1,40}?)/?$", finding.flat_tag, name="flat-tag"),
    re_path(r"^[Pp]/(?P<text>.{1,80}?)/?$", finding.place_tag, name="place-tag"),
    path("lots/", lots.lots, name="lots"),
    path("lots/enter/", starting.enter, name="lot-enter"),
    path("lots/lots.csv", lots.lots_csv, name="lots-csv"),
    path("lots/<str:code>/", lot.lot, name="lot"),
    *(
        path(f"lots/<str:code>/{verb}/", records.log, {"verb": verb}, name=f"lot-{verb}")
        for verb in FORMS
    ),
    path("lots/<str:code>/void/<str:kind>/<uuid:uuid>/", records.void, name="lot-void"),
    path("lots/<str:code>/correct/", correcting.correct, name="lot-correct"),
    path("photos/<int:pk>/", photos.photo, name="photo"),
    path("photos/<int:pk>/small.jpg", photos.small, name="photo-small"),
    path("photos/<int:pk>/face/", photos.face, name="photo-face"),
    path("photos/<int:pk>/remove/", photos.remove, name="photo-remove"),
    path("bench/<slug:verb>/", bench.bench, name="bench"),
    path("flats/", flats.flats, name="flats"),
    path("flats/<int:pk>/", flats.flat, name="flat"),
    path("mine/", mine.mine, name="mine"),
    path("sync/", inbox.sync, name="sync"),
    path("refused/<int:pk>/", inbox.settle, name="refusal"),
    path("rules/", rules.rules, name="rules"),
]

sticking = [
    path("lots/<str:code>/stick/", confirming.stick, name="lot-stick"),
    path("lots/<str:code>/not-stuck/", confirming.not_stuck, name="lot-not-stuck"),
    path("sessions/", sessions.sessions, name="sessions"),
    path("sessions/new/", sessions.new, name="session-new"),
    path("sessions/plants/", sessions.plants, name="session-plants"),
    path("sessions/<int:pk>/", sessions.session, name="session"),
    path("sessions/<int:pk>/change/", sessions.change, name="session-change"),
    path("sessions/<int:pk>/repeat/", sessions.repeat, name="session-repeat"),
    path("sessions/<int:pk>/stuck/", confirming.all_stuck, name="session-stuck"),
    path("sessions/<int:pk>/lines/", sessions.add_line, name="session-add"),
    path("sessions/<int:pk>/lines/<str:code>/", sessions.change_line, name="session-line"),
    path("sessions/<int:pk>/worksheet/", sessions.worksheet, name="session-worksheet"),
    path("sessions/<int:pk>/trial/", trials.new, name="session-trial"),
    path("trials/", trials.trials, name="trials"),
    path("trials/<int:pk>/", trials.trial, name="trial"),
    path("trials/<int:pk>/drop/", trials.drop, name="trial-drop"),
]

supply = [
    path("due/", due.due, name="due"),
    path("targets/", targets.targets, name="targets"),
    path("targets/new/", targets.new, name="target-new"),
    path("targets/paste/", targets.paste, name="targets-paste"),
    path("targets/<int:pk>/change/", targets.change, name="target-change"),
    path("targets/<int:pk>/close/", targets.close, name="target-close"),
    path("targets/<int:pk>/remove/", targets.take_out, name="target-remove"),
    path("plan/", plan.the_plan, name="plan"),
    path("week/", week.the_week, name="week"),
    path("plan/session/", plan.session, name="plan-session"),
    path("plan/wish/", plan.wish, name="plan-wish"),
    path("limits/", limits.limits, name="limits"),
    path("limits/new/", limits.new, name="limit-new"),
    path("limits/<int:pk>/change/", limits.change, name="limit-change"),
    path("limits/<int:pk>/remove/", limits.take_out, name="limit-remove"),
    path("how-many/", need.how_many, name="how-many"),
    path("offer/", offers.offer, name="offer"),
    path("offer/offer.csv", offers.offer_csv, name="offer-csv"),
    path("offer/offer.pdf", offers.offer_pdf, name="offer-pdf"),
    path("availability/", availability.availability, name="availability"),
    path("availability/availability.csv", availability.availability_csv, name="availability-csv"),
    path("availability/availability.pdf", availability.availability_pdf, name="availability-pdf"),
]

stockplants = [
    path("stock/", plants.stock, name="stock"),
    path("stock/stock.csv", plants.stock_csv, name="stock-csv"),
    path("stock/new/", plants.new, name="stock-new"),
    path("stock/<int:pk>/", plants.stock_plant, name="stock-plant"),
    path("stock/<int:pk>/change/", plants.change, name="stock-change"),
]

reports = [
    path("changes/", changes.changes, name="changes"),
    path("changes/new/", changes.new, name="change-new"),
    path("changes/nothing/", changes.nothing, name="change-nothing"),
    path("changes/<int:pk>/change/", changes.change, name="change-change"),
    path("changes/<int:pk>/remove/", changes.take_out, name="change-remove"),
    path("forecasts/", coverage.forecasts, name="forecasts"),
    path("methods/compare/", compare.compare, name="methods-compare"),
]

catalogue = [
    path("varieties/", varieties.varieties, name="varieties"),
    path("varieties/varieties.csv", varieties.varieties_csv, name="varieties-csv"),
    path("varieties/find/", varieties.find, name="variety-find"),
    path("varieties/paste/", pasting.varieties_paste, name="varieties-paste"),
    path("varieties/new/", varieties.new, name="variety-new"),
    path("varieties/<int:pk>/", varieties.variety, name="variety"),
    path("varieties/<int:pk>/photo/", photos.add, name="variety-photo"),
    path("varieties/<int:pk>/change/", varieties.change, name="variety-change"),
    path("methods/", methods.methods, name="methods"),
    path("methods/new/", methods.new, name="method-new"),
    path("methods/<int:pk>/", methods.method, name="method"),
    path("methods/<int:pk>/change/", methods.change, name="method-change"),
    path("places/", places.places, name="places"),
    path("start/", starting.start, name="start"),
    path("start/catalogue/", starting.starter, name="starter"),
    path("places/range/", starting.places_range, name="places-range"),
    path("places/new/", places.new, name="place-new"),
    path("places/<int:pk>/", places.place, name="place"),
    path("places/<int:pk>/change/", places.change, name="place-change"),
    path("pot-sizes/", pot_sizes.pot_sizes, name="pot-sizes"),
    path("pot-sizes/new/", pot_sizes.new, name="pot-size-new"),
    path("pot-sizes/<int:pk>/change/", pot_sizes.change, name="pot-size-change"),
    path("words/", handbook.words, name="words"),
    path("how-to/", handbook.jobs, name="jobs"),
    path("how-to/<slug:name>/", handbook.job, name="job"),
    path("handbook/", handbook.handbook, name="handbook"),
    path("groups/", groups.groups, name="groups"),
    path("groups/new/", groups.new, name="group-new"),
    path("groups/<int:pk>/change/", groups.change, name="group-change"),
]

urlpatterns = [*worklists, *ledger, *sticking, *supply, *stockplants, *reports, *catalogue]
