"""What is handed to people: the picture of a floor, the words for it, the handover PDF.

floor_picture, picture_svg   one floor as plain data and as SVG, for page and paper alike
handover_pdf                 the evidence of one room;  NOT_YET: its headline where nobody read the floor
inputs_digest                the SHA-256 by which a reader finds the inputs again
"""

from __future__ import annotations

from drainward.report.digest import inputs_digest
from drainward.report.handover import NOT_YET, handover_pdf
from drainward.report.picture import Picture, floor_picture
from drainward.report.picture_svg import picture_svg

__all__ = ["NOT_YET", "Picture", "floor_picture", "handover_pdf", "inputs_digest", "picture_svg"]
