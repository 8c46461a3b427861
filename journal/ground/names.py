"""Names as people type them: made plain, made into keys and paths, and compared with one another."""

from __future__ import annotations


def distance(a: str, b: str, most: int = 2) -> int:
    """Letters to change, add, drop or swap with their neighbour to make `a` into `b`; `most + 1` if more.

    Damerau-Levenshtein in its restricted form (each stretch is edited once), in a band of `most` beside the diagonal.
    """
    if abs(len(a) - len(b)) > most:
        return most + 1
    far = most + 1
    last: list[int] = []
    before: list[int] = []
    row = [min(j, far) for j in range(len(b) + 1)]
    for i, letter in enumerate(a, 1):
        last, before, row = before, row, [min(i, far)] + [far] * len(b)
        for j in range(max(1, i - most), min(len(b), i + most) + 1):
            cost = letter != b[j - 1]
            row[j] = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + cost, far)
            if i > 1 and j > 1 and letter == b[j - 2] and a[i - 2] == b[j - 1]:
                row[j] = min(row[j], last[j - 2] + 1)
        if min(row) >= far:
            return far
    return row[-1]
