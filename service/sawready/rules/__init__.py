"""What can be wrong with an order, one small function a reason."""
