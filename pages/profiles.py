"""Profiles: which numbers do I set for this trailer?"""

from planner.front.profiles import profile_list, recall
from planner.front.session import state

if state.tab().view == "recall":
    recall.draw_recall()
else:
    profile_list.draw_profile_list()
