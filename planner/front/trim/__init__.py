"""The Trim page."""
