"""The front door for those who never open a terminal."""
