#!/usr/bin/env python3
"""Reads everything that tuning needs back out of the model files that the app runs: no other weights have to travel.

    python weights_of.py --model ../callout-tiny --out weights.npz

Writes what ../training/pack.py writes (both decoders, the encoder, the kept rows of the token table, positions). Weights
that lie in the files 8 bits wide are given back as those stand for, the untouched decoder's and the table's too: they
are what the app runs. Seconds; no accelerator. state_of.py gives the tuned part alone.
"""
import argparse
import re
from pathlib import Path

import numpy as np
import onnx
from onnx import numpy_helper

LAYERS = 4
# As in state_of.py: the exporter numbers what it meets again; the second half is the untouched decoder's.
PLACE = re.compile(r'/(encoder/)?layers\.(\d)/([a-z_]+?)(_1)?/MatMul_quant')
CROSS = re.compile(r'/(cross_[kv])(?:_(\d))?/MatMul_quant')


def name_of(node):
    """Name of a product -> ('encoder' | 'tuned' | 'base', its weight's name), or None."""
    if place := PLACE.fullmatch(node):
        kind = 'encoder' if place[1] else 'base' if place[4] else 'tuned'
        return kind, f'layers.{place[2]}.{place[3]}.weight'
    if place := CROSS.fullmatch(node):
        number = int(place[2] or 0)
        return ('base' if number >= LAYERS else 'tuned'), f'layers.{number % LAYERS}.{place[1]}.weight'
    return None


def products(graph):
    """-> [((kind, name), stem of the initializers)] of every 8-bit product that belongs to a layer."""
    return [(name_of(node.name), node.input[1].removesuffix('_quantized')) for node in graph.node
            if node.op_type == 'MatMulInteger' and name_of(node.name)]


OWNERS = {'encoder.': 'encoder', 'decoders.0.': 'tuned', 'decoders.1.': 'base'}


def read(folder):
    """-> {'encoder' | 'tuned' | 'base': {name: array}}, table [V, D], positions [P, D]."""
    found = {'encoder': {}, 'tuned': {}, 'base': {}}
    for file in ('hearing.onnx', 'decoding.onnx'):
        graph = onnx.load(folder / file).graph
        stored = {i.name: numpy_helper.to_array(i) for i in graph.initializer}

        def whole(stem):
            return (stored[f'{stem}_quantized'].astype(np.float32) - stored[f'{stem}_zero_point']) * stored[f'{stem}_scale']
        for name, value in stored.items():
            for prefix, kind in OWNERS.items():
                if name.startswith(prefix):
                    found[kind][name[len(prefix):]] = value
        for (kind, name), stem in products(graph):
            found[kind][name] = whole(stem).T
        if 'table_quantized' in stored:
            table, positions = whole('table').T, stored['positions']
    return found, table, positions


def main():
    parser = argparse.ArgumentParser(description=__doc__.split('\n')[0])
    parser.add_argument('--model', type=Path, required=True)
    parser.add_argument('--out', type=Path, required=True)
    args = parser.parse_args()
    found, table, positions = read(args.model)
    for layer in range(LAYERS):  # Whisper's keys have no bias: zeros that the exporter keeps once
        found['base'].setdefault(f'layers.{layer}.cross_k.bias', found['base']['layers.0.cross_k.bias'])
    missing = set(found['tuned']) ^ set(found['base'])
    if missing:
        raise SystemExit(f'{args.model}: only one decoder holds {", ".join(sorted(missing)[:5])}.')
    scale = np.abs(table).max(1) / 127 + 1e-12
    out = {'table': np.round(table / scale[:, None]).astype(np.int8), 'table_scale': scale,
           'positions': positions.astype(np.float16)}
    out |= {f'encoder|{k}': v.astype(np.float16) for k, v in found['encoder'].items()}
    for name, value in found['tuned'].items():
        value = value.astype(np.float16)
        difference = found['base'][name] - value.astype(np.float32)
        step = np.abs(difference).max() / 127 + 1e-12
        out |= {f'tuned|{name}': value, f'base|{name}': np.round(difference / step).astype(np.int8),
                f'step|{name}': np.float32(step)}
    np.savez(args.out, **out)


if __name__ == '__main__':
    main()
