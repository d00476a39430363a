"""Profiles: which numbers do I set for this trailer?"""

from planner.front import cards, recall, state

if state.tab().view == "recall":
    recall.draw()
else:
    cards.draw()
