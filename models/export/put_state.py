#!/usr/bin/env python3
"""Writes a tuned state into a copy of the model files: the graphs stay, the weights are exchanged.

    python put_state.py --model ../callout-tiny --state mixed.pt --out NEW

The inverse of state_of.py. 8-bit weights are rounded as the exporter rounds them: the state that state_of.py reads out
of a model gives that model again, byte for byte. OUT also gets the other files of --model, and manifest.json beside it
names their digests. Seconds; no accelerator, no base weights.
"""
import argparse
import hashlib
import json
import shutil
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import numpy_helper

from weights_of import products


def rounded(weight):
    """[in, out] float -> (8-bit weight, scale, zero point), as onnxruntime's dynamic quantisation has them."""
    low, high = min(float(weight.min()), 0.), max(float(weight.max()), 0.)
    scale = np.float32((high - low) / 255)
    zero = np.uint8(np.clip(round((0 - low) / scale), 0, 255))
    return np.clip(np.rint(weight / scale) + zero, 0, 255).astype(np.uint8), scale, zero


def put(path, state, out):
    model = onnx.load(path)
    stored = {i.name: i for i in model.graph.initializer}

    def write(name, value):
        old = stored[name]
        value = np.asarray(value, dtype=numpy_helper.to_array(old).dtype).reshape(tuple(old.dims))
        old.CopyFrom(numpy_helper.from_array(value, name))
    used = set()
    for (kind, name), stem in products(model.graph):
        full = f'{"decoder" if kind == "tuned" else kind}.{name}'
        if kind == 'base' or full not in state:
            continue
        whole = numpy_helper.to_array(stored[f'{stem}_quantized'])
        before = (whole.astype(np.float32) - numpy_helper.to_array(stored[f'{stem}_zero_point'])) \
            * numpy_helper.to_array(stored[f'{stem}_scale'])
        used.add(full)
        if np.array_equal(before.T.astype(np.float16), state[full]):
            continue  # the very weights that are there
        for part, value in zip(('quantized', 'scale', 'zero_point'), rounded(state[full].T.astype(np.float32))):
            write(f'{stem}_{part}', value)
    for full, value in state.items():
        name = full.replace('decoder.', 'decoders.0.', 1)
        if name in stored and full not in used:
            if not np.array_equal(numpy_helper.to_array(stored[name]).astype(np.float16), value):
                write(name, value)
            used.add(full)
    onnx.save(model, out)
    return used


def main():
    parser = argparse.ArgumentParser(description=__doc__.split('\n')[0])
    for name in ('model', 'state', 'out'):
        parser.add_argument(f'--{name}', type=Path, required=True)
    args = parser.parse_args()
    state = {k: v.numpy() for k, v in torch.load(args.state, map_location='cpu', weights_only=True).items()}
    shutil.copytree(args.model, args.out, dirs_exist_ok=True)
    used = put(args.model / 'hearing.onnx', state, args.out / 'hearing.onnx')
    used |= put(args.model / 'decoding.onnx', state, args.out / 'decoding.onnx')
    if left := sorted(set(state) - used):
        raise SystemExit(f'{args.state}: no place for {", ".join(left[:5])} ({len(left)} in all).')
    manifest = json.loads((args.model.parent / 'manifest.json').read_text())
    for entry in manifest['files']:
        file = args.out.parent / entry['path']
        if file.exists():
            entry |= {'bytes': file.stat().st_size, 'sha256': hashlib.sha256(file.read_bytes()).hexdigest()}
    (args.out.parent / 'manifest.json').write_text(json.dumps(manifest, indent=2) + '\n')


if __name__ == '__main__':
    main()
