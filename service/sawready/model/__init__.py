"""Values that the whole program speaks in: findings, orders, sizes and results."""
