"""Who rides, and what stands between the frame and them."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Rider:
    """Where a rider touches the bicycle. Mm.

    saddle_height:  shell's centre straight to the saddle's reference point, the middle of its top
                    above the post's clamp
    saddle_setback: that point behind the shell's centre, level
    hands_above:    the hands above the shell's centre
    hands_ahead:    the hands ahead of the shell's centre
    """

    saddle_height: float
    saddle_setback: float
    hands_above: float
    hands_ahead: float


@dataclass(frozen=True)
class Cockpit:
    """What stands between the frame and the rider. Mm and degrees.

    stem_length:  steering axis to the middle of the bar's clamp, along the stem
    stem_angle:   the stem against a square to the steering axis, positive upwards (-17 is about
                  level, 0 square)
    stem_height:  the stem's clamp on the steerer, along it
    spacers:      between headset and stem
    upper_headset_stack: the head tube's upper end to the spacers
    bar_reach, bar_rise: the hands ahead of and above the middle of the bar's clamp
    post_setback: the saddle's reference point behind the seat tube's axis, square to it
    """

    stem_length: float
    stem_angle: float = 0.0
    stem_height: float = 40.0
    spacers: float = 0.0
    upper_headset_stack: float = 25.0
    bar_reach: float = 0.0
    bar_rise: float = 0.0
    post_setback: float = 0.0
