"""What the shop can sell from its shelf, where it has nothing, and what to buy."""
