"""The Method page."""
