"""The machine on the road: air, load, engine, driveline, and what follows from them.

Floats in SI units throughout, rpm excepted. Everything here is plain Python; the module
`fitcheck.kernel.road.many` gives the same figures for many gearings at once with numpy.
"""
