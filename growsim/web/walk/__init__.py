"""A new room in seven short steps."""
