"""Steps that bring a store to the form that this version of the program needs."""
