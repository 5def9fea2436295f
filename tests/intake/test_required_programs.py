"""A test whose program is missing is skipped by name, and fails in CI."""

from collections.abc import Callable

import pytest

Require = Callable[[str], str]


def test_a_program_is_found(require_program: Require) -> None:
    assert require_program("sh").endswith("/sh")


def test_a_missing_program_skips_by_name(require_program: Require, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CI", raising=False)
    with pytest.raises(pytest.skip.Exception, match="no-such-broker is not installed"):
        require_program("no-such-broker")


def test_in_ci_a_missing_program_is_a_failure(require_program: Require, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="CI skips nothing"):
        require_program("no-such-broker")
