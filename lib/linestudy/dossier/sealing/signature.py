"""Seal a dossier with a signature, and check one: Ed25519 over the bag's list of lists, in minisign's format.

A dossier's checksums show that no byte was damaged; whoever changes a file can renew them. A signature
cannot be renewed without the secret key, so it shows that the dossier is the one its owner sealed.

What is signed is ``tagmanifest-sha512.txt``. It holds the sum of ``manifest-sha512.txt``, which holds the
sum of every file in ``data/``, so one signature holds for all of them; :func:`verify` follows that chain
to the last file. The signature is beside it, in ``tagmanifest-sha512.txt.minisig``.

The format is that of minisign (BSD signify's, with the file hashed first), so that any program that
knows it checks a dossier without this kit::

    minisign -Vm tagmanifest-sha512.txt -p supplier.pub

Layout, from memory of minisign's published description and held in a test against the program itself:

- public key: a comment line, then base64 of ``Ed``, eight bytes of key number, 32 bytes of key;
- signature: a comment line, base64 of ``ED``, the key number and Ed25519 of the file's BLAKE2b-512,
  then ``trusted comment: …`` and base64 of Ed25519 over that signature followed by the comment;
- secret key: a comment line, then base64 of ``Ed``, how it is locked (``Sc`` for scrypt, two zero bytes for
  not at all), ``B2``, salt (32), scrypt's two limits (8 each, little-endian) and, locked or not, key
  number (8), seed and public key (64) and BLAKE2b-256 over ``Ed``, number and key (32).

What it does not show: that the numbers are right (that is what recomputing is for), when it was signed
(the time in the comment is the signer's own clock), and who holds the key: the receiver must have the
public key from the sender by another way than with the dossier.

References
----------
S. Josefsson, I. Liusvaara: RFC 8032, Edwards-Curve Digital Signature Algorithm (EdDSA), 2017.
M-J. Saarinen, J-P. Aumasson: RFC 7693, The BLAKE2 Cryptographic Hash and MAC, 2015.
C. Percival, S. Josefsson: RFC 7914, The scrypt Password-Based Key Derivation Function, 2016.
"""

from __future__ import annotations

import base64
import hashlib
import time
from dataclasses import dataclass
from pathlib import Path

from linestudy.dossier.sealing.key_pair import (
    UNTRUSTED,
    PublicKey,
    SecretKey,
    decoded,
    lines_of,
    one_line,
)
from linestudy.results import InputError

#: What is signed, and where the signature is.
SIGNED = "tagmanifest-sha512.txt"
SIGNATURE = f"{SIGNED}.minisig"

_TRUSTED = "trusted comment: "


@dataclass(frozen=True)
class SignatureCheck:
    """What was found about a dossier's signature.

    Attributes
    ----------
    signed : bool
        Whether there is one.
    checked : bool
        Whether a key to check it with was given.
    problem : str
        Why it does not hold, in one clause; empty where nothing is wrong or nothing was checked.
    key : str
        Number of the key it says it was made with; empty where there is none.
    comment : str
        The comment it covers; to be believed only where it holds.
    """

    signed: bool
    checked: bool
    problem: str = ""
    key: str = ""
    comment: str = ""

    @property
    def holds(self) -> bool:
        """Whether the dossier is as the key's owner sealed it."""
        return self.signed and self.checked and not self.problem

    @property
    def objects(self) -> bool:
        """Whether a check was asked for and failed."""
        return self.checked and not self.holds

    def __str__(self) -> str:
        if self.problem:
            return f"signature: does not hold: {self.problem}"
        if self.holds:
            return f"signature: holds, by key {self.key} ({self.comment})"
        if self.signed:
            return (
                f"signature: not checked (made with key {self.key}); give the sender's public key "
                "with --key"
            )
        return "signature: not signed"


def sign_folder(folder: Path, key: SecretKey, about: str) -> Path:
    """Seal a finished bag.

    Parameters
    ----------
    folder : pathlib.Path
    key : SecretKey
    about : str
        What it is, for the comment that the signature covers; the time is added.

    Returns
    -------
    pathlib.Path
        The signature's file.
    """
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    secret = Ed25519PrivateKey.from_private_bytes(key.seed)
    now = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime())
    comment = f"{one_line(about)}, signed {now}"
    made = secret.sign(_hashed(folder / SIGNED))
    over = secret.sign(made + comment.encode())
    lines = (
        f"{UNTRUSTED}signature by key {key.public.name}",
        base64.b64encode(b"ED" + key.number + made).decode(),
        f"{_TRUSTED}{comment}",
        base64.b64encode(over).decode(),
    )
    file = folder / SIGNATURE
    file.write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")
    return file


def verify(folder: Path, key: PublicKey | None) -> SignatureCheck:
    """Check a dossier's signature, and that everything in it is what was signed.

    Parameters
    ----------
    folder : pathlib.Path
        A dossier.
    key : PublicKey or None
        The sender's public key; without one nothing is checked.

    Returns
    -------
    SignatureCheck
    """
    file = folder / SIGNATURE
    if not file.is_file():
        problem = "the dossier is not signed" if key is not None else ""
        return SignatureCheck(False, key is not None, problem)
    try:
        lines = lines_of(file)
        raw, over = (decoded(lines, at, SIGNATURE, "signature") for at in (1, 3))
        if len(raw) != 74 or len(over) != 64 or not lines[2].startswith(_TRUSTED):
            raise InputError(SIGNATURE, "is not a signature", "ask for the dossier again")
    except InputError as error:
        return SignatureCheck(True, key is not None, error.what if key is not None else "")
    made_with = PublicKey(raw[2:10], bytes(32)).name
    comment = lines[2].removeprefix(_TRUSTED)
    problem = "" if key is None else _objection(folder, key, raw, over, comment)
    return SignatureCheck(True, key is not None, problem, made_with, one_line(comment))


def _objection(folder: Path, key: PublicKey, raw: bytes, over: bytes, comment: str) -> str:
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    if raw[:2] != b"ED":
        return "it is of a kind that is not used here"
    if raw[2:10] != key.number:
        made_with = PublicKey(raw[2:10], bytes(32)).name
        return f"it was made with key {made_with}, and the key given is {key.name}"
    if not (folder / SIGNED).is_file():
        return f"{SIGNED} is missing"
    try:
        public = Ed25519PublicKey.from_public_bytes(key.raw)
        public.verify(raw[10:], _hashed(folder / SIGNED))
    except (InvalidSignature, ValueError):
        return "it is not of this dossier, or the dossier was changed after it was signed"
    try:
        public.verify(over, raw[10:] + comment.encode())
    except InvalidSignature:
        return "its comment was changed"
    return _chain(folder)


def _chain(folder: Path) -> str:
    """Follow the sums from what is signed to the last file; why they break, or nothing."""
    lists = _sums(folder / SIGNED)
    if "manifest-sha512.txt" not in lists:
        return "what is signed does not name the list of files"
    for name, total in lists.items():
        if not _is(folder, name, total):
            return f"{name} is missing or was changed after it was signed"
    listed = _sums(folder / "manifest-sha512.txt")
    for name, total in listed.items():
        if not _is(folder, name, total):
            return f"{name} is missing or was changed after it was signed"
    for path in sorted((folder / "data").rglob("*")):
        name = path.relative_to(folder).as_posix().replace("\r", "%0D").replace("\n", "%0A")
        if (path.is_symlink() or not path.is_dir()) and name not in listed:
            return f"{name} was added after it was signed"
    return ""


def _sums(file: Path) -> dict[str, str]:
    """Name → SHA-512 of a bag's list."""
    found: dict[str, str] = {}
    for line in file.read_text(encoding="utf-8", errors="replace").split("\n"):
        total, _, name = line.partition(" ")
        if name:
            found[name.lstrip(" ")] = total
    return found


def _is(folder: Path, name: str, total: str) -> bool:
    path = folder / name.replace("%0D", "\r").replace("%0A", "\n")
    if not path.resolve().is_relative_to(folder.resolve()) or not path.is_file():
        return False
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha512").hexdigest() == total


def _hashed(file: Path) -> bytes:
    with file.open("rb") as stream:
        return hashlib.file_digest(stream, lambda: hashlib.blake2b(digest_size=64)).digest()
