"""What a user trusts: of each folder the plugin files, by their bytes, and the limits that its settings may raise.

A folder that came from elsewhere brings settings of its own. Code that they name is not run, and a limit that they raise is not
taken, until the user says so once with `seamcheck trust FOLDER`. What is trusted is kept in `trusted.json` in the user's own
configuration folder, as SHA-256 digests, so that a file that changes is asked for again.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from seamcheck.config.user_folders import configuration_folder
from seamcheck.errors import SeamcheckError, SettingsError
from seamcheck.files import write_text

if TYPE_CHECKING:
    from seamcheck.config.limits import Limits

LIMITS = "[limits]"  # no file of that name ends in .py
Trusted = Mapping[str, str]


def store() -> Path:
    """The file in which it is kept."""
    return configuration_folder() / "trusted.json"


def digest(data: bytes) -> str:
    """What bytes are known by."""
    return sha256(data).hexdigest()


def digest_of_limits(limits: Limits) -> str:
    """What limits are known by."""
    return digest(repr(limits).encode())


def trusted_in(folder: Path) -> Trusted:
    """What the user trusts of a folder: digests by name; empty where it is nothing. SettingsError for a file that was spoiled."""
    return _read().get(_key(folder), {})


def trust(folder: Path, these: Trusted) -> None:
    """Trust these of a folder from now on, and nothing else of it; nothing at all where there are none."""
    known = {key: value for key, value in _read().items() if key != _key(folder)}
    if these:
        known[_key(folder)] = dict(these)
    path = store()
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise SeamcheckError(f"cannot be made ({error.strerror})", path=str(path.parent)) from None
    write_text(json.dumps(known, indent=2, sort_keys=True) + "\n", str(path), remedy="see who may write there")


def _key(folder: Path) -> str:
    return str(folder.resolve())


def _read() -> dict[str, Trusted]:
    path = store()
    try:
        known = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return {}
    except (OSError, ValueError, RecursionError):
        known = None
    if not isinstance(known, dict) or not all(
        isinstance(these, dict) and all(isinstance(one, str) for one in these.values()) for these in known.values()
    ):
        raise SettingsError(
            "this is not what seamcheck keeps of trusted folders",
            path=str(path),
            remedy="take it away, and trust them again",
        )
    return known
