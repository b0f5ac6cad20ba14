"""A sealed dossier: checked by the kit and by minisign itself, and every change to it found."""

from __future__ import annotations

import hashlib
import shutil
import subprocess
from pathlib import Path

import bagit
import pytest

from linestudy.cli import main
from linestudy.dossier.sealing.key_pair import (
    SecretKey,
    new_key,
    write_keys,
)
from linestudy.dossier.sealing.signature import SIGNATURE, SIGNED, sign_folder, verify

KEY = SecretKey(bytes(range(8)), bytes(range(32)))


def bag(place: Path, text: str = "numbers") -> Path:
    (place / "study").mkdir(parents=True)
    (place / "results.json").write_text(text)
    (place / "study/run.csv").write_text("1,2\n")
    bagit.make_bag(str(place), {}, checksums=["sha256", "sha512"])
    return place


@pytest.fixture
def sealed(tmp_path: Path) -> Path:
    place = bag(tmp_path / "dossier")
    sign_folder(place, KEY, "P-1, revision A")
    return place


def renewed(place: Path) -> None:
    """All sums computed anew, as whoever changes a file on purpose does."""
    made = bagit.Bag(str(place))
    made.save(manifests=True)


def test_it_holds_and_says_by_whom(sealed: Path) -> None:
    found = verify(sealed, KEY.public)
    assert found.holds
    assert not found.objects
    assert "P-1, revision A, signed 20" in str(found)
    assert KEY.public.name in str(found)
    assert bagit.Bag(str(sealed)).is_valid()


def test_without_a_key_nothing_is_claimed(sealed: Path, tmp_path: Path) -> None:
    found = verify(sealed, None)
    assert not found.holds
    assert not found.objects
    assert "not checked" in str(found)
    assert str(verify(bag(tmp_path / "other"), None)) == "signature: not signed"


def change(name: str, old: bytes, new: bytes):
    def changed(place: Path) -> None:
        file = place / name
        content = file.read_bytes()
        assert old in content
        file.write_bytes(content.replace(old, new, 1))

    return changed


def renew_after(what):
    def changed(place: Path) -> None:
        what(place)
        renewed(place)

    return changed


def add(name: str):
    return lambda place: (place / name).write_text("x")


TAMPERED = {
    "a byte": change("data/results.json", b"numbers", b"Numbers"),
    "an input": change("data/study/run.csv", b"2", b"3"),
    "a byte, sums renewed": renew_after(change("data/results.json", b"numbers", b"Numbers")),
    "a file added": add("data/approval.html"),
    "a file added, sums renewed": renew_after(add("data/approval.html")),
    "a file taken away": lambda place: (place / "data/study/run.csv").unlink(),
    "the bag's description": change("bag-info.txt", b"Payload", b"payload"),
    "signature removed": lambda place: (place / SIGNATURE).unlink(),
    "signature emptied": lambda place: (place / SIGNATURE).write_bytes(b""),
    "comment": change(SIGNATURE, b"revision A", b"revision B"),
    "list of lists gone": lambda place: (place / SIGNED).unlink(),
}


@pytest.mark.parametrize("how", TAMPERED)
def test_every_change_is_found(sealed: Path, how: str) -> None:
    TAMPERED[how](sealed)
    found = verify(sealed, KEY.public)
    assert found.objects
    assert not found.holds
    assert found.problem


@pytest.mark.proof
def test_every_byte_of_the_signature_counts(sealed: Path) -> None:
    file = sealed / SIGNATURE
    whole = file.read_bytes()
    # The first line is a comment that nothing covers, and says so itself.
    begin = whole.index(b"\n") + 1
    for at in range(begin, len(whole) - 1):
        file.write_bytes(whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :])
        assert not verify(sealed, KEY.public).holds, at


def test_another_key_and_another_dossier(sealed: Path, tmp_path: Path) -> None:
    other = new_key()
    assert "it was made with key" in verify(sealed, other.public).problem
    # The same number on another key.
    forged = SecretKey(KEY.number, other.seed)
    assert not verify(sealed, forged.public).holds
    second = bag(tmp_path / "second", "other numbers")
    shutil.copy(sealed / SIGNATURE, second / SIGNATURE)
    assert "not of this dossier" in verify(second, KEY.public).problem


needs_minisign = pytest.mark.skipif(
    shutil.which("minisign") is None, reason="minisign is not installed"
)


@needs_minisign
def test_minisign_agrees(sealed: Path, tmp_path: Path) -> None:
    _, public = write_keys(tmp_path / "me", KEY)
    command = ["minisign", "-V", "-m", str(sealed / SIGNED), "-p", str(public)]
    told = subprocess.run(command, capture_output=True, text=True, check=True, timeout=60)
    assert "P-1, revision A" in told.stdout
    change(SIGNATURE, b"revision A", b"revision B")(sealed)
    assert subprocess.run(command, capture_output=True, check=False, timeout=60).returncode != 0


@needs_minisign
def test_minisign_signs_with_a_key_of_the_kit(tmp_path: Path) -> None:
    # That it can use the secret key shows that the key file is laid out as it should be.
    place = bag(tmp_path / "dossier")
    secret, _ = write_keys(tmp_path / "me", KEY, "correct horse")
    command = ["minisign", "-S", "-s", str(secret), "-m", str(place / SIGNED), "-t", "by hand"]
    subprocess.run(
        command, input="correct horse\n", text=True, capture_output=True, check=True, timeout=60
    )
    found = verify(place, KEY.public)
    assert found.holds
    assert found.comment == "by hand"


@pytest.mark.proof
def test_from_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from linestudy.study import start_study

    study = start_study(tmp_path / "s")
    assert main(["key", str(tmp_path / "me")]) == 0
    assert main(["dossier", str(study), "--sign", str(tmp_path / "me.key")]) == 0
    assert "Signed with key" in capsys.readouterr().out
    place = tmp_path / "s.dossier"
    assert main(["recompute", str(place), "--key", str(tmp_path / "me.pub")]) == 0
    assert "signature: holds, by key" in capsys.readouterr().out
    (place / SIGNATURE).unlink()
    assert main(["recompute", str(place)]) == 0
    assert "signature: not signed" in capsys.readouterr().out
    assert main(["recompute", str(place), "--key", str(tmp_path / "me.pub")]) == 1
    assert "does not hold: the dossier is not signed" in capsys.readouterr().out


def test_what_is_signed_is_hashed_by_blake2b() -> None:
    # RFC 7693, appendix A: BLAKE2b-512 of "abc" (value from memory of the RFC).
    assert hashlib.blake2b(b"abc", digest_size=64).hexdigest().startswith("ba80a53f981c4d0d")
