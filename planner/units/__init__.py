"""Units: quantities as typed, their dimensions and sizes."""
