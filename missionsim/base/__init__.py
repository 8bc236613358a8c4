"""What every layer may use: words, faults, random streams and the assumptions file."""
