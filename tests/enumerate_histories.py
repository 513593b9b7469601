"""Brute force: every history of a small problem, one by one, as an independent reference."""

from __future__ import annotations

from itertools import product

import numpy as np

from provenance.inference.episodes import Problem


def enumerate_histories(problem: Problem) -> dict[str, object]:
    """Sum over the build's cell, the cells with a work, and who was refitted in each."""
    H, C = problem.start.shape
    S = problem.groups
    q = problem.share
    z = 0.0
    build = np.zeros((H, C))
    original = np.zeros((S, H, C))
    refitted = np.zeros((S, C))
    together = np.zeros((S, S))
    sets = np.zeros(1 << S)
    for c0 in range(C):
        after = list(range(c0 + 1, C))
        for works in product((0, 1), repeat=len(after)):
            p_works = 1.0
            cells = []
            for c, w in zip(after, works, strict=True):
                p_works *= problem.rate[c] if w else 1 - problem.rate[c]
                if w:
                    cells.append(c)
            for refits in product(range(1 << S), repeat=len(cells)):
                p = p_works
                last = [c0] * S
                for c, mask in zip(cells, refits, strict=True):
                    for s in range(S):
                        if mask >> s & 1:
                            p *= q
                            last[s] = c
                        else:
                            p *= 1 - q
                if all(c != c0 for c in last) and S:
                    continue
                if any(last[i] > last[j] for i, j in problem.order):
                    continue
                for s in range(S):
                    if last[s] != c0:
                        p *= problem.later[s, last[s]]
                for h in range(H):
                    w = p * problem.start[h, c0]
                    for s in range(S):
                        if last[s] == c0:
                            w *= problem.build[h, s, c0]
                    z += w
                    build[h, c0] += w
                    mask = 0
                    for s in range(S):
                        if last[s] == c0:
                            original[s, h, c0] += w
                        else:
                            mask |= 1 << s
                            refitted[s, last[s]] += w
                        for s2 in range(S):
                            if s2 != s and last[s] == last[s2] != c0:
                                together[s, s2] += w
                    sets[mask] += w
    return {
        "evidence": z,
        "build": build / z,
        "original": original / z,
        "refitted": refitted / z,
        "together": together / z,
        "sets": sets / z,
    }
