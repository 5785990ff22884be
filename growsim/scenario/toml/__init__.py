"""TOML texts: read with their places, changed in place, written."""
