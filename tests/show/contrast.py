"""How well two colours stand out against each other, by the formulas of WCAG 2.2."""

TEXT_CONTRAST = 4.5  # least ratio for text: success criterion 1.4.3
LINE_CONTRAST = 3.0  # least ratio for lines that matter: success criterion 1.4.11


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21 (WCAG 2.2, definition of contrast ratio)."""
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def _luminance(colour: str) -> float:
    """Return the relative luminance of #rrggbb (WCAG 2.2, definition of relative luminance)."""
    parts = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
