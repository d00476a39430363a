"""What surrounds the pages: start, who is let in, navigation, look."""
