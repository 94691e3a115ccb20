"""That every machine of an installation has the same keys: told at its start, before it does harm.

With another secret a machine signs everybody out and cannot read the others' jobs; with another
signing key its statements do not continue theirs.
"""

import hashlib
import hmac

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

from collection.chain.signing import public_key
from collection.host import installation_key
from collection.models import SharedKey

SECRET, SIGNING = "secret", "signing"
WANTED = {
    SECRET: "This machine's secret is not that of the installation: set LONGSTAND_SECRET_KEY as on the "
    "others, or copy their file secret-key into the data folder.",
    SIGNING: "This machine has not the key with which the installation signs: copy the file "
    f"{installation_key.FILE} from another machine's data folder, or from the backup, into this one's.",
}
ON_PURPOSE = " If it was changed on purpose, start once with --keys-changed."


def check_shared_keys(*, changed: bool) -> None:
    """Compare this machine's keys with those the database knows, and make it know them the first time.

    ImproperlyConfigured says which differs and what to copy; with ``changed``, these are the right ones.
    """
    known = {} if changed else dict(SharedKey.objects.values_list("name", "fingerprint"))
    if SIGNING in known and not installation_key.is_here():
        raise ImproperlyConfigured(WANTED[SIGNING] + ON_PURPOSE)
    for name, fingerprint in _ours():
        if known.setdefault(name, fingerprint) != fingerprint:
            raise ImproperlyConfigured(WANTED[name] + ON_PURPOSE)
        SharedKey.objects.update_or_create(name=name, defaults={"fingerprint": fingerprint})


def _ours() -> list[tuple[str, str]]:
    secret = hmac.new(settings.SECRET_KEY.encode(), b"which secret an installation has", hashlib.sha256)
    signing = hashlib.sha256(public_key(installation_key.installation_key()).encode())
    return [(SECRET, secret.hexdigest()), (SIGNING, signing.hexdigest())]
