"""The queue of what was asked, and who works on it."""
