"""Settings. Nothing set: SQLite, Celery's filesystem broker and files under ``var/``. Everything else by environment.

The variables are listed with their meaning in ``.env.example``.
"""

from __future__ import annotations

import os
from importlib.util import find_spec
from pathlib import Path

import dj_database_url
import django_stubs_ext

from config.env import Env, origins_of
from config.secret import stored_secret

django_stubs_ext.monkeypatch()

# What is written here - database, originals, reports, the secret key - is this user's and nobody else's on the machine.
os.umask(0o077)

env = Env()
BASE_DIR = Path(__file__).resolve().parent.parent
VAR_DIR = env.folder("FANLIGHT_VAR", BASE_DIR / "var")

DEBUG = env.flag("FANLIGHT_DEBUG", default=False)
SECRET_KEY = env.text("FANLIGHT_SECRET_KEY") or stored_secret(VAR_DIR / "secret_key")
ALLOWED_HOSTS = env.hosts("FANLIGHT_HOSTS", ("localhost", "127.0.0.1", "[::1]"))
HTTPS = env.flag("FANLIGHT_HTTPS", default=False)
#: Proxies whose word is taken for scheme and address; behind TLS one on this host, unless told otherwise.
PROXIES = env.networks("FANLIGHT_PROXIES", ("127.0.0.1", "::1") if HTTPS else ())
CSRF_TRUSTED_ORIGINS = env.names("FANLIGHT_ORIGINS") or (origins_of(ALLOWED_HOSTS) if HTTPS else [])

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.forms",  # so that templates/django/forms/ comes before its own
    "django_htmx",
    "rest_framework",
    "drf_spectacular",
    "auditlog",
    "campaigns",
    "readings",
    "reports",
    "demo",
    "config",
]

MIDDLEWARE = [
    "config.health.AskedFirst",
    "config.security.SecurityHeaders",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "config.toolarge.TooLarge",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "config.server.seat_cookies.SeatCookies",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "config.server.streams.StreamPlaces",
    "auditlog.middleware.AuditlogMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]

FORM_RENDERER = "django.forms.renderers.TemplatesSetting"

ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"

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
                "campaigns.navigation.context",
            ],
        },
    }
]

# --- database -------------------------------------------------------------------------------------------------------

DATABASE_URL = env.url("DATABASE_URL", schemes=("postgres", "postgresql", "sqlite"))
if DATABASE_URL:
    DATABASES = {"default": dj_database_url.parse(DATABASE_URL, conn_max_age=60, conn_health_checks=True)}
    if password := env.text("DATABASE_PASSWORD"):
        DATABASES["default"]["PASSWORD"] = password
else:
    file = str(VAR_DIR / "fanlight.sqlite3")
    DATABASES = {"default": {"ENGINE": "django.db.backends.sqlite3", "NAME": file, "CONN_MAX_AGE": 60}}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # WAL lets pages read while a worker writes; IMMEDIATE makes writers queue for the lock at once instead of failing
    # half-way; the time-out is how long they queue. The cache holds what one chunk of a log writes, and no more: with
    # 64 MiB a long log took 50 MiB more than a short one and was read no faster. Recursive triggers: a row that another
    # replaces is looked at by the guards of its table like one that is deleted.
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 30,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA cache_size=-16384; "
        "PRAGMA temp_store=MEMORY; PRAGMA recursive_triggers=ON;",
    }
    # Tests run on a file, not in memory, so that threads and a real worker see the same database.
    DATABASES["default"]["TEST"] = {"NAME": VAR_DIR / "test.sqlite3"}
else:
    # What stretches of a large table will cost is overestimated, and PostgreSQL then compiles the query: 12 ms for one
    # that takes two. No query here is long enough to gain by it.
    DATABASES["default"].setdefault("OPTIONS", {}).setdefault("options", "-c jit=off")

DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# --- background work ------------------------------------------------------------------------------------------------

REDIS_URL = env.url("REDIS_URL", schemes=("redis", "rediss"))
BROKER_DIR = VAR_DIR / "broker"
if REDIS_URL:
    CELERY_BROKER_URL = REDIS_URL
    CELERY_BROKER_TRANSPORT_OPTIONS: dict[str, object] = {"visibility_timeout": 3600}
else:
    CELERY_BROKER_URL = "filesystem://localhost"
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        # One folder for both directions: what the web process puts down is what the worker picks up.
        "data_folder_in": str(BROKER_DIR / "queue"),
        "data_folder_out": str(BROKER_DIR / "queue"),
        "control_folder": str(BROKER_DIR / "control"),
        "polling_interval": 0.2,
    }
    for folder in ("queue", "control"):
        (BROKER_DIR / folder).mkdir(parents=True, exist_ok=True)
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_TASK_IGNORE_RESULT = True  # the job row is the result
CELERY_TASK_DEFAULT_QUEUE = env.text("FANLIGHT_QUEUE", "fanlight")
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_TASK_ACKS_LATE = False  # redelivery is ours: the sweep gives a job back when its lease stops beating
CELERY_BEAT_SCHEDULE = {"sweep": {"task": "campaigns.tasks.sweep", "schedule": 30.0}}
CELERY_BEAT_SYNC_EVERY = 1  # what it has sent is written down at once: how old that is tells whether it still beats
CELERY_TIMEZONE = "UTC"

#: A running job that has not beaten for this long is given to another worker.
JOB_LEASE_SECONDS = env.number("FANLIGHT_JOB_LEASE", default=60, least=2)
#: A queued job untouched for this long is sent again (the broker may have lost it).
JOB_RESEND_SECONDS = env.number("FANLIGHT_JOB_RESEND", default=30, least=1)
JOB_MAX_ATTEMPTS = env.number("FANLIGHT_JOB_ATTEMPTS", default=5, least=1)
#: Processes among which one large piece of work is shared out; 0: as many as there are processors.
PROCESSES = env.number("FANLIGHT_PROCESSES", default=0)

# Counts of API requests are shared by all web processes where there is a Redis to share them in.
if REDIS_URL:
    # Pages go on without it: better soon than late.
    AT_HAND = {"socket_connect_timeout": 1, "socket_timeout": 2, "serializer": "config.cache.Signed"}
    KEYS = f"{CELERY_TASK_DEFAULT_QUEUE}-cache"  # several installations may share one Redis
    CACHES = {
        "default": {"BACKEND": "config.cache.OwnKeys", "LOCATION": REDIS_URL, "KEY_PREFIX": KEYS, "OPTIONS": AT_HAND}
    }

# --- files ----------------------------------------------------------------------------------------------------------

#: Originals larger than this are refused with a message.
UPLOAD_MAX_BYTES = env.number("FANLIGHT_UPLOAD_MAX_MB", default=256, least=1) * 1024 * 1024
#: Without scripts a form sends all files at once; each is a temporary file that stays open meanwhile.
DATA_UPLOAD_MAX_NUMBER_FILES = 250
FILE_UPLOAD_HANDLERS = ["django.core.files.uploadhandler.TemporaryFileUploadHandler"]
FILE_UPLOAD_PERMISSIONS = 0o600
FILE_UPLOAD_DIRECTORY_PERMISSIONS = 0o700
MEDIA_ROOT = VAR_DIR / "media"
MEDIA_URL = ""  # nothing is served by path: originals go out through a view that asks `access` first

S3_BUCKET = env.text("S3_BUCKET")
STATIC_BACKEND = "config.staticfiles.ModuleManifestStorage"
STORAGES: dict[str, dict[str, object]] = {
    "default": {"BACKEND": "config.storage.KeptFiles"},
    "staticfiles": {
        "BACKEND": STATIC_BACKEND
        if env.flag("FANLIGHT_MANIFEST", default=False)
        else "django.contrib.staticfiles.storage.StaticFilesStorage"
    },
}
if S3_BUCKET:
    STORAGES["default"] = {
        "BACKEND": "storages.backends.s3.S3Storage",
        "OPTIONS": {
            "bucket_name": S3_BUCKET,
            "endpoint_url": env.url("S3_ENDPOINT", schemes=("http", "https")) or None,
            "access_key": env.text("S3_ACCESS_KEY") or None,
            "secret_key": env.text("S3_SECRET_KEY") or None,
            "region_name": env.text("S3_REGION") or None,
            "default_acl": None,
            "file_overwrite": False,
            "querystring_auth": True,
        },
    }

plotly = find_spec("plotly")  # found, not imported: a worker that reads logs does not need it
assert plotly is not None
assert plotly.origin is not None

STATIC_URL = "static/"
STATIC_ROOT = env.folder("FANLIGHT_STATIC", VAR_DIR / "static")  # WhiteNoise warns about a folder that is not there
STATICFILES_DIRS = [
    BASE_DIR / "static",
    # plotly.js comes from the installed Python package: no CDN, and the same version that made the figure.
    ("plotly", str(Path(plotly.origin).parent / "package_data")),
]
# Without a collected folder WhiteNoise serves straight from the finders, so that one command is enough.
WHITENOISE_USE_FINDERS = not env.flag("FANLIGHT_MANIFEST", default=False)
WHITENOISE_AUTOREFRESH = False

# --- people, safety -------------------------------------------------------------------------------------------------

AUTH_USER_MODEL = "campaigns.User"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "home"
PASSWORD_RESET_TIMEOUT = 7 * 24 * 3600  # a link to set a password is handed over by people, so it lives a week
LOGOUT_REDIRECT_URL = "login"

SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
AUDITLOG_DISABLE_REMOTE_ADDR = True

# --- API ------------------------------------------------------------------------------------------------------------

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["campaigns.api.tokens.TokenAuthentication"],
    "DEFAULT_PERMISSION_CLASSES": ["campaigns.api.tokens.HasScope"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
    "DEFAULT_PAGINATION_CLASS": "campaigns.api.paging.KeyCursor",
    "DEFAULT_THROTTLE_CLASSES": ["campaigns.api.throttles.TokenThrottle"],
    "DEFAULT_THROTTLE_RATES": {
        "token": env.matching("FANLIGHT_API_RATE", "600/min", r"[1-9]\d*/(s|sec|min|hour|day)", "for example 600/min")
    },
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "UNAUTHENTICATED_USER": "django.contrib.auth.models.AnonymousUser",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Fanlight API",
    "DESCRIPTION": "Sites to points, campaigns, uploads, readings, findings. Read only; a token sees its organisation.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SCHEMA_PATH_PREFIX": "/api/v1",
}

# --- language, time, logs -------------------------------------------------------------------------------------------

LANGUAGE_CODE = "en-gb"
USE_TZ = True
TIME_ZONE = "UTC"  # each site has its own zone; pages convert

LEVELS = ("DEBUG", "INFO", "WARNING", "ERROR", "CRITICAL")
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s: %(message)s"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": env.choice("FANLIGHT_LOG_LEVEL", "INFO", LEVELS)},
}
