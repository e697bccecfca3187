"""Pure rules and computation: no await, clock, randomness, database, network or logging.

Everything here is a function of its arguments. Times, stores and parsed data files are handed in
by ``bot``.
"""
