"""What sweeps, alerts, copies and checks ask of the store."""
