"""What is printed or carried: cards as PDF, a page for a phone."""

from pathlib import Path
from typing import Final

CARD_RULES: Final = Path(__file__).with_name("card.css")  # of `card_html`, for whoever does not wait for its imports
