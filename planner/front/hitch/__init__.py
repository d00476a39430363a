"""The page Hitch up."""
