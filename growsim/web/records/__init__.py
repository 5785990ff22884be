"""The room's record on the page."""
