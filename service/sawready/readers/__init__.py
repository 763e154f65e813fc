"""Doors: bytes in, raw records with their places out."""
