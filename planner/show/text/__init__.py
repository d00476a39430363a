"""Answers in words and numbers, for the terminal, the screen and other programs."""
