"""How 0019 sealed private notes, as it was then: ``collection.host.sealing`` may change."""

import base64
import json
import os
from pathlib import Path

from cryptography.fernet import Fernet
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings


def seal(of, values):
    """Under the secret that is given, else the one in the data folder, which a restore has just brought back."""
    stored = Path(settings.DATA_DIR) / "secret-key"
    secret = os.environ.get("LONGSTAND_SECRET_KEY", "").strip()
    secret = secret or (stored.read_text().strip() if stored.exists() else settings.SECRET_KEY)
    key = HKDF(algorithm=SHA256(), length=32, salt=None, info=b"longstand private notes 1").derive(secret.encode())
    return Fernet(base64.urlsafe_b64encode(key)).encrypt(json.dumps({**values, "of": of}).encode()).decode()
