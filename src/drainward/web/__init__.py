"""The page: the job's rooms, a room's floor as a map, readings typed where they were taken.

create_app    the page of one job folder, as an ASGI application
serve         that page on a port of this machine
"""

from drainward.web.app import create_app
from drainward.web.serve import serve

__all__ = ["create_app", "serve"]
