"""The Air page."""
