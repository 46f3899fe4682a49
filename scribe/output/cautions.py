"""Cautions where somebody can be hurt: short, with their source. Local codes always decide."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Caution:
    """One sentence for the fitter and where it comes from."""

    topic: str
    sentence: str
    source: str


CAUTIONS = (
    Caution(
        "dust",
        "Wood dust harms the lungs and can cause cancer; treat MDF dust like that of hardwood:"
        " extraction, and a mask that fits.",
        "IARC Monographs vol. 62 and 100C; HSE EH40 (limits of wood dust)",
    ),
    Caution(
        "blades",
        "Saws, planers, routers: guards on, work clamped, both hands clear; pull the plug before"
        " touching a blade.",
        "HSE WIS16; common practice",
    ),
    Caution(
        "eyes and ears",
        "Wear eye protection, and hearing protection from 80 dB(A) on; circular saws reach about"
        " 100 dB(A).",
        "EN 166 (from memory); HSE WIS13",
    ),
    Caution(
        "old paint",
        "Paint in old houses may hold lead: test it first, never sand it dry.",
        "UK and US government pages on lead paint",
    ),
    Caution(
        "textured coatings",
        "Old textured coatings, boards and tiles may hold asbestos: don't drill, scrape or sand"
        " before a sample was tested.",
        "UK survey and asbestos guidance",
    ),
    Caution(
        "cables and pipes",
        "Cables and pipes lie in walls, not always where rules have them: use a detector, switch"
        " off, drill no deeper than needed.",
        "BS 7671, 522.6; common practice",
    ),
    Caution(
        "never cover",
        "Never cover air bricks, vents, flues, smoke or CO alarms, isolators, stopcocks, meters"
        " or the way out.",
        "common practice; local code decides",
    ),
    Caution(
        "fixing",
        "Fix tall furniture to the building so that it can't tip over.",
        "ASTM F2057 (free-standing units); common practice",
    ),
    Caution(
        "who decides",
        "Local codes decide; gas, fixed wiring, asbestos and structure are for licensed trades.",
        "common practice; local law decides",
    ),
)
