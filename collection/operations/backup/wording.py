"""What a backup is and holds, in words for whoever runs the installation."""

from datetime import datetime

from collection.host.version import VERSION
from collection.operations.backup.archive import Manifest
from collection.operations.backup.recover import Recovered

FAULT = "FAULT"  # how a line begins that names one
FAULTS_FOUND = 3  # the exit code of a restore that was done and found something

SECRETS = (
    "It holds everything recorded, people's names and addresses, password hashes, private notes and"
    " {keys}: whoever has the file has the installation. Keep it where only you can read it."
)
SEALED = (
    "It is encrypted: without the private key that belongs to LONGSTAND_BACKUP_RECIPIENT nobody can read it,"
    " you neither. Keep that key elsewhere, twice."
)
NOTHING_CHANGED = "Nothing was changed."
UNDONE = (
    "The restore was undone: database and keys are those of before. Attachments that had come already lie "
    "beside the others; those that no entry names are swept after a week."
)
LEFT_TO_THE_NEXT = (
    "The restore is half done: the next manage.py serve, restore or doctor finishes or undoes it."
)
THERE_IS_ONE = (
    "There is an installation here already. --replace puts the backup in its place and keeps it aside; or "
    "set LONGSTAND_DATA and LONGSTAND_DATABASE to empty places."
)
AT_IT = "The site is starting, or another restore is going on: wait until it is done."
OVERRIDDEN = (
    "LONGSTAND_SECRET_KEY is set and overrides the restored secret key: unset it, or second factors must be "
    "set up again."
)
KEY_WORDS = {
    "signing-key.pem": "the key that signs statements",
    "secret-key": "the secret key",
}


def contents(manifest: Manifest) -> str:
    """One sentence on what is in it."""
    rows = sum(table["rows"] for table in manifest["tables"].values())
    files = sum(name.startswith("media/") for name in manifest["members"])
    taken = datetime.fromisoformat(manifest["taken_at"])
    return (
        f"Taken {taken:%Y-%m-%d %H:%M} UTC by version {manifest['version']} from {manifest['engine']}: "
        f"{len(manifest['tables'])} tables, {rows} rows, {len(manifest['chain_heads'])} chains, "
        f"{files} attached files."
    )


def secrets_in(manifest: Manifest) -> str:
    """Which secrets it holds."""
    keys = " and ".join(KEY_WORDS[name] for name in manifest["keys"]) or "no key"
    return SECRETS.format(keys=keys)


def lacks(manifest: Manifest) -> list[str]:
    """What it does not hold though it should, and what that means."""
    lines = [
        f"The attachment {digest} was missing or damaged when the backup was taken."
        for digest in manifest["faulty_attachments"]
    ]
    if "signing-key.pem" not in manifest["keys"]:
        lines.append("It holds no signing key: there was none yet.")
    if "secret-key" not in manifest["keys"]:
        lines.append(
            "It holds no secret key, since that came from LONGSTAND_SECRET_KEY: keep it with the backup. "
            "Without it second factors must be set up again."
        )
    return lines


def upgraded(manifest: Manifest) -> list[str]:
    """Whether it was brought forward."""
    if manifest["version"] == VERSION:
        return []
    return [f"Brought from version {manifest['version']} to {VERSION}."]


def proved(cars: int, faults: list[str], files: int, faulty_files: list[str]) -> list[str]:
    """What the look at everything found after a restore."""
    lines = [f"Cars checked: {cars}. Attachments checked: {files}.", *faults, *faulty_files]
    if faults or faulty_files:
        return [*lines, "NOT SOUND: what is named above was so when the backup was taken."]
    return [*lines, "Sound: every chain, every statement and every attachment is as it was recorded."]


def rehearsed(*, sound: bool) -> str:
    """The last word of a rehearsal."""
    if sound:
        return "Rehearsed: it can be restored, and all of it is sound. It was taken away again."
    return "Rehearsed: it can be restored, with the faults named above. It was taken away again."


def is_kept(kept: list[str]) -> str:
    """Where what a restore replaced is now."""
    return f"What was here before is kept as {', '.join(kept)}: delete it when you no longer need it."


def recovered(how: Recovered) -> str:
    """What became of a restore that was broken off."""
    if not how.finished:
        return f"A restore was broken off before. {UNDONE}"
    text = "A restore was broken off before, after its database had taken its place: it was finished."
    return f"{text} {is_kept(how.kept)}" if how.kept else text


def reason(error: BaseException) -> str:
    """Why something failed, as a sentence."""
    if isinstance(error, OSError) and error.strerror:
        text = f"{error.strerror}: {error.filename}" if error.filename else error.strerror
    else:
        text = (str(error).strip().splitlines() or [type(error).__name__])[0]
    return text if text.endswith((".", "!", "?")) else f"{text}."
