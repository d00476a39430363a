"""A record in, an answer out."""
