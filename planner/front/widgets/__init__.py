"""Fields, rows, findings and texts on the screen."""
