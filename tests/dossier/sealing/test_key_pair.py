"""Keys: derived as RFC 8032 says, kept in files that only their owner reads, refused where they are damaged."""

from __future__ import annotations

import base64
import stat
from pathlib import Path

import pytest

from linestudy.dossier.sealing.key_pair import (
    SecretKey,
    decoded,
    locked,
    new_key,
    one_line,
    read_public,
    read_secret,
    write_keys,
)
from linestudy.results import InputError

KEY = SecretKey(bytes(range(8)), bytes(range(32)))


def test_the_key_is_that_of_rfc_8032() -> None:
    # RFC 8032, 7.1, test 1: the public key of this seed (value from memory of the RFC).
    seed = bytes.fromhex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
    public = SecretKey(bytes(8), seed).public.raw.hex()
    assert public == "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"


@pytest.mark.proof
def test_keys_in_files(tmp_path: Path) -> None:
    secret, public = write_keys(tmp_path / "open", KEY)
    assert stat.S_IMODE(secret.stat().st_mode) == 0o600
    assert read_secret(secret) == KEY
    assert read_public(public) == KEY.public
    assert not locked(secret)
    shut, _ = write_keys(tmp_path / "shut", KEY, "correct horse")
    assert locked(shut)
    assert read_secret(shut, "correct horse") == KEY
    assert KEY.seed.hex() not in shut.read_bytes().hex()
    for words in (None, "wrong"):
        with pytest.raises(InputError, match="passphrase"):
            read_secret(shut, words)
    with pytest.raises(InputError, match="already"):
        write_keys(tmp_path / "open", KEY)
    with pytest.raises(InputError, match="not a public key"):
        read_public(secret)
    with pytest.raises(InputError, match="not a secret key"):
        read_secret(public)


def test_a_new_key_is_no_other(tmp_path: Path) -> None:
    one, other = new_key(), new_key()
    assert one.seed != other.seed
    assert len(one.seed) == 32
    # The number as people read it: the last byte first.
    assert KEY.public.name == "0706050403020100"
    assert "seed" not in repr(KEY)


@pytest.mark.parametrize("at", [60, 80, 110, 150])
def test_a_secret_key_with_one_byte_changed_is_damaged(tmp_path: Path, at: int) -> None:
    secret, _ = write_keys(tmp_path / "k", KEY)
    comment, line = secret.read_text().splitlines()
    raw = bytearray(base64.b64decode(line))
    raw[at] ^= 1
    secret.write_text(f"{comment}\n{base64.b64encode(bytes(raw)).decode()}\n")
    with pytest.raises(InputError, match="is damaged"):
        read_secret(secret)


def test_a_key_that_asks_for_all_memory_is_refused(tmp_path: Path) -> None:
    secret, _ = write_keys(tmp_path / "k", KEY)
    comment, line = secret.read_text().splitlines()
    raw = bytearray(base64.b64decode(line))
    raw[2:4] = b"Sc"
    raw[46:54] = (1 << 40).to_bytes(8, "little")
    secret.write_text(f"{comment}\n{base64.b64encode(bytes(raw)).decode()}\n")
    with pytest.raises(InputError, match="more memory than is given"):
        read_secret(secret, "word")


def test_one_content_has_one_writing() -> None:
    whole = base64.b64encode(b"a key").decode()
    assert decoded(["untrusted comment: x", whole], 1, "f", "key") == b"a key"
    # "YSBrZXk=" and "YSBrZXl=" decode alike where nobody looks at the bits left over.
    for line in ("YSBrZXl=", whole.rstrip("="), "not base64 at all"):
        with pytest.raises(InputError, match="is not a key"):
            decoded(["untrusted comment: x", line], 1, "f", "key")
    with pytest.raises(InputError, match="is not a key"):
        decoded(["trusted comment: x", whole], 1, "f", "key")


def test_a_comment_is_one_printable_line() -> None:
    assert one_line("part\nA\x1b[31m  revision B", 100) == "part A [31m revision B"
    assert len(one_line("x" * 1000)) == 200


def test_files_that_are_no_keys_are_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is not there"):
        read_public(tmp_path / "none.pub")
    large = tmp_path / "large.pub"
    large.write_text("x" * 30_000)
    with pytest.raises(InputError, match="too large"):
        read_public(large)
