"""How large furniture is drawn, cm; heights come from the client's own kit."""

DEPTHS = {
    "chair": 42.0,
    "chair_beside": 44.0,
    "cushion": 40.0,
    "bench": 60.0,
    "bench_beside": 300.0,
    "table": 76.0,
    "table_beside": 120.0,
    "step": 44.0,
}
"""Depth from the edge nearest the person; what stands beside her is seen along its length."""

SLABS = {"chair": 3.6, "cushion": 5.0, "bench": 4.0, "table": 3.8, "step": 4.0}
"""Thickness of seat, cushion and tops."""

CHAIR_BACK = 44.0  # top of a chair's back above its seat
CHAIR_RECLINE = 5.0  # top of the back behind its foot
