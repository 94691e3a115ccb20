"""Settings: safe defaults, everything that differs between installations from the environment.

The variables are listed in .env.example with what each does.
"""

import os
import secrets
import sys
from pathlib import Path

import dj_database_url
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from collection.host import env, machine

os.umask(0o077)  # whatever this process and its children write is for its owner only
BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = env.folder("LONGSTAND_DATA", BASE_DIR / "var")

# "local": plain HTTP for this machine. "production": behind a proxy that speaks HTTPS.
MODE = env.choice("LONGSTAND_MODE", "local", ("local", "production"))
PRODUCTION = MODE == "production"
DEBUG = env.flag("LONGSTAND_DEBUG")
if DEBUG and PRODUCTION:
    raise ImproperlyConfigured("LONGSTAND_DEBUG shows inner workings to strangers: unset it in production")


def _stored_secret(path: Path) -> str:
    """The installation's own secret, made at the first start and readable by its owner only."""
    if not path.exists():
        env.keep_secret(path, secrets.token_urlsafe(64).encode())
    return path.read_text().strip()


SECRET_KEY = env.text("LONGSTAND_SECRET_KEY") or _stored_secret(DATA_DIR / "secret-key")
# What was signed or sealed under a secret before stays readable as long as that is named here.
SECRET_KEY_FALLBACKS = env.words("LONGSTAND_OLD_SECRET_KEYS")
ALLOWED_HOSTS = env.words("LONGSTAND_HOSTS", "" if PRODUCTION else "localhost,127.0.0.1,[::1]")
if PRODUCTION and not ALLOWED_HOSTS:
    raise ImproperlyConfigured("LONGSTAND_HOSTS is empty: name the hosts that serve the site, by commas")
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS if PRODUCTION]

INSTALLED_APPS = [
    "collection",
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "allauth.usersessions",
    "django_q",
    "csp",
]
MIDDLEWARE = [
    "collection.web.logs.requests.RequestLog",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.gzip.GZipMiddleware",  # its length is blurred, and tokens are masked anew each time
    "csp.middleware.CSPMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "collection.web.headers.SafeHeaders",
    "collection.web.limits.Limits",
    "collection.web.null_bytes.NoNul",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "allauth.account.middleware.AccountMiddleware",
]
ROOT_URLCONF = "collection.urls"
WSGI_APPLICATION = "collection.wsgi.application"
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
            ],
            "builtins": ["collection.web.templatetags.longstand"],
            "libraries": {
                "care_words": "collection.care.templatetags.care_words",
                "cells": "collection.due.templatetags.cells",
                "help_here": "collection.help.templatetags.help_here",
                "measures": "collection.drawing.templatetags.measures",
                "way": "collection.navigation.templatetags.way",
                "saving": "collection.web.templatetags.saving",
            },
        },
    }
]

DATABASES = {
    "default": dj_database_url.parse(
        env.text("LONGSTAND_DATABASE") or f"sqlite:///{DATA_DIR / 'longstand.sqlite3'}",
        conn_max_age=60,
        conn_health_checks=True,
    )
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # Write-ahead logging lets pages be read while the worker writes; IMMEDIATE queues writers
    # instead of failing when two transactions want to upgrade at once.
    DATABASES["default"]["OPTIONS"] = {
        "timeout": 20,
        "transaction_mode": "IMMEDIATE",
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON;",
    }

AUTH_USER_MODEL = "collection.Person"
AUTHENTICATION_BACKENDS = ["allauth.account.auth_backends.AuthenticationBackend"]
LOGIN_URL = "sign_in"
LOGIN_REDIRECT_URL = "collection"
LOGOUT_REDIRECT_URL = "sign_in"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in ("UserAttributeSimilarityValidator", "MinimumLengthValidator", "CommonPasswordValidator")
]

# Signing in: by e-mail address; people are added by a manager, never by themselves.
ACCOUNT_ADAPTER = "collection.people.adapter.Doorkeeper"
ACCOUNT_USER_MODEL_USERNAME_FIELD = None
ACCOUNT_LOGIN_METHODS = {"email"}
ACCOUNT_SIGNUP_FIELDS = ["email*", "password1*"]
ACCOUNT_EMAIL_VERIFICATION = "none"  # a manager typed the address and vouches for it
ACCOUNT_EMAIL_UNKNOWN_ACCOUNTS = False  # nobody gets mail about a sign-in that they do not have
ACCOUNT_EMAIL_NOTIFICATIONS = True  # of a new password, a second factor put on or taken off
ACCOUNT_EMAIL_SUBJECT_PREFIX = "Longstand: "
ACCOUNT_PASSWORD_RESET_TOKEN_GENERATOR = "django.contrib.auth.tokens.PasswordResetTokenGenerator"  # noqa: S105 - a path
ACCOUNT_SESSION_REMEMBER = True
ACCOUNT_FORMS = {
    name: f"collection.people.forms.signing_in.{form}"
    for name, form in (
        ("login", "SignInForm"),
        ("reset_password", "ForgottenForm"),
        ("reset_password_from_key", "RenewForm"),
        ("reauthenticate", "AgainForm"),
    )
}
MFA_ADAPTER = "collection.people.adapter.SecondFactor"
MFA_SUPPORTED_TYPES = ["totp", "webauthn", "recovery_codes"]
MFA_PASSKEY_LOGIN_ENABLED = True
MFA_WEBAUTHN_ALLOW_INSECURE_ORIGIN = not PRODUCTION
MFA_TOTP_ISSUER = "Longstand"
MFA_TOTP_TOLERANCE = 1  # steps of 30 seconds: a phone's clock may be off by one
MFA_FORMS = {
    name: f"collection.people.forms.signing_in.{form}"
    for name, form in (
        ("authenticate", "CodeForm"),
        ("reauthenticate", "CodeAgainForm"),
        ("activate_totp", "FirstCodeForm"),
        ("add_webauthn", "NewPasskeyForm"),
        ("edit_webauthn", "PasskeyNameForm"),
    )
}
# How many proxies of ours stand before the site and add the visitor's address to X-Forwarded-For:
# limits on tries are counted by that address.
ALLAUTH_TRUSTED_PROXY_COUNT = env.number("LONGSTAND_PROXIES", int(PRODUCTION), int(PRODUCTION), 9)
# Kept in the database, so that limits hold across processes and restarts.
CACHES = {
    "default": {
        "BACKEND": "django.core.cache.backends.db.DatabaseCache",
        "LOCATION": "longstand_cache",
        "OPTIONS": {"MAX_ENTRIES": 20_000},
    }
}

# Mail goes out only where a server is named; without one, a manager hands over new passwords.
MAIL = env.mail_server("LONGSTAND_MAIL")
SENDS_MAIL = MAIL is not None
# Under whose certificate papers are signed as PDF; empty: one of this installation's own.
PAPER_KEY = env.text("LONGSTAND_PAPER_KEY")
PAPER_KEY_PASSWORD = env.text("LONGSTAND_PAPER_KEY_PASSWORD")
EMAIL_BACKEND = f"django.core.mail.backends.{'smtp' if MAIL else 'dummy'}.EmailBackend"
if MAIL:
    EMAIL_HOST, EMAIL_PORT = MAIL.host, MAIL.port
    EMAIL_HOST_USER, EMAIL_HOST_PASSWORD = MAIL.user, MAIL.password
    EMAIL_USE_SSL, EMAIL_USE_TLS = MAIL.tls_at_once, MAIL.start_tls
EMAIL_TIMEOUT = 10  # seconds
DEFAULT_FROM_EMAIL = env.text("LONGSTAND_MAIL_FROM") or "longstand@localhost"

# Where people reach the site: mail has no request to learn it from.
ADDRESS = env.site_address("LONGSTAND_ADDRESS", ALLOWED_HOSTS[0] if PRODUCTION else "")

# Whether messages of changed dates may go to addresses inside a private network, and by plain http.
WEBHOOKS_INSIDE = env.flag("LONGSTAND_WEBHOOKS_INSIDE")
MQTT = env.text("LONGSTAND_MQTT")  # the broker to which sensors publish

LANGUAGE_CODE = "en-gb"
TIME_ZONE = "UTC"
USE_I18N = True
USE_TZ = True

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STATICFILES_FINDERS = [
    "django.contrib.staticfiles.finders.AppDirectoriesFinder",
    "collection.web.finders.ChartScriptFinder",
]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
# attachments; no address leads there but through a view
MEDIA_ROOT = env.folder("LONGSTAND_MEDIA", DATA_DIR / "media")
FILE_UPLOAD_PERMISSIONS = 0o600
FIXTURE_DIRS = [BASE_DIR / "fixtures"]

JOB_RETRY_S = 900  # a job of a worker that died is handed out again
# Backups of the whole installation: where, at which hour (UTC), and how many stay.
BACKUP_DIR = Path(env.text("LONGSTAND_BACKUPS") or DATA_DIR / "backups").expanduser()
BACKUP_HOUR = env.number("LONGSTAND_BACKUP_HOUR", 1, 0, 23)
BACKUP_DAILY = env.number("LONGSTAND_BACKUP_DAILY", 7, 1, 366)
BACKUP_WEEKLY = env.number("LONGSTAND_BACKUP_WEEKLY", 5, 0, 520)
BACKUP_MONTHLY = env.number("LONGSTAND_BACKUP_MONTHLY", 12, 0, 240)
BACKUP_RECIPIENTS = env.recipients("LONGSTAND_BACKUP_RECIPIENT")

# How many requests one machine works at is this many processes times AT_ONCE of web/door.py.
WEB_PROCESSES = env.number("LONGSTAND_WEB_PROCESSES", machine.web_processes(), 1, 64)
WORKERS = env.number("LONGSTAND_WORKERS", 1, 1, 64)
QUEUE = env.queue("LONGSTAND_QUEUE")
Q_CLUSTER = {
    "name": "longstand",
    **({"redis": QUEUE} if QUEUE else {"orm": "default"}),
    "workers": WORKERS,
    "queue_limit": WORKERS,  # jobs taken ahead of time, which a machine that dies takes with it
    "timeout": 600,
    "retry": JOB_RETRY_S,
    "max_attempts": 3,
    "catch_up": False,  # a week without a worker is one job of each kind, not a storm of them
    "save_limit": 200,
    # a worker that a large job has made larger than this (kB) gives its room back: another takes its place
    **({"max_rss": 120_000} if sys.platform == "linux" else {}),
    "label": "Background jobs",
}

SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = PRODUCTION
SESSION_COOKIE_AGE = 60 * 60 * 24 * 30  # a phone in the barn stays signed in for a month
SECURE_HSTS_SECONDS = 60 * 60 * 24 * 365 if PRODUCTION else 0
# Both reach beyond this site, and browsers do not forget them for a year: only when asked for.
SECURE_HSTS_INCLUDE_SUBDOMAINS = env.flag("LONGSTAND_HSTS_SUBDOMAINS")
SECURE_HSTS_PRELOAD = env.flag("LONGSTAND_HSTS_PRELOAD")
if SECURE_HSTS_PRELOAD and not SECURE_HSTS_INCLUDE_SUBDOMAINS:
    raise ImproperlyConfigured("LONGSTAND_HSTS_PRELOAD is set: set LONGSTAND_HSTS_SUBDOMAINS too")
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if PRODUCTION else None
SECURE_REDIRECT_EXEMPT = [r"^health/$"]  # asked by the proxy itself, in plain HTTP
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
# Nothing runs, loads or posts but from here; no inline script, no inline style, no frame around us.
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "manifest-src": [SELF],
        "worker-src": [SELF],
        "object-src": [NONE],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
        "form-action": [SELF],
    }
}
DATA_UPLOAD_MAX_MEMORY_SIZE = 2_621_440
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]  # HSTS for subdomains, preload: see above

# One line an event: JSON for machines in production, text for people at this one.
LOG_FORMAT = env.choice("LONGSTAND_LOG_FORMAT", "json" if PRODUCTION else "text", ("json", "text"))
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "json": {"()": "collection.web.logs.lines.JsonLine"},
        "text": {"()": "collection.web.logs.lines.TextLine"},
    },
    "filters": {"addresses": {"()": "collection.web.logs.lines.HidesAddresses"}},
    "handlers": {
        "console": {"class": "logging.StreamHandler", "formatter": LOG_FORMAT, "filters": ["addresses"]}
    },
    "loggers": {
        "django.request": {"level": "ERROR"},  # what was merely refused stands in the line of the request
        "django-q": {"level": "WARNING"},  # likewise in the line of the job
    },
    "root": {
        "handlers": ["console"],
        "level": env.choice(
            "LONGSTAND_LOG", "INFO" if PRODUCTION else "WARNING", ("DEBUG", "INFO", "WARNING", "ERROR")
        ),
    },
}
