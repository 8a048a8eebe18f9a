"""Trusting a folder as `seamcheck trust FOLDER` does, for tests that are about something else."""

from pathlib import Path

from seamcheck.config import trust
from seamcheck.config.settings import settings_found, to_trust


def trust_folder(folder: Path) -> None:
    """Let the plugin files that the folder's settings name be run as they are now."""
    trust.trust(folder, to_trust(settings_found(folder)))
