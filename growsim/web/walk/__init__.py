"""A new room in eight short steps."""
