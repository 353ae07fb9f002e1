#!/usr/bin/env python3
"""Packs what training needs into one file that travels lightly, and reads it back.

    python pack.py --weights model.bin --tuned STATE.pt --kept ../export/kept-tokens.json --out weights.npz

Encoder (as the state has it) and tuned decoder in float16; the untouched decoder as an 8-bit difference from the tuned
one (its error is far below what 16 bits lose); the kept rows of the token table as 8-bit rows. 50 MB; seconds; no
accelerator.
"""
import argparse
import json
from pathlib import Path

import numpy as np

from listener import base_state, read_ct2, tuned_state


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    for name in ("weights", "tuned", "kept", "out"):
        parser.add_argument(f"--{name}", required=True)
    args = parser.parse_args()
    encoder, base, table, positions = base_state(read_ct2(args.weights))
    moved, changed = tuned_state(args.tuned)
    encoder |= moved
    tuned = base | {k: v for k, v in changed.items() if k not in ("embedding", "positions")}
    table = table[json.loads(Path(args.kept).read_text())]
    scale = np.abs(table).max(1) / 127
    out = {"table": np.round(table / scale[:, None]).astype(np.int8), "table_scale": scale,
           "positions": positions[:80].astype(np.float16)}
    encoder["positions"] = encoder["positions"][:400]
    out |= {f"encoder|{k}": v.astype(np.float16) for k, v in encoder.items()}
    for name, value in tuned.items():
        value = value.astype(np.float16)
        difference = base[name] - value.astype(np.float32)
        step = np.abs(difference).max() / 127 + 1e-12
        out |= {f"tuned|{name}": value, f"base|{name}": np.round(difference / step).astype(np.int8),
                f"step|{name}": np.float32(step)}
    np.savez_compressed(args.out, **out)


def unpack(path):
    """-> (encoder state, untouched decoder state, tuned decoder state, table [V, D], positions [P, D])."""
    packed = np.load(path)
    part = {kind: {n[len(kind) + 1:]: packed[n].astype(np.float32) for n in packed.files if n.startswith(kind + "|")}
            for kind in ("encoder", "tuned", "base", "step")}
    base = {n: part["tuned"][n] + d * part["step"][n] for n, d in part["base"].items()}
    table = packed["table"].astype(np.float32) * packed["table_scale"][:, None]
    return part["encoder"], base, part["tuned"], table.astype(np.float32), packed["positions"].astype(np.float32)


if __name__ == "__main__":
    main()
