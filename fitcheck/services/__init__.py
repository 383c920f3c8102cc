"""What the counter asks: match, explain, identify, options. No printing here."""
