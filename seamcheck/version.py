"""The version of the package, so that nothing below imports the face."""

__version__ = "0.1.0"
