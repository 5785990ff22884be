"""One year, stepped through day by day."""
