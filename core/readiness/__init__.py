"""Is today a day to train: the morning questions, the baseline, and rules that stand on their own."""
