"""A room's own record, read row by row."""
