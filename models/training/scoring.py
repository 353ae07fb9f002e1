"""Word errors."""
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
