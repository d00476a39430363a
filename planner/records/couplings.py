"""The kinds of coupling, which truck and trailer share."""

from typing import Literal

Coupling = Literal["ball", "gooseneck", "fifth_wheel", "pintle"]
