"""Runs over many orders: input cut into chunks, checked anywhere, written once and in order."""
