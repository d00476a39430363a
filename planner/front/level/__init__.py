"""The page Level."""
