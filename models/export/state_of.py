#!/usr/bin/env python3
"""Reads the tuned state back out of the model files that the app runs, so that tuning can go on from them.

    python state_of.py --model ../callout-tiny --weights weights.npz --out state.pt

Writes what train.py writes: {"encoder.NAME": tensor, "decoder.NAME": tensor}, fp16. The weights of the files are 8 bits
wide and are given back as those stand for; exporting the state again gives the same 8 bits. Biases and norms are whole.
--weights: what ../training/pack.py wrote, for the names. Seconds; no accelerator.
"""
import argparse
import re
import sys
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import numpy_helper

sys.path.insert(0, str(Path(__file__).parent.parent / 'training'))
from listener import layers_of  # noqa: E402
from pack import unpack  # noqa: E402

TUNED = 'decoders.0.'  # the untouched decoder is decoders.1
# The exporter numbers what it meets again: layers.2/qkv_1 is the untouched decoder's; of /cross_k … /cross_k_7 the first
# half are the tuned decoder's.
LAYER = re.compile(r'/(encoder/)?layers\.(\d)/([a-z_]+?)/MatMul_quant')
CROSS = re.compile(r'/(cross_[kv])(?:_(\d))?/MatMul_quant')


def module_of(node, layers):
    """Name of the weight that a product belongs to, or None: another graph's, or the untouched decoder's."""
    if place := LAYER.fullmatch(node):
        return f'{"encoder" if place[1] else "decoder"}.layers.{place[2]}.{place[3]}.weight'
    if (place := CROSS.fullmatch(node)) and int(place[2] or 0) < layers:
        return f'decoder.layers.{place[2] or 0}.{place[1]}.weight'
    return None


def read(path, layers):
    """-> {name: array}: float weights by their own names, 8-bit ones as module.weight, [out, in]."""
    graph = onnx.load(path).graph
    stored = {i.name: numpy_helper.to_array(i) for i in graph.initializer}
    found = {name.replace(TUNED, 'decoder.'): value for name, value in stored.items()
             if name.startswith(('encoder.', TUNED))}
    for node in graph.node:
        module = module_of(node.name, layers) if node.op_type == 'MatMulInteger' else None
        if module:
            name = node.input[1].removesuffix('_quantized')
            steps = stored[node.input[1]].astype(np.float32) - stored[f'{name}_zero_point']
            found[module] = (steps * stored[f'{name}_scale']).T
    return found


def main():
    parser = argparse.ArgumentParser(description=__doc__.split('\n')[0])
    parser.add_argument('--model', type=Path, required=True)
    parser.add_argument('--weights', required=True)
    parser.add_argument('--out', type=Path, required=True)
    args = parser.parse_args()
    encoder, _, decoder, _, _ = unpack(args.weights)
    layers = layers_of(decoder)
    found = read(args.model / 'hearing.onnx', layers) | read(args.model / 'decoding.onnx', layers)
    wanted = {f'decoder.{name}' for name in decoder if name not in ('embedding', 'positions')}
    wanted |= {f'encoder.{name}' for name in encoder if name.startswith('layers.')}
    missing = sorted(wanted - set(found))
    if missing:
        raise SystemExit(f'{args.model}: no weights for {", ".join(missing[:5])} ({len(missing)} in all).')
    torch.save({name: torch.tensor(np.array(found[name])).half() for name in sorted(wanted)}, args.out)


if __name__ == '__main__':
    main()
