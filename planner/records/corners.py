"""The four corners of the truck, in the order of every file, table and answer."""

from typing import Final

CORNERS: Final = ("front_left", "front_right", "rear_left", "rear_right")
