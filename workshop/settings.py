"""All settings, read from the environment; every default is the safe choice for one machine.

A value may also come from a file: for `NAME`, set `NAME_FILE` to its path (SECRET_KEY_FILE,
DATABASE_PASSWORD_FILE). docs/installing.md lists the names.
"""

from datetime import timedelta
from pathlib import Path
from typing import Any

import django_stubs_ext
import environ
from csp.constants import NONE, SELF

from workshop import data_folder

django_stubs_ext.monkeypatch()  # ModelForm[Customer] means something to the type checker only

env = environ.FileAwareEnv()

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(env.str("TAREBOOK_DATA", default=str(BASE_DIR / "data")))
data_folder.shut(DATA_DIR)  # here, since every way into the book reads the settings

DEBUG = env.bool("TAREBOOK_DEBUG", default=False)
BEHIND_TLS = env.bool("TAREBOOK_HTTPS", default=False)  # only when a TLS terminator is in front
ALLOWED_HOSTS = env.list("TAREBOOK_HOSTS", default=["localhost", "127.0.0.1", "[::1]"])


SECRET_KEY = env.str("SECRET_KEY", default="").strip() or data_folder.kept_secret_key(DATA_DIR)

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "crispy_forms",
    "crispy_bootstrap5",
    "django_htmx",
    "csp",
    "axes",
    "simple_history",
    # The rooms, in the order in which they may look at each other.
    "workshop.core",
    "workshop.ledger",
    "workshop.materials",
    "workshop.goods_in",
    "workshop.formulas",
    "workshop.kettle",
    "workshop.curing",
    "workshop.packing",
    "workshop.labels",
    "workshop.dispatch",
    "workshop.trace",
    "workshop.aftersales",
    "workshop.dossier",
    "workshop.costs",
    "workshop.counts",
    "workshop.planning",
    "workshop.workbench",
    "workshop.audit",
    "workshop.organic",
    "workshop.transfer",
    "workshop.front",
]
# The invented workshop is no part of a book behind TLS, unless it is asked for.
if env.bool("TAREBOOK_DEMO", default=not BEHIND_TLS):
    INSTALLED_APPS.append("workshop.demo")

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "workshop.core.web.compression.CompressedPages",
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "workshop.core.web.no_store.no_store",
    "workshop.core.web.sessions.WorkingDaySessions",
    "django.middleware.common.CommonMiddleware",
    "workshop.core.web.unreadable_requests.reject_null_bytes",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "workshop.core.access.RoleMiddleware",
    "workshop.front.first_hour_redirect.onward",
    "simple_history.middleware.HistoryRequestMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "workshop.urls"
WSGI_APPLICATION = "workshop.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "workshop.core.web.context_processors.frame",
                "workshop.front.first_hour_offer.next_step",
            ],
        },
    },
]

CRISPY_ALLOWED_TEMPLATE_PACKS = "bootstrap5"
CRISPY_TEMPLATE_PACK = "bootstrap5"
CRISPY_FAIL_SILENTLY = False

# ---- Database ------------------------------------------------------------------------------------


def database() -> dict[str, Any]:
    """One SQLite file in the data folder, or the PostgreSQL server that DATABASE_URL names."""
    usual = f"sqlite:///{DATA_DIR / data_folder.DATABASE}"
    chosen: dict[str, Any] = env.db_url("DATABASE_URL", default=usual)
    chosen["CONN_MAX_AGE"] = 60
    chosen["CONN_HEALTH_CHECKS"] = True
    if chosen["ENGINE"].endswith(".sqlite3"):
        data_folder.shut_database(Path(chosen["NAME"]))
        # Without IMMEDIATE two writers deadlock and one fails at once; with it they queue.
        chosen["OPTIONS"] = {
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            # Up to 128 MB of pages a connection, not 2, as far as the book is that large: in a
            # ledger of millions a trace finds its pages at hand, as it does in a small one.
            "init_command": (
                "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA cache_size=-131072"
            ),
        }
        chosen["TEST"] = {"NAME": str(DATA_DIR / "test.sqlite3")}  # a file: threads share it
        return chosen
    # The server keeps the plans of what it is asked often: a reading at the kettle takes a quarter
    # less time. Behind a pooler that hands out a server connection for each transaction, no.
    if not env.bool("TAREBOOK_POOLED", default=False):
        options = {"server_side_binding": True, "prepare_threshold": 5}
        chosen["OPTIONS"] = {**chosen.get("OPTIONS", {}), **options}
    if password := env.str("DATABASE_PASSWORD", default="").strip():
        chosen["PASSWORD"] = password
    return chosen


DATABASES = {"default": database()}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# ---- People --------------------------------------------------------------------------------------

AUTH_USER_MODEL = "core.User"
LOGIN_URL = "front:sign-in"
LOGIN_REDIRECT_URL = "front:today"
LOGOUT_REDIRECT_URL = "front:sign-in"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in (
        "UserAttributeSimilarityValidator",
        "MinimumLengthValidator",
        "CommonPasswordValidator",
        "NumericPasswordValidator",
    )
]

# A working day at the wall tablet, counted from the last touch.
SESSION_ENGINE = "workshop.core.web.sessions"
SESSION_COOKIE_AGE = 12 * 60 * 60

# Five wrong passwords for one name from one address: a quarter of an hour's wait. Thirty from one
# address, whatever the names: the same wait. A whole workshop may share an address.
AXES_HANDLER = "workshop.core.web.passwords.CountedPasswords"
AXES_FAILURE_LIMIT = 5
WRONG_PASSWORDS_FROM_ONE_ADDRESS = 30
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False  # a try meanwhile does not prolong the wait
AXES_RESET_ON_SUCCESS = True
AXES_DISABLE_ACCESS_LOG = True
AXES_VERBOSE = False
AXES_LOCKOUT_TEMPLATE = "front/locked_out.html"
# The address that our own terminator saw; a header from elsewhere proves nothing.
AXES_IPWARE_META_PRECEDENCE_ORDER = ["HTTP_X_REAL_IP" if BEHIND_TLS else "REMOTE_ADDR"]

# ---- What a browser may do -----------------------------------------------------------------------

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:"],
        "object-src": [NONE],
        "worker-src": [SELF],
        "base-uri": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
SESSION_COOKIE_SECURE = BEHIND_TLS
CSRF_COOKIE_SECURE = BEHIND_TLS

if BEHIND_TLS:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_SSL_REDIRECT = True
    SECURE_REDIRECT_EXEMPT = [r"^health/$"]  # asked from inside the container, without TLS
    SECURE_HSTS_SECONDS = 365 * 24 * 60 * 60
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    # W021: putting a name on the browsers' preload list is its owner's choice, and hard to undo.
    SILENCED_SYSTEM_CHECKS = ["security.W021"]

DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024  # of a form without its files
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000  # a long delivery on one page
DATA_UPLOAD_MAX_NUMBER_FILES = 50
FILE_UPLOAD_PERMISSIONS = 0o600
FILE_UPLOAD_DIRECTORY_PERMISSIONS = 0o700

# ---- Files ---------------------------------------------------------------------------------------

MEDIA_ROOT = DATA_DIR / "uploads"  # no MEDIA_URL: certificates leave only through a view

# On another disk or machine, if it can be: what spoils the book would spoil copies beside it.
BACKUP_DIR = Path(env.str("TAREBOOK_BACKUPS", default=str(DATA_DIR / "backups")))

STATIC_URL = "static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
# Given in the container image, where collectstatic has filled it; otherwise the files are served
# from where they lie, so that a fresh clone needs no extra step.
STATIC_ROOT = env.str("TAREBOOK_STATIC_ROOT", default=None)
WHITENOISE_USE_FINDERS = STATIC_ROOT is None
WHITENOISE_ALLOW_ALL_ORIGINS = False  # no page elsewhere has a use for our files
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": (
            "whitenoise.storage.CompressedManifestStaticFilesStorage"
            if STATIC_ROOT
            else "django.contrib.staticfiles.storage.StaticFilesStorage"
        ),
        # Collected by one user and served by another, unlike what is handed in.
        "OPTIONS": {"file_permissions_mode": 0o644, "directory_permissions_mode": 0o755},
    },
}

# ---- Language, time, log -------------------------------------------------------------------------

LANGUAGE_CODE = "en-gb"
USE_I18N = False
USE_TZ = True
TIME_ZONE = env.str("TAREBOOK_TIME_ZONE", default="UTC")

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["stderr"], "level": env.str("TAREBOOK_LOG_LEVEL", default="WARNING")},
    "loggers": {"django": {"handlers": [], "level": "NOTSET", "propagate": True}},  # no mails
}
