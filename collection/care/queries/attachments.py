"""Finding the bytes of an attachment, and whether they are still those that came."""

import hashlib

from django.core.files.storage import default_storage

from collection.models import Attachment


def path_of(digest: str) -> str:
    """Where bytes with this digest lie in the media folder."""
    return f"attachments/{digest[:2]}/{digest}"


def bytes_of(attachment: Attachment) -> bytes | None:
    """The bytes as they came; None where they are gone or are no longer the same."""
    try:
        with default_storage.open(path_of(attachment.digest)) as file:
            data: bytes = file.read()
    except OSError:
        return None
    return data if hashlib.sha256(data).hexdigest() == attachment.digest else None
