"""The page Profiles."""
