#!/usr/bin/env python3
"""Mixes decoder states: a tuned state pulled back toward an earlier one keeps more of what that one could do.

    python mix_states.py --out mixed.pt a.pt:0.8 handed-over.pt:0.2

Shares must add up to 1. Seconds; no accelerator.
"""
import argparse
from pathlib import Path

import torch

from listener import tuned_state


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("states", nargs="+", metavar="STATE:SHARE")
    parser.add_argument("--out", type=Path, required=True)
    args = parser.parse_args()
    mixed, total = {}, 0.0
    for given in args.states:
        path, _, share = given.rpartition(":")
        total += float(share)
        for name, value in tuned_state(path)[1].items():
            if name not in ("embedding", "positions"):
                mixed[name] = mixed.get(name, 0) + float(share) * value
    if abs(total - 1) > 1e-6:
        raise SystemExit(f"The shares add up to {total:g}, not to 1.")
    torch.save({f"decoder.{name}": torch.tensor(value).half() for name, value in mixed.items()}, args.out)


if __name__ == "__main__":
    main()
