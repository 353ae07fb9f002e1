#!/usr/bin/env python3
"""Mixes states: a tuned state pulled back toward an earlier one keeps more of what that one could do.

    python mix_states.py --weights weights.npz --out mixed.pt a.pt:0.4 before.pt:0.6

Shares must add up to 1. A state without encoder layers stands for Whisper's own. Seconds; no accelerator.
"""
import argparse
from pathlib import Path

import torch

from listener import tuned_state
from pack import unpack

SHARED = ("embedding", "positions")  # both decoders have them from the untouched model


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("states", nargs="+", metavar="STATE:SHARE")
    parser.add_argument("--weights", required=True, help="what pack.py wrote")
    parser.add_argument("--out", type=Path, required=True)
    args = parser.parse_args()
    own = unpack(args.weights)[0]
    states = [(*tuned_state(path), float(share)) for path, _, share in (given.rpartition(":") for given in args.states)]
    total = sum(share for _, _, share in states)
    if abs(total - 1) > 1e-6:
        raise SystemExit(f"The shares add up to {total:g}, not to 1.")
    moved = sorted({name for encoder, _, _ in states for name in encoder})
    mixed = {f"encoder.{name}": sum(share * encoder.get(name, own[name]) for encoder, _, share in states) for name in moved}
    mixed |= {f"decoder.{name}": sum(share * decoder[name] for _, decoder, share in states)
              for name in states[0][1] if name not in SHARED}
    torch.save({name: torch.tensor(value).half() for name, value in mixed.items()}, args.out)


if __name__ == "__main__":
    main()
