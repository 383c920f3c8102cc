"""The page a customer takes home, and the quotation on it."""
