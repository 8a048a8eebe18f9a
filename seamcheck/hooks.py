"""The hooks of a plugin, under the name that plugins know; `seamcheck.plugin` hands on all else."""

from seamcheck.engine.plugins import hookimpl, hookspec

__all__ = ["hookimpl", "hookspec"]
