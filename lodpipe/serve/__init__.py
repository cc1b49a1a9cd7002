"""The archive over HTTP, read-only: documents, harvests, changes, files of the export.

Listens on this machine only unless told otherwise; put a web server before it that speaks TLS.
"""

from lodpipe.serve.app import Settings, create
from lodpipe.serve.listening import LIMITS, listen

__all__ = ["LIMITS", "Settings", "create", "listen"]
