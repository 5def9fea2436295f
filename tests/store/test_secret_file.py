"""The secret that links are signed with."""

import stat
from pathlib import Path

import pytest
from pytest_mock import MockerFixture

from monitor.store.secret import SECRET_BYTES, SecretFileError, read_or_make_secret


def test_it_is_made_once_and_nobody_else_may_read_it(tmp_path: Path) -> None:
    path = tmp_path / "links.key"
    made = read_or_make_secret(path)
    assert len(made) == SECRET_BYTES
    assert read_or_make_secret(path) == made
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert read_or_make_secret(tmp_path / "other.key") != made


@pytest.mark.parametrize("text", ["", "abcd\n", "not hexadecimal", "00" * 31])
def test_a_file_that_holds_something_else_is_named_and_left_alone(tmp_path: Path, text: str) -> None:
    path = tmp_path / "links.key"
    path.write_text(text)
    with pytest.raises(SecretFileError, match=r"links\.key: holds no secret.*remove it"):
        read_or_make_secret(path)
    assert path.read_text() == text


def test_a_full_disk_leaves_no_empty_file_that_would_stop_every_later_start(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    path = tmp_path / "links.key"
    mocker.patch("os.fsync", side_effect=OSError(28, "No space left on device"))
    with pytest.raises(OSError, match="No space left"):
        read_or_make_secret(path)
    assert list(tmp_path.iterdir()) == []
    mocker.stopall()
    assert len(read_or_make_secret(path)) == SECRET_BYTES
