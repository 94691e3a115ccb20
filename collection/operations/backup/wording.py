"""What a backup is and holds, in words for whoever runs the installation."""

from datetime import datetime

from collection.host.version import VERSION
from collection.operations.backup.archive import Manifest

FAULTS_FOUND = 3  # the exit code of a restore that was done and found something

SECRETS = (
    "It holds everything recorded, people's names and addresses, password hashes, private notes and"
    " {keys}: whoever has the file has the installation. Keep it where only you can read it."
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
    said = [
        f"The attachment {digest} was missing or damaged when the backup was taken."
        for digest in manifest["faulty_attachments"]
    ]
    if "signing-key.pem" not in manifest["keys"]:
        said.append("It holds no signing key: there was none yet.")
    if "secret-key" not in manifest["keys"]:
        said.append(
            "It holds no secret key, since that came from LONGSTAND_SECRET_KEY: keep it with the backup. "
            "Without it second factors must be set up again."
        )
    return said


def upgraded(manifest: Manifest) -> list[str]:
    """Whether it was brought forward."""
    if manifest["version"] == VERSION:
        return []
    return [f"Brought from version {manifest['version']} to {VERSION}."]


def proved(cars: int, faults: list[str], files: int, faulty_files: list[str]) -> list[str]:
    """What the look at everything found after a restore."""
    said = [f"Cars checked: {cars}. Attachments checked: {files}.", *faults, *faulty_files]
    if faults or faulty_files:
        return [*said, "NOT SOUND: what is named above was so when the backup was taken."]
    return [*said, "Sound: every chain, every statement and every attachment is as it was recorded."]
