#!/usr/bin/env python3
"""People saying digits, with their words, to train on: single ones and sequences of two to five by one person.

    python people_digits.py --recordings free-spoken-digit-dataset/recordings --out speech/digits

Free Spoken Digit Dataset (Jakobovski, github.com/Jakobovski/free-spoken-digit-dataset, CC BY-SA 4.0): recordings 5 to 49
of george, jackson, nicolas and yweweler. lucas and theo whole, and recordings 0 to 4 of all, measure alone
(make_streams.py, set "digits"). 8 kHz, brought to 16. Nothing of the recordings is shipped. Seconds.
"""
import argparse
import random
from pathlib import Path

import numpy as np
import soundfile

from make_sets import RATE, trimmed
from speak import Pool

SPEAKERS = ("george", "jackson", "nicolas", "yweweler")
NAMES = "zero one two three four five six seven eight nine".split()
SEQUENCES = 3000


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--recordings", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    rng, pool = random.Random(args.seed), None
    args.out.mkdir(parents=True, exist_ok=True)
    pool = Pool(f"{args.out}/digits")
    said = {}
    for speaker in SPEAKERS:
        for digit in range(10):
            for k in range(5, 50):
                audio = trimmed(*soundfile.read(args.recordings / f"{digit}_{speaker}_{k}.wav"), 320, 640)
                if audio is not None:
                    said.setdefault(speaker, []).append((digit, audio / np.abs(audio).max() * .5))
                    pool.add(said[speaker][-1][1], {"text": NAMES[digit], "kind": "number"})
    for _ in range(SEQUENCES):
        chosen = rng.choices(said[rng.choice(SPEAKERS)], k=rng.randint(2, 5))
        parts = []
        for digit, audio in chosen:
            parts += [audio, np.zeros(round(rng.uniform(.01, .25) * RATE))]
        pool.add(np.concatenate(parts[:-1]), {"text": " ".join(NAMES[digit] for digit, _ in chosen), "kind": "number"})
    print(f"{pool.count} pieces, {pool.position / RATE / 60:.0f} min")


if __name__ == "__main__":
    main()
