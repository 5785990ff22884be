"""The week that was, held against what was expected of it."""
