"""Profiles: which numbers do I set for this trailer?"""

from planner.front.profiles import profile_alone, profile_list
from planner.front.session import state

if state.tab().view == "alone":
    profile_alone.draw_profile_alone()
else:
    profile_list.draw_profile_list()
