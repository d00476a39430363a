"""``python -m planner`` is the console script."""

from planner.cli import main

main()
