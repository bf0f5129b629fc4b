"""Rider and geometry numbers into a frame; handling and clearance numbers."""

from frame3d.bicycle.bicycle_error import BicycleError
from frame3d.bicycle.diamond import SECTIONS, diamond
from frame3d.bicycle.geometry import Bicycle, Geometry, read_bicycle
from frame3d.bicycle.handling import handling, head_and_fork, jig_table, standover
from frame3d.bicycle.rider import fit_points, place_rider, read_rider, stem_for
from frame3d.bicycle.structure import Section, Structure
from frame3d.bicycle.toe_clearance import Pedal, ToeClearance, pedal_lean_angle, toe_clearance
from frame3d.jobs.bicycle_tables import BicycleTable, ForkLayout, RearLayout, RiderTable
from frame3d.model.rider import Cockpit, Rider

__all__ = [
    "SECTIONS",
    "Bicycle",
    "BicycleError",
    "BicycleTable",
    "Cockpit",
    "ForkLayout",
    "Geometry",
    "Pedal",
    "RearLayout",
    "Rider",
    "RiderTable",
    "Section",
    "Structure",
    "ToeClearance",
    "diamond",
    "fit_points",
    "handling",
    "head_and_fork",
    "jig_table",
    "pedal_lean_angle",
    "place_rider",
    "read_bicycle",
    "read_rider",
    "standover",
    "stem_for",
    "toe_clearance",
]
