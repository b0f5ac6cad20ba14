"""Keys that dossiers are sealed with: made, kept in files of minisign's format, read again.

The format is described in :mod:`linestudy.dossier.sealing.signature`.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import os
import secrets
from dataclasses import dataclass, field
from pathlib import Path

from linestudy.results import InputError

UNTRUSTED = "untrusted comment: "
#: scrypt's limits as libsodium counts them: 128 MB, about half a second.
_OPERATIONS, _MEMORY = 1 << 22, 1 << 27
#: A key file asks for no more memory than this, whoever wrote it.
_MOST_MEMORY = 1 << 30
#: Key and signature files have a few lines.
_LARGEST_BYTES = 20_000


@dataclass(frozen=True)
class PublicKey:
    """What a signature is checked with; it may be given to everybody.

    Attributes
    ----------
    number : bytes
        Eight bytes that distinguish keys.
    raw : bytes
        The 32 bytes of the key.
    """

    number: bytes
    raw: bytes

    @property
    def name(self) -> str:
        """The key's number as people read it."""
        return self.number[::-1].hex().upper()


@dataclass(frozen=True)
class SecretKey:
    """What a dossier is signed with; whoever has it can sign in its owner's name.

    Attributes
    ----------
    number : bytes
        Eight bytes that distinguish keys.
    seed : bytes
        The 32 bytes that the key is made of.
    """

    number: bytes
    seed: bytes = field(repr=False)

    @property
    def public(self) -> PublicKey:
        """The public key that belongs to it."""
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        key = Ed25519PrivateKey.from_private_bytes(self.seed).public_key()
        return PublicKey(self.number, key.public_bytes_raw())


def new_key() -> SecretKey:
    """Make a key from the system's source of randomness.

    Returns
    -------
    SecretKey

    Examples
    --------
    >>> new_key().number != new_key().number
    True
    """
    return SecretKey(secrets.token_bytes(8), secrets.token_bytes(32))


def write_keys(name: Path, key: SecretKey, passphrase: str | None = None) -> tuple[Path, Path]:
    """Write a key pair: ``NAME.key``, which only its owner may read, and ``NAME.pub``.

    Parameters
    ----------
    name : pathlib.Path
        Path without the endings.
    key : SecretKey
    passphrase : str, optional
        What the secret key is locked with; else it lies open in its file.

    Returns
    -------
    secret, public : pathlib.Path

    Raises
    ------
    InputError
        One of the files is there already: a key that is overwritten is lost for ever.
    """
    files = name.with_name(f"{name.name}.key"), name.with_name(f"{name.name}.pub")
    for file in files:
        if os.path.lexists(file):
            raise InputError(str(file), "is there already", "give another name")
    public = key.public
    lock = b"Sc" if passphrase is not None else b"\0\0"
    salt = secrets.token_bytes(32) if passphrase is not None else bytes(32)
    limits = (_OPERATIONS, _MEMORY) if passphrase is not None else (0, 0)
    body = key.number + key.seed + public.raw + _key_sum(key.number, key.seed + public.raw)
    if passphrase is not None:
        body = _mixed(body, passphrase, salt, *limits)
    parts = [number.to_bytes(8, "little") for number in limits]
    raw = b"Ed" + lock + b"B2" + salt + b"".join(parts) + body
    _write_new(files[0], f"{UNTRUSTED}secret key {public.name}, keep it to yourself", raw, 0o600)
    _write_new(files[1], f"{UNTRUSTED}public key {public.name}", b"Ed" + key.number + public.raw)
    return files


def _write_new(file: Path, comment: str, raw: bytes, mode: int = 0o644) -> None:
    text = f"{comment}\n{base64.b64encode(raw).decode()}\n"
    handle = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode)
    with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
        stream.write(text)


def locked(file: Path) -> bool:
    """Check whether a secret key's file asks for a passphrase.

    Parameters
    ----------
    file : pathlib.Path

    Returns
    -------
    bool

    Raises
    ------
    InputError
        Not a secret key.
    """
    return _secret_bytes(file)[2:4] == b"Sc"


def read_secret(file: Path, passphrase: str | None = None) -> SecretKey:
    """Read the secret key of a file.

    Parameters
    ----------
    file : pathlib.Path
    passphrase : str, optional
        What it is locked with, if it is.

    Returns
    -------
    SecretKey

    Raises
    ------
    InputError
        Not a secret key, damaged, or another passphrase.
    """
    raw = _secret_bytes(file)
    body = raw[54:]
    if raw[2:4] == b"Sc":
        if passphrase is None:
            raise InputError(str(file), "is locked with a passphrase", "type it when asked")
        limits = int.from_bytes(raw[38:46], "little"), int.from_bytes(raw[46:54], "little")
        if limits[1] > _MOST_MEMORY or limits[0] > _MOST_MEMORY:
            raise InputError(str(file), "asks for more memory than is given", "make another key")
        body = _mixed(body, passphrase, raw[6:38], *limits)
    number, pair, total = body[:8], body[8:72], body[72:104]
    if not secrets.compare_digest(total, _key_sum(number, pair)):
        sentence = "is locked with another passphrase" if raw[2:4] == b"Sc" else "is damaged"
        raise InputError(str(file), sentence, "try again, or take another key")
    key = SecretKey(number, pair[:32])
    if key.public.raw != pair[32:]:
        raise InputError(str(file), "is damaged", "take another key")
    return key


def _secret_bytes(file: Path) -> bytes:
    raw = decoded(lines_of(file), 1, str(file), "secret key")
    if len(raw) != 158 or raw[:2] != b"Ed" or raw[2:4] not in (b"Sc", b"\0\0") or raw[4:6] != b"B2":
        raise InputError(str(file), "is not a secret key", "give the file that ends in .key")
    return raw


def read_public(file: Path) -> PublicKey:
    """Read the public key of a file.

    Parameters
    ----------
    file : pathlib.Path

    Returns
    -------
    PublicKey

    Raises
    ------
    InputError
        Not a public key.
    """
    raw = decoded(lines_of(file), 1, str(file), "public key")
    if len(raw) != 42 or raw[:2] != b"Ed":
        raise InputError(str(file), "is not a public key", "give the file that ends in .pub")
    return PublicKey(raw[2:10], raw[10:])


def _key_sum(number: bytes, pair: bytes) -> bytes:
    return hashlib.blake2b(b"Ed" + number + pair, digest_size=32).digest()


def _mixed(body: bytes, passphrase: str, salt: bytes, operations: int, memory: int) -> bytes:
    """Lock or unlock: the same step both ways. The cost follows libsodium's rule for the two limits."""
    operations = max(operations, 32768)
    if operations < memory // 32:
        cost, width = operations // 32, 1
        power = _power(cost)
    else:
        power = _power(memory // 1024)
        width = max(min(operations // 4 >> power, 0x3FFFFFFF) // 8, 1)
    stream = hashlib.scrypt(
        passphrase.encode(),
        salt=salt,
        n=1 << power,
        r=8,
        p=width,
        maxmem=(1 << power) * 8 * 128 + (1 << 24),
        dklen=len(body),
    )
    return bytes(a ^ b for a, b in zip(body, stream, strict=True))


def _power(most: int) -> int:
    """Return the exponent of the least power of two above half of a number, at least 1."""
    power = 1
    while power < 63 and (1 << power) <= most // 2:
        power += 1
    return power


def lines_of(file: Path) -> list[str]:
    """Read the lines of a small text file."""
    if not file.is_file():
        raise InputError(str(file), "is not there", "give the file of the key")
    if file.stat().st_size > _LARGEST_BYTES:
        raise InputError(str(file), "is too large for a key or signature", "give the right file")
    text = file.read_bytes().decode("utf-8", "replace")
    return text.replace("\r\n", "\n").rstrip("\n").split("\n")


def decoded(lines: list[str], at: int, where: str, what: str) -> bytes:
    """Decode a base64 line below a comment; `where` and `what` name it in a refusal."""
    try:
        if not lines[0].startswith(UNTRUSTED):
            raise ValueError
        raw = base64.b64decode(lines[at], validate=True)
        # One writing for one content: bits that nothing reads may not differ either.
        if base64.b64encode(raw).decode() != lines[at]:
            raise ValueError
        return raw
    except (IndexError, ValueError, binascii.Error):
        raise InputError(where, f"is not a {what}", "give the right file") from None


def one_line(text: str, limit: int = 200) -> str:
    """Reduce text to one printable line, no longer than a comment may be."""
    flat = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return flat.encode("utf-8", "replace").decode()[:limit]
