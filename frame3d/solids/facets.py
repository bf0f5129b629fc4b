"""How many flats stand for a circle."""

import math

CHORD_MM = 0.005  # default: the farthest that a flat may stand inside its circle

# The polygon's area, hence a tube's volume, falls short by (2 pi / n)^2 / 6. The chord alone lets a
# 28.6 mm tube lose 5e-4; this holds every tube to 1.5e-5 at the default chord, and in proportion.
AREA_SHORT_PER_MM = 1.5e-5 / CHORD_MM


def facets(radius: float, chord: float = CHORD_MM) -> int:
    """Flats around a circle of `radius`, mm, a multiple of 4.

    Both hold: each flat stands at most `chord` mm inside the circle (radius (1 - cos(pi / n))), and
    the polygon's area falls short by at most 1.5e-5 of the circle's at 0.005 mm, in proportion.
    """
    by_area = 2.0 * math.pi / math.sqrt(6.0 * AREA_SHORT_PER_MM * chord)
    return max(facets_by_chord(radius, chord), 4 * math.ceil(by_area / 4))


def facets_by_chord(radius: float, chord: float) -> int:
    """Flats around a circle of `radius`, mm, a multiple of 4, each at most `chord` mm inside it."""
    return 4 * math.ceil(max(math.pi / math.acos(max(1.0 - chord / radius, 0.0)), 12.0) / 4)


# Of a tube the area of the metal alone has to be right, which its bore can see to with far fewer
# flats: each stands in its circle by at most this share of the chord error, 0.75 µm at the default.
WITHIN = 0.15


def tube_flats(radius: float, chord: float = CHORD_MM) -> int:
    """Flats around a round tube of outside `radius`, mm, whose bore gives the area back."""
    return facets_by_chord(radius, WITHIN * chord)
