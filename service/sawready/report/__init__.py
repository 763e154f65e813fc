"""Forms in which a result is shown."""
