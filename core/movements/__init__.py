"""The movements: catalogue, dials, demand and each client's ladder."""
