"""Encrypted backups: read by whoever has the private key, by nobody else, and refused when damaged."""

import io

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.core.management import CommandError, call_command
from pyrage import decrypt, encrypt

from collection.host import env
from collection.operations.backup import sealed
from collection.operations.backup.archive import BackupFault, new_archive


@pytest.fixture
def pair(settings, tmp_path):
    """The file of a private key, to whose public key backups are encrypted."""
    settings.DATA_DIR = tmp_path
    settings.BACKUP_RECIPIENTS = [sealed.new_identity(tmp_path / "key.txt")]
    return tmp_path / "key.txt"


@pytest.fixture
def file(pair, tmp_path):
    """A backup that was encrypted."""
    with new_archive(tmp_path / "b.zip", {}) as writer:
        writer.add("tables/x.jsonl", [b"a row\n" * 30_000], small=False)
    sealed.seal(tmp_path / "b.zip", tmp_path / "b.zip.age")
    return tmp_path / "b.zip.age"


def refusal_of(file, identity):
    with pytest.raises(BackupFault) as fault, sealed.opened(file, identity):
        pass
    return str(fault.value)


def test_what_was_encrypted_comes_back_with_the_private_key_and_leaves_nothing_lying(file, pair, tmp_path):
    assert b"a row" not in file.read_bytes()
    assert file.stat().st_mode & 0o077 == 0
    with sealed.opened(file, pair) as plain:
        assert plain.read_bytes() == (tmp_path / "b.zip").read_bytes()
        assert plain.stat().st_mode & 0o077 == 0
    assert not plain.exists()


def test_any_program_that_knows_the_format_opens_it(file, pair, tmp_path):
    (key,) = sealed._identities(pair)
    assert decrypt(file.read_bytes(), [key]) == (tmp_path / "b.zip").read_bytes()


def test_without_the_key_or_with_another_it_says_what_is_wanted(file, tmp_path):
    assert "is encrypted: name the file of the private key with --identity" in refusal_of(file, None)
    sealed.new_identity(tmp_path / "other.txt")
    assert "is not encrypted to the key in" in refusal_of(file, tmp_path / "other.txt")
    (tmp_path / "empty.txt").write_text("# nothing\n")
    assert "is empty: a private key begins AGE-SECRET-KEY-1" in refusal_of(file, tmp_path / "empty.txt")
    (tmp_path / "wrong.txt").write_bytes(b"\xffage1public")
    assert "holds no private key" in refusal_of(file, tmp_path / "wrong.txt")
    assert "cannot be read: No such file" in refusal_of(file, tmp_path / "none.txt")
    assert list(tmp_path.glob(".longstand-*")) == []


@pytest.mark.parametrize("damage", ["a byte", "the end"])
def test_damage_is_found(file, pair, damage):
    data = bytearray(file.read_bytes())
    if damage == "a byte":
        data[len(data) // 2] ^= 1
    file.write_bytes(data if damage == "a byte" else data[: len(data) // 2])
    assert "cannot be decrypted: it is damaged or cut off" in refusal_of(file, pair)


def test_what_cannot_be_read_back_is_no_backup(pair, tmp_path, monkeypatch):
    (tmp_path / "b.zip").write_bytes(b"a backup")

    def encrypted_wrong(_source, file, keys):
        file.write(encrypt(b"something else", keys))

    monkeypatch.setattr(sealed, "encrypt_io", encrypted_wrong)
    with pytest.raises(BackupFault, match="is not the same when read back"):
        sealed.seal(tmp_path / "b.zip", tmp_path / "b.zip.age")
    assert not (tmp_path / "b.zip.age").exists()


def test_a_private_key_in_the_place_of_the_public_one_is_refused_and_not_repeated(pair, monkeypatch):
    private = pair.read_text().splitlines()[-1]
    monkeypatch.setenv("LONGSTAND_BACKUP_RECIPIENT", private)
    with pytest.raises(ImproperlyConfigured, match="LONGSTAND_BACKUP_RECIPIENT is no public key") as refused:
        env.recipients("LONGSTAND_BACKUP_RECIPIENT")
    assert private not in str(refused.value)
    assert private.lower() not in str(refused.value).lower()


def test_a_pair_of_keys_is_made_for_its_owner_only_and_none_is_overwritten(tmp_path):
    out = io.StringIO()
    call_command("backup", new_identity=tmp_path / "key.txt", stdout=out)
    assert "Set LONGSTAND_BACKUP_RECIPIENT=age1" in out.getvalue()
    assert (tmp_path / "key.txt").stat().st_mode & 0o077 == 0
    before = (tmp_path / "key.txt").read_text()
    with pytest.raises(CommandError, match="No key was made"):
        call_command("backup", new_identity=tmp_path / "key.txt")
    assert (tmp_path / "key.txt").read_text() == before
