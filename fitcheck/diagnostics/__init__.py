"""What is wrong with data, as values: one type, its codes, and near names."""
