"""What the counter asks: match, why, identify, options. No printing here."""
