"""The user's own folders for seamcheck, by the convention of the platform.

Source: XDG Base Directory Specification 0.8 ("basics": a relative path is ignored); Apple's File System Programming Guide
(Library/Application Support, Library/Caches); Microsoft's known folders RoamingAppData and LocalAppData.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path


def configuration_folder(environment: Mapping[str, str] = os.environ, platform: str = sys.platform) -> Path:
    """Where stands what the user has decided."""
    if platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "seamcheck"
    if platform == "win32":
        return _named("APPDATA", environment, Path("AppData", "Roaming"))
    return _named("XDG_CONFIG_HOME", environment, Path(".config"))


def cache_folder(environment: Mapping[str, str] = os.environ, platform: str = sys.platform) -> Path:
    """Where lies what can be made again, and may be taken away at any time."""
    if platform == "darwin":
        return Path.home() / "Library" / "Caches" / "seamcheck"
    if platform == "win32":
        return _named("LOCALAPPDATA", environment, Path("AppData", "Local"), "Cache")
    return _named("XDG_CACHE_HOME", environment, Path(".cache"))


def _named(variable: str, environment: Mapping[str, str], usual: Path, below: str = "") -> Path:
    base = Path(environment.get(variable, ""))
    return (base if base.is_absolute() else Path.home() / usual) / below / "seamcheck"
