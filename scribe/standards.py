"""Every number taken from a standard or a handbook, with its clause."""

from __future__ import annotations

# International inch (1959): exact.
MM_PER_INCH = 25.4

# ISO 32000-1, 8.3.2.3: default user space unit of a PDF.
PT_PER_MM = 72.0 / MM_PER_INCH

# ISO 216: (width, height) of the trimmed sheet. Letter and Tabloid: ANSI/ASME Y14.1.
PAPER_MM: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "Letter": (215.9, 279.4),
}

# ISO 216: permitted deviation of a trimmed dimension, by its length: up to 150, up to 600, above.
PAPER_TOLERANCE_MM = ((150.0, 1.5), (600.0, 2.0), (float("inf"), 3.0))

# JCGM 100 (GUM), 6.2: coverage factor of the expanded uncertainty used everywhere here.
COVERAGE_FACTOR = 2.0

# Diagonal of the 24 mm x 36 mm frame to which a 35 mm equivalent focal length refers
# (CIPA DC-008, tag FocalLengthIn35mmFilm).
FULL_FRAME_DIAGONAL_MM = 1872.0**0.5
