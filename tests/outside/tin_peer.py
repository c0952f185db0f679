#!/usr/bin/python3
"""A TIN by scipy, to hold ours against.

    tin_peer.py POINTS TRIANGLES PLACES DATUM

POINTS is x,y,z a line, TRIANGLES three indices a line (ours), PLACES x,y a line. Prints, one a line:
hull area; then of scipy's own TIN plan area, true (sloping) area and volume above the datum; then of our triangles the
least distance from a circumcentre to any point over the circumradius (1 where ours is a Delaunay triangulation), and
plan area, true area and volume; then the elevation at each place by scipy's own interpolation (nan off the ground).
"""
import sys

import numpy as np
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import ConvexHull, Delaunay, cKDTree

points, places = (np.loadtxt(name, delimiter=",", ndmin=2) for name in (sys.argv[1], sys.argv[3]))
ours = np.loadtxt(sys.argv[2], delimiter=",", dtype=int, ndmin=2)
datum = float(sys.argv[4])


def sums(triangles):
    a, b, c = (points[triangles[:, i]] for i in range(3))
    normal = np.cross(b - a, c - a) / 2
    plan = np.abs(normal[:, 2])
    return plan.sum(), np.linalg.norm(normal, axis=1).sum(), (plan * ((a + b + c)[:, 2] / 3 - datum)).sum()


def emptiness(triangles):
    a, b, c = (points[triangles[:, i], :2] for i in range(3))
    u, v = b - a, c - a
    twice = 2 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
    uu, vv = (u**2).sum(1), (v**2).sum(1)
    center = a + np.stack([v[:, 1] * uu - u[:, 1] * vv, u[:, 0] * vv - v[:, 0] * uu], 1) / twice[:, None]
    nearest, _ = cKDTree(points[:, :2]).query(center)
    return (nearest / np.linalg.norm(center - a, axis=1)).min()


theirs = Delaunay(points[:, :2])
numbers = [ConvexHull(points[:, :2]).volume, *sums(theirs.simplices), emptiness(ours), *sums(ours)]
numbers += list(LinearNDInterpolator(theirs, points[:, 2])(places))
print("\n".join(repr(float(number)) for number in numbers))
