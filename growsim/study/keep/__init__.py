"""That change, made in the room for good."""
