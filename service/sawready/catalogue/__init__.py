"""Profile systems and rulebooks: data with its sources, read and checked on load."""
