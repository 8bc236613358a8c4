"""Rules, levels, flight plans, fuel stops and alternates: pure, vectorised over flights."""
