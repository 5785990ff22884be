"""Describing a room in forms."""
