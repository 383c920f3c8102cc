"""The command line: read options, call a service, print, set the exit code.

Heavy packages are imported by the command that needs them, so that help and shell completion
stay quick.
"""

from __future__ import annotations

from fitcheck.cli.main import main

__all__ = ["main"]
