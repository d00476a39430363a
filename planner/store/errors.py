"""Where the words of system errors were; the pages still look for them here."""

from planner.store.os_errors import shown_name as shown_name
from planner.store.os_errors import told_errors as told_errors
