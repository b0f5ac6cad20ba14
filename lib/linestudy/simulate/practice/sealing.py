"""The truth of a practice study, sealed: without the salt neither seed nor level gives it back.

The salt is 32 random bytes. What is planted is drawn from salt, seed and level together, and the truth is encrypted
(AES-128 with an HMAC, as the cryptography library's Fernet does it) under a key derived from the salt alone.
"""

from __future__ import annotations

import base64
import hashlib
import json
import secrets
from pathlib import Path
from typing import Any

from linestudy.results import InputError

#: What a sealed text is filled up to: its length tells nothing of how much was planted.
_BLOCK = 8_192


def new_salt() -> bytes:
    """Draw a salt that nobody can guess."""
    return secrets.token_bytes(32)


def seed_of(salt: bytes, seed: int, level: int) -> int:
    """Make the seed of every draw of a study.

    Parameters
    ----------
    salt : bytes
    seed, level : int

    Returns
    -------
    int
        Without the salt as good as random.
    """
    digest = hashlib.sha256(salt + f"|practice|{seed}|{level}".encode()).digest()
    return int.from_bytes(digest[:7], "big")


def sealed(truth: dict[str, Any], salt: bytes) -> str:
    """Encrypt a truth.

    Parameters
    ----------
    truth : dict
    salt : bytes

    Returns
    -------
    str
    """
    text = json.dumps(truth, sort_keys=True).encode()
    filled = text + b" " * (-len(text) % _BLOCK)
    return str(_lock(salt).encrypt(filled).decode())


def opened(token: str, salt: bytes) -> dict[str, Any]:
    """Decrypt a truth.

    Parameters
    ----------
    token : str
    salt : bytes

    Returns
    -------
    dict

    Raises
    ------
    InputError
        The salt is another one, or the sealed truth was changed.
    """
    from cryptography.fernet import InvalidToken

    try:
        return dict(json.loads(_lock(salt).decrypt(token.encode())))
    except InvalidToken:
        raise InputError(
            "truth.sealed", "does not open with this salt", "use the teacher's file of this study"
        ) from None


def _lock(salt: bytes) -> Any:
    from cryptography.fernet import Fernet
    from cryptography.hazmat.primitives.hashes import SHA256
    from cryptography.hazmat.primitives.kdf.hkdf import HKDF

    key = HKDF(SHA256(), 32, None, b"linestudy practice").derive(salt)
    return Fernet(base64.urlsafe_b64encode(key))


def write_salt(file: Path, salt: bytes) -> None:
    """Write the teacher's file.

    Parameters
    ----------
    file : pathlib.Path
        Must not be there yet.
    salt : bytes
    """
    with file.open("x", encoding="utf-8") as stream:
        stream.write(
            "# The teacher's file: with it `linestudy grade` opens what was planted. Keep it from students.\n"
            f'salt = "{salt.hex()}"\n'
        )


def read_salt(file: Path) -> bytes:
    """Read the teacher's file.

    Parameters
    ----------
    file : pathlib.Path

    Returns
    -------
    bytes

    Raises
    ------
    InputError
        It is not there, or no such file.
    """
    import tomllib

    try:
        return bytes.fromhex(tomllib.loads(file.read_text(encoding="utf-8"))["salt"])
    except FileNotFoundError:
        raise InputError(
            str(file), "is not there", "name the teacher's file with --teacher"
        ) from None
    except (tomllib.TOMLDecodeError, KeyError, ValueError, TypeError, OSError):
        raise InputError(
            str(file), "is no teacher's file", "use the one that `linestudy practice` wrote"
        ) from None
