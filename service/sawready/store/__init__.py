"""Where orders are kept: SQLite by default, PostgreSQL by URL, one set of statements for both."""
