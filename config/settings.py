"""Settings. Nothing set: SQLite, Celery's filesystem broker and files under ``var/``. Everything else by environment.

The variables are listed with their meaning in ``.env.example``.
"""

from __future__ import annotations

import os
from importlib.util import find_spec
from pathlib import Path
from urllib.parse import unquote, urlsplit

import dj_database_url
import django_stubs_ext

from config import logs
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
    "config.request_log.Requests",
    "config.security.SecurityHeaders",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "config.toolarge.TooLarge",
    "config.nul.NoNul",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "config.server.seat_cookies.SeatCookies",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "config.server.streams.StreamPlaces",
    "config.version.VersionOfApi",
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
                "config.version.context",
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
    options = DATABASES["default"].setdefault("OPTIONS", {})
    options.setdefault("options", "-c jit=off")
    # A host that takes nothing and says nothing is away, and not waited for by every thread in turn: s, then ms.
    options.setdefault("connect_timeout", 10)
    options.setdefault("tcp_user_timeout", 30_000)

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
#: What failed for a passing reason (database, storage or broker are away) waits so long, then longer and longer.
JOB_RETRY_SECONDS = env.number("FANLIGHT_JOB_RETRY", default=5, least=1)
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
FILE_UPLOAD_HANDLERS = ["config.storage.SpooledWhole"]
FILE_UPLOAD_PERMISSIONS = 0o600
FILE_UPLOAD_DIRECTORY_PERMISSIONS = 0o700
#: Files are refused rather than leave less than this for the database; /ready/ says "low" a good while before.
KEEP_FREE_BYTES = env.number("FANLIGHT_KEEP_FREE_MB", default=256) * 1024 * 1024
LOW_SPACE_BYTES = env.number("FANLIGHT_LOW_SPACE_MB", default=4096) * 1024 * 1024
MEDIA_ROOT = VAR_DIR / "media"
MEDIA_URL = ""  # nothing is served by path: originals go out through a view that asks `access` first

S3_BUCKET = env.text("S3_BUCKET")
STATIC_BACKEND = "config.staticfiles.ModuleManifestStorage"
STORAGES: dict[str, dict[str, object]] = {
    "default": {"BACKEND": "config.storage.WholeFiles"},
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
AUTHENTICATION_BACKENDS = ["campaigns.services.login.AddressAndPassword"]
# An address may have an account in each of several houses, and the backend above knows what to do with that.
SILENCED_SYSTEM_CHECKS = ["auth.W004"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 12}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
#: So many wrong passwords are allowed of one account, and from one host, in so many minutes; 0: any number. Behind a
#: proxy whose forwarded addresses are not trusted all people come from one host.
PASSWORD_TRIES_PER_ACCOUNT = env.number("FANLIGHT_PASSWORD_TRIES", default=20)
PASSWORD_TRIES_PER_HOST = env.number("FANLIGHT_PASSWORD_TRIES_HOST", default=200)
PASSWORD_TRIES_MINUTES = env.number("FANLIGHT_PASSWORD_MINUTES", default=15, least=1)
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

# --- mail ---------------------------------------------------------------------------------------------------------

#: Where this installation is reached, for links in mails; without it a mail carries none.
PUBLIC_URL = env.url("FANLIGHT_URL", schemes=("http", "https"))
# Without a mail server what would be sent is written to the log of the worker.
EMAIL_HOST = env.text("FANLIGHT_MAIL_HOST", "localhost")
EMAIL_BACKEND = (
    "django.core.mail.backends.smtp.EmailBackend"
    if env.text("FANLIGHT_MAIL_HOST")
    else "django.core.mail.backends.console.EmailBackend"
)
EMAIL_PORT = env.number("FANLIGHT_MAIL_PORT", default=587, least=1)
EMAIL_HOST_USER = env.text("FANLIGHT_MAIL_USER")
EMAIL_HOST_PASSWORD = env.text("FANLIGHT_MAIL_PASSWORD")
EMAIL_USE_TLS = env.flag("FANLIGHT_MAIL_TLS", default=True)
EMAIL_TIMEOUT = 20  # seconds
DEFAULT_FROM_EMAIL = env.text("FANLIGHT_MAIL_FROM", "fanlight@localhost")

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

# --- who watches over it ---------------------------------------------------------------------------------------------

#: Whoever shows it may read /metrics/; empty: nobody.
METRICS_TOKEN = env.secret("FANLIGHT_METRICS", least=24)
#: A job that waits for longer than this is one that /ready/ calls for help about.
WAITING_SECONDS = env.number("FANLIGHT_WAITING", default=1800, least=1)

# --- language, time, logs -------------------------------------------------------------------------------------------

LANGUAGE_CODE = "en-gb"
USE_TZ = True
TIME_ZONE = "UTC"  # each site has its own zone; pages convert

LEVELS = ("DEBUG", "INFO", "WARNING", "ERROR", "CRITICAL")
ACCESS_LOG = env.flag("FANLIGHT_ACCESS_LOG", default=True)
LOGGING = logs.settings_of(
    env.choice("FANLIGHT_LOG_FORMAT", "text", ("text", "json")),
    env.choice("FANLIGHT_LOG_LEVEL", "INFO", LEVELS),
    secrets=(
        SECRET_KEY, METRICS_TOKEN, env.text("S3_SECRET_KEY"),
        str(DATABASES["default"].get("PASSWORD", "")), unquote(urlsplit(REDIS_URL).password or ""),
    ),
)  # fmt: skip
