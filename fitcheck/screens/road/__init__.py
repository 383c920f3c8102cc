"""What gear sets really do, in a terminal and as a picture."""
