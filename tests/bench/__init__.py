"""Speed, as ratios to a floor measured in the same run; never a test."""
