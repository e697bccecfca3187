"""Is today a day to train: morning questions, baseline, and rules that stand on their own."""
