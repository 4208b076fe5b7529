"""Every byte counts: a changed, missing or added one is found."""

import random

import pytest

from kb.backup.sealed_file import Manifest, copy_out, is_sealed, read_manifest, seal
from kb.errors import BadInput

MANIFEST = Manifest("sqlite", "0001", "2026-03-01T12:00:00+00:00", 11, "", {"part": 2})


def seal_text(path, content=b"hello world"):
    path.write_bytes(content)
    seal(path, MANIFEST)
    return path


def test_manifest_comes_back(tmp_path):
    assert read_manifest(seal_text(tmp_path / "a")) == MANIFEST


def test_every_single_bit_of_a_small_file_counts(tmp_path):
    whole = seal_text(tmp_path / "a").read_bytes()
    for place in range(len(whole)):
        for bit in range(8):
            broken = bytearray(whole)
            broken[place] ^= 1 << bit
            (tmp_path / "b").write_bytes(broken)
            with pytest.raises(BadInput):
                read_manifest(tmp_path / "b")


def test_every_cut_of_a_small_file_is_found_and_so_is_an_addition(tmp_path):
    whole = seal_text(tmp_path / "a").read_bytes()
    for content in [whole[:length] for length in range(len(whole))] + [whole + b"\n", b"\n" + whole]:
        (tmp_path / "b").write_bytes(content)
        with pytest.raises(BadInput):
            read_manifest(tmp_path / "b")


def test_200_changed_bytes_and_50_cuts_of_a_real_backup_are_found(backup, tmp_path):
    whole = backup.read_bytes()
    dice = random.Random(20260301)
    for _ in range(200):
        broken = bytearray(whole)
        broken[dice.randrange(len(whole))] ^= dice.randrange(1, 256)
        (tmp_path / "b").write_bytes(broken)
        with pytest.raises(BadInput, match=r"damaged|cut off"):
            read_manifest(tmp_path / "b")
    for _ in range(50):
        (tmp_path / "b").write_bytes(whole[: dice.randrange(len(whole))])
        with pytest.raises(BadInput, match=r"damaged|cut off"):
            read_manifest(tmp_path / "b")


def test_copy_that_changed_while_it_was_read_is_refused(tmp_path):
    path = seal_text(tmp_path / "a")
    with pytest.raises(BadInput, match="changed while"):
        copy_out(path, read_manifest(path), tmp_path / "copy")  # its manifest's digest of the copy is empty


def test_missing_file_is_explained(tmp_path):
    with pytest.raises(BadInput, match="cannot be read"):
        read_manifest(tmp_path / "none")


def test_other_files_are_not_taken_for_backups(tmp_path):
    (tmp_path / "a").write_text("Dear customer")
    assert not is_sealed(tmp_path / "a")
    assert not is_sealed(tmp_path / "none")
    assert is_sealed(seal_text(tmp_path / "b"))
