"""Settings of the site. What differs from nursery to nursery comes from the environment
(see DEVELOPERS.md); there is nothing to edit here in order to run it."""

from pathlib import Path
from urllib.parse import urlsplit

import dj_database_url
from django.utils.csp import CSP

from nursery import environment, https, sqlite

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = environment.data_dir(BASE_DIR)
SECRET_KEY = environment.secret_key(DATA_DIR)
DEBUG = False

NURSERY_ADDRESS = environment.address()
NURSERY_PROXY = environment.proxies()
LAN_ADDRESS = f"http://{environment.lan_address()}:8000"  # for tags, as long as no address is set
ALLOWED_HOSTS = environment.host_names(NURSERY_ADDRESS)
CSRF_TRUSTED_ORIGINS = [NURSERY_ADDRESS] if NURSERY_ADDRESS else []

INSTALLED_APPS = [
    "nursery",
    "lots",
    "labels",
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.forms",
    "simple_history",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "nursery.https.lead_to_https",
    "django.middleware.csp.ContentSecurityPolicyMiddleware",
    "django.middleware.gzip.GZipMiddleware",
    "nursery.clock.by_the_book",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "nursery.body_limits.refuse_too_large",
    "nursery.signing_first.SignInFirst",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "simple_history.middleware.HistoryRequestMiddleware",
    "nursery.no_nul.refuse_nul",
    "nursery.wrong_method.answer_wrong_methods",
    "nursery.notsaved.note_answers",
]

ROOT_URLCONF = "nursery.urls"
WSGI_APPLICATION = "nursery.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.template.context_processors.csp",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "nursery.rooms.rooms",
            ],
            "builtins": ["lots.templatetags.book"],
        },
    },
]

# Form fields are drawn by templates/django/forms/field.html, and what stands on their controls by
# widgets/attrs.html beside it.
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"

# SQLite is set so that an acknowledged record survives a crash and a power cut:
# - journal_mode=WAL lets phones read while one writes (https://sqlite.org/wal.html);
# - synchronous=FULL syncs the WAL after each commit: with WAL that is durable across a power
#   loss, where NORMAL may roll the last commits back (https://sqlite.org/pragma.html#pragma_synchronous);
# - no connection brings the WAL into the file by itself: `nursery.upkeep.checkpoints` says why;
# - IMMEDIATE takes the write lock when a transaction opens, so that reading the counts and
#   writing them is one step that no other phone comes between
#   (https://sqlite.org/lang_transaction.html);
# - the timeout is how long a writer waits for that lock before it gives up.
# ATOMIC_REQUESTS stays off: pages read without a lock, and only the ledger's verbs take one.
DATABASES = {
    "default": dj_database_url.config(
        default=f"sqlite:///{DATA_DIR / 'book.sqlite3'}", conn_max_age=60, conn_health_checks=True
    )
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    DATABASES["default"]["ENGINE"] = "nursery.sqlite"  # Django's, with turns for writers
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": sqlite.WAIT,
        "init_command": (
            "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA cache_size=-64000;"
            + sqlite.NEVER_BY_ITSELF
        ),
    }

# People and signing in
AUTH_USER_MODEL = "nursery.Person"
AUTHENTICATION_BACKENDS = [
    "nursery.throttle.Waiting",
    "django.contrib.auth.backends.ModelBackend",
    "nursery.pins.ByPin",
]
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 8},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator",
        "OPTIONS": {"user_attributes": ["username", "name"]},
    },
    {"NAME": "nursery.passwords.NotTheNurserysName"},
]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "sign-in"
CSRF_FAILURE_VIEW = "nursery.views.errors.csrf_failure"
# A phone stays signed in for a season; a manager can end it on the page of the person.
SESSION_ENGINE = "nursery.signins"
SESSION_COOKIE_AGE = 180 * 24 * 3600
# Over plain http on the nursery's own network a Secure cookie would never come back, so the
# cookies are Secure exactly where the book is known to be reached by https: `serve --tls` or with
# --cert, and where the address on the tags says so. Which of a proxy's requests came by plain http
# is known only of one that is believed.
HTTPS_PORT = None
TRUST_ADDRESS = ""  # where phones are told to trust the nursery's own authority; see `serve --tls`
if NURSERY_ADDRESS.startswith("https://"):
    globals().update(
        https.secured((urlsplit(NURSERY_ADDRESS).port or 443) if NURSERY_PROXY else None)
    )

# Nothing is loaded from elsewhere and nothing inline runs: scripts, styles and fonts are files.
SECURE_CSP = {
    "default-src": [CSP.NONE],
    "script-src": [CSP.SELF],
    "style-src": [CSP.SELF],
    "img-src": [CSP.SELF, "data:", "blob:"],
    "font-src": [CSP.SELF],
    "connect-src": [CSP.SELF],
    "manifest-src": [CSP.SELF],
    "worker-src": [CSP.SELF],
    "form-action": [CSP.SELF],
    "base-uri": [CSP.NONE],
    "frame-ancestors": [CSP.NONE],
}
X_FRAME_OPTIONS = "DENY"
SILENCED_SYSTEM_CHECKS = [
    "security.W008",  # plain http is led to https by nursery.https, which knows of tags and health
    # What else is served under the nursery's domain is not this book's to bind for a year.
    "security.W005",
    "security.W021",
]
SECURE_REFERRER_POLICY = "same-origin"

LANGUAGE_CODE = "en-gb"
LANGUAGES = [("en-gb", "English")]
LOCALE_PATHS = [BASE_DIR / "nursery" / "locale"]
NURSERY_TIME_ZONE = environment.time_zone()
TIME_ZONE = NURSERY_TIME_ZONE or "UTC"  # of a new book; see nursery.clock
FORMAT_MODULE_PATH = ["nursery.formats"]
USE_I18N = True
USE_TZ = True

STATIC_URL = "/static/"
STATIC_ROOT = DATA_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]
MEDIA_ROOT = DATA_DIR / "photos"
FILE_UPLOAD_PERMISSIONS, FILE_UPLOAD_DIRECTORY_PERMISSIONS = 0o600, 0o700
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
WHITENOISE_KEEP_ONLY_HASHED_FILES = True
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000

DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
MESSAGE_STORAGE = "nursery.messages.Messages"

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s: %(message)s"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {"nursery.backup": {"level": "INFO"}},  # which backups were cleared away
}
