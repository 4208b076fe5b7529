"""Waiting files: generated names, a private folder, thrown away when nobody touches them."""

import os
import stat
from pathlib import Path

import pytest

from api.waiting_room import WaitingRoom
from kb.errors import NotFound


@pytest.fixture
def room(tmp_path: Path) -> WaitingRoom:
    return WaitingRoom(tmp_path / "waiting", keep_seconds=60, what="count")


def test_folder_and_file_are_for_this_user_only(room: WaitingRoom):
    # POSIX file modes; OWASP File Upload Cheat Sheet (from memory): generated names, no execute rights.
    _token, path = room.add(".count")
    assert stat.S_IMODE(room.folder.stat().st_mode) == 0o700
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_tokens_differ_and_find_their_file(room: WaitingRoom):
    tokens = {room.add(".count")[0] for _ in range(20)}
    assert len(tokens) == 20
    assert all(room.get_path(token, ".count").name == f"{token}.count" for token in tokens)


@pytest.mark.parametrize("token", ["", "../../etc/passwd", "a" * 22, "a" * 21 + "/", "." * 22, "é" * 22])
def test_nothing_but_a_waiting_file_is_found(room: WaitingRoom, token: str):
    room.add(".count")
    with pytest.raises(NotFound, match="not here any more"):
        room.get_path(token, ".count")


def test_old_files_are_not_found_and_go_with_the_next_one(room: WaitingRoom):
    token, path = room.add(".count")
    os.utime(path, (1, 1))
    with pytest.raises(NotFound):
        room.get_path(token, ".count")
    assert list(room.list_tokens(".count")) == []
    room.add(".count")
    assert not path.exists()


def test_removal_takes_all_files_of_a_token_and_no_other(room: WaitingRoom):
    first, path = room.add(".sheet")
    other, _ = room.add(".sheet")
    path.with_suffix(".json").write_text("{}")
    room.remove(first)
    assert [name.name for name in room.folder.iterdir()] == [f"{other}.sheet"]


def test_room_without_a_folder_leaves_nothing_behind():
    room = WaitingRoom(None, keep_seconds=60, what="count")
    folder = room.folder
    room.add(".count")
    assert folder.is_dir()
    del room
    assert not folder.exists()
