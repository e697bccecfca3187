"""Who we train: body, kit, medicines, clearance and home tests."""
