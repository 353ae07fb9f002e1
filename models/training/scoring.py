"""Word errors, and intervals for shares and rates."""
import math
import re

from numbers_said import ONES, whole
from texts import plain_words


def words_of(text):
    """Any transcript -> list of words in the form of the training texts (figures become words)."""
    text = text.lower().replace("%", " percent").replace("-", " ").replace("’", "'")
    text = re.sub(r"(\d+)\.(\d+)", lambda m: f"{whole(int(m[1]) % 10000)} point " + " ".join(ONES[int(c)] for c in m[2]), text)
    text = re.sub(r"(\d),(\d)", r"\1\2", text)
    text = re.sub(r"\d+", lambda m: f" {whole(int(m[0]))} " if int(m[0]) < 10000 else m[0], text)
    return re.sub(r"\bph\b", "p h", plain_words(text)).split()


def edits(a, b):
    """Levenshtein distance of two sequences."""
    row = list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        last, row = row, [i]
        for j, y in enumerate(b, 1):
            row.append(min(last[j] + 1, row[-1] + 1, last[j - 1] + (x != y)))
    return row[-1]


def share_interval(hits, n, z=1.96):
    """Wilson's 95 % interval of hits out of n, as shares. Source: Wilson 1927, J Am Stat Assoc 22:209-212."""
    if n == 0:
        return 0.0, 1.0
    p, middle = hits / n, 1 + z * z / n
    centre, half = p + z * z / (2 * n), z * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    return max(0.0, (centre - half) / middle), min(1.0, (centre + half) / middle)


def rate_interval(count, hours):
    """Approximate 95 % interval of a Poisson rate an hour (Byar). Source: Breslow and Day 1987, IARC 82, page 69."""
    def bound(k, sign):
        return 0.0 if k == 0 else k * (1 - 1 / (9 * k) + sign * 1.96 / (3 * math.sqrt(k))) ** 3
    return bound(count, -1) / hours, bound(count + 1, 1) / hours
