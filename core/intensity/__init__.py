"""How hard: heart-rate bands, the talk test and the effort guide."""
