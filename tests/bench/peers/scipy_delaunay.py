"""Times scipy.spatial.Delaunay on the bench lot's places: scipy_delaunay.py COUNT TIMES"""

import json
import statistics
import sys
import time

import numpy
from scipy.spatial import Delaunay


def lot_places(count, width, depth):
    """The places of tests/bench/bench_lot.h, bit for bit."""
    z = numpy.arange(1, 2 * count + 1, dtype=numpy.uint64) * numpy.uint64(0x9E3779B97F4A7C15)
    z = (z ^ (z >> numpy.uint64(30))) * numpy.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> numpy.uint64(27))) * numpy.uint64(0x94D049BB133111EB)
    z ^= z >> numpy.uint64(31)
    draws = (z >> numpy.uint64(11)).astype(float) / 2.0**53
    return draws.reshape(-1, 2) * [width, depth] - [width / 2, depth / 2]


def main():
    count, times = int(sys.argv[1]), int(sys.argv[2])
    places = lot_places(count, 300.0, 300.0)
    milliseconds = []
    for _ in range(times):
        start = time.perf_counter()
        triangles = len(Delaunay(places).simplices)
        milliseconds.append(1000 * (time.perf_counter() - start))
    print(json.dumps({"milliseconds": statistics.median(milliseconds), "triangles": triangles}))


main()
